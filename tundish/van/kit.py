"""What to load for a day: the pieces whose holding cost and expected second trips together cost least."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from tundish.van.errors import VanError
from tundish.van.part import PartKey
from tundish.van.tour import Bools, Tour, cost_of, filled, load_of, met, taken

# Rounding allowed when a load is held against the space, share of it.
ROUNDING = 1e-9


@dataclass(frozen=True)
class Kit:
    """A load and what it costs.

    load : pieces by part. holding, trips : expected cost of having it along and of the second trips left, money.
    fill : expected share of calls without a second trip for a part, [-]. space : the room it takes, [-].
    """

    load: Mapping[PartKey, int]
    holding: float
    trips: float
    fill: float
    space: float

    @property
    def cost(self) -> float:
        """All it is expected to cost, money."""
        return self.holding + self.trips


def best(problem: Tour, space: float = np.inf) -> Kit:
    """The load of least expected cost that fits into a space; exact.

    The minimum cut answers where its load fits; only where it does not is the integer program asked.

    Raises VanError for a space below 0.
    """
    if not space >= 0:
        raise VanError(
            seen=f"space {space}", allowed="0 or more", do="give the van's space in the parts' measure"
        )
    # The solvers take long to load, and no other verb of the command line asks for them
    from tundish.van.cut import by_cut  # noqa: PLC0415
    from tundish.van.program import by_program  # noqa: PLC0415

    # What is best without a limit is best with one that it keeps
    pieces = by_cut(problem)
    if float(problem.space[pieces].sum()) > space * (1 + ROUNDING):
        pieces = by_program(problem, space)
    return kit_of(problem, useful(problem, pieces))


def useful(problem: Tour, pieces: Bools) -> Bools:
    """(n,) the pieces without those that serve no want that is met; the solvers may leave such a piece where it is free."""
    kept = np.zeros(len(pieces), dtype=np.bool_)
    for index in np.flatnonzero(met(problem, pieces)):
        kept[list(problem.wants[index])] = True
    return kept


def kit_of(problem: Tour, pieces: Bools) -> Kit:
    """A choice of pieces with its figures."""
    holding = float(problem.cost[pieces].sum())
    return Kit(
        load_of(problem, pieces),
        holding,
        cost_of(problem, pieces) - holding,
        filled(problem, pieces),
        float(problem.space[pieces].sum()),
    )


def valued(problem: Tour, load: Mapping[PartKey, int]) -> Kit:
    """Any load with its figures. Pieces that no call of the day can need are left out of them."""
    return kit_of(problem, taken(problem, load))
