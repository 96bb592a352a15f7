"""The best pieces by an integer program: exact with a limit of space.

A piece is taken or not; a want is met at most as far as each of its pieces is there. The met parts of wants need not be whole numbers:
once the pieces are, the best ones are. Solved by branch and cut (HiGHS; Huangfu & Hall 2018, https://doi.org/10.1007/s12532-017-0130-5).
"""

from __future__ import annotations

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array, csr_array, hstack, vstack

from tundish.van.errors import VanError
from tundish.van.need import Floats
from tundish.van.tour import Bools, Tour, nested

# The solver stops within 1e-6 of the optimum in its own numbers; in these the whole of a day is this much.
SCALE = 1e5


def by_program(problem: Tour, space: float = np.inf) -> Bools:
    """(n,) the pieces of least expected cost that fit into a space.

    Raises VanError when the solver does not come to an end.
    """
    m, n = len(problem.wants), len(problem.pieces)
    if not m:
        return np.zeros(n, dtype=np.bool_)
    total = float(problem.worth.sum() + problem.cost.sum()) or 1.0
    found = milp(
        np.concatenate([problem.cost, -problem.worth]) * (SCALE / total),
        integrality=np.concatenate([np.ones(n), np.zeros(m)]),
        bounds=Bounds(0.0, 1.0),
        constraints=_limits(problem, space),
        options={"mip_rel_gap": 0.0},
    )
    if found.x is None:
        raise VanError(
            seen=f"no load of {n} pieces in a space of {space}: {found.message}",
            allowed="a space of 0 or more",
            do="correct the van's space",
        )
    return np.asarray(found.x[:n] > 0.5)


def _limits(problem: Tour, space: float) -> list[LinearConstraint]:
    m, n = len(problem.wants), len(problem.pieces)
    sizes = [len(want) for want in problem.wants]
    piece = np.concatenate([np.array(want, dtype=np.intp) for want in problem.wants])
    want = np.repeat(np.arange(m), sizes)
    limits = [LinearConstraint(hstack([_picked(piece, n), -_picked(want, m)]).tocsr(), 0.0, np.inf)]
    if pairs := nested(problem):
        # Of equal pieces the first is taken first; without this the solver tries them in every order
        first, second = np.array(pairs).T
        both = hstack([_picked(first, n) - _picked(second, n), csr_array((len(pairs), m))])
        limits.append(LinearConstraint(vstack([both]).tocsr(), 0.0, np.inf))
    if np.isfinite(space):
        row: Floats = np.concatenate([problem.space, np.zeros(m)])
        limits.append(LinearConstraint(csr_array(row[None, :]), -np.inf, space))
    return limits


def _picked(columns: np.typing.NDArray[np.intp], width: int) -> csr_array:
    """(len(columns), width) one 1 in each row."""
    rows = np.arange(len(columns))
    return coo_array((np.ones(len(columns)), (rows, columns)), shape=(len(columns), width)).tocsr()
