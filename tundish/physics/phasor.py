"""Networks whose potentials alternate at one frequency: complex admittances, solved for many machines at once.

A potential is a complex number whose size is the root mean square value and whose angle is its lead. All laws are
straight, so one linear network gives the answer; where rounding left a balance open, a further pass closes it.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tundish.physics.elimination import solve_linear
from tundish.physics.errors import PhysicsError
from tundish.physics.law import Inputs
from tundish.physics.network import CHUNK, Frame, Link, Network, NotConverged, checked, frame, rows
from tundish.physics.newton import Shape, sums
from tundish.physics.values import Admittance, Array, Phasors, Value

# One is enough but next to a resonance.
_PASSES = 4
_EPS = float(np.finfo(np.float64).eps)
_TINY = 1e-300

_Inputs = Mapping[str, Mapping[str, npt.ArrayLike]]
_Values = Mapping[str, npt.ArrayLike]


@dataclass(frozen=True)
class PhasorSolution:
    """A solved network of alternating potentials, machine by machine.

    potential : (n,) complex by node.
    flow : (n,) complex by link, positive from start to end.
    imbalance : (n,) largest net flow of a free node, relative to what flows through that node.
    converged : (n,) where the imbalance is within the tolerance.
    """

    potential: Mapping[str, Phasors]
    flow: Mapping[str, Phasors]
    imbalance: Array
    converged: npt.NDArray[np.bool_]


def solve_phasors(
    network: Network,
    inputs: _Inputs,
    held: _Values,
    *,
    machines: int,
    tolerance: float = 1e-9,
    allow_unconverged: bool = False,
) -> PhasorSolution:
    """Complex potentials and flows of a network on many machines.

    Parameters
    ----------
    network : the links; their laws must have an admittance
    inputs : of each link's law, by link and input, SI, floats or (n,)
    held : potentials that are given, by node, [V], complex numbers or (n,)
    machines : n, [-]
    tolerance : largest relative imbalance, [-]
    allow_unconverged : give machines that have not converged too; the caller must look at `converged`

    Returns
    -------
    The solution. A part of the network without a held node floats; its first node is put at 0.

    Raises
    ------
    PhysicsError : a law has no admittance; an input is missing, unknown, out of range or of the wrong shape.
    NotConverged : unless allowed, when a balance is not reached, as near a resonance without loss.

    Examples
    --------
    Two equal loads between the legs of a split phase supply, their middle not tied to the neutral:

    >>> from tundish.physics.conduction import CONDUCTOR
    >>> pair = Network((Link("one", CONDUCTOR, "L1", "M"), Link("two", CONDUCTOR, "M", "L2")))
    >>> ohms = {"one": {"resistance": 20.0}, "two": {"resistance": 20.0}}
    >>> solved = solve_phasors(pair, ohms, {"L1": 120, "L2": -120}, machines=1)
    >>> abs(solved.potential["M"]), abs(solved.flow["one"])
    (array([0.]), array([6.]))

    References
    ----------
    A. E. Kennelly, Impedance, Transactions of the AIEE 10 (1893) 172; C. P. Steinmetz, Theory and Calculation of
    Alternating Current Phenomena, 1897.
    """
    made = frame(network, tuple(sorted(held)))
    # Laws first: of a pipe in a circuit its inputs are not the trouble.
    admits = tuple(_law_of(link) for link in made.links)
    given = checked(network, inputs, machines)
    task = _Task(made, admits, tuple(given[link.name] for link in made.links), _held(made, held, machines))
    spans = [slice(first, min(first + CHUNK, machines)) for first in range(0, max(machines, 1), CHUNK)]
    # In chunks that fit the processor's cache, as the real solver does.
    solution = _solution(made, [_solved(task, span, tolerance) for span in spans], tolerance)
    if not allow_unconverged and not solution.converged.all():
        raise NotConverged(_complaint(solution, tolerance))
    return solution


@dataclass(frozen=True)
class _Task:
    """All machines of one solve; `held` (nodes, n)."""

    frame: Frame
    admits: tuple[Callable[[Inputs], Admittance], ...]
    inputs: tuple[dict[str, Value], ...]
    held: Phasors


@dataclass(frozen=True)
class _Part:
    """Where some machines ended: potentials (nodes, n), flows (links, n), relative imbalance (n,)."""

    potential: Phasors
    flow: Phasors
    imbalance: Array


def _law_of(link: Link) -> Callable[[Inputs], Admittance]:
    if link.law.admittance is None:
        raise PhysicsError(
            f"link `{link.name}`: {link.law.name} has no admittance, so nothing in it alternates: "
            "use a law of electricity, or solve a real network"
        )
    return link.law.admittance


def _held(made: Frame, held: _Values, machines: int) -> Phasors:
    """Both parts of the given potentials, (nodes, n)."""
    # Each part is checked as the real solver checks its potentials.
    real, imaginary = (
        rows("held node", {name: part(value) for name, value in held.items()}, made.nodes, machines=machines)
        for part in (np.real, np.imag)
    )
    return np.asarray(real + 1j * imaginary)


def _solved(task: _Task, span: slice, tolerance: float) -> _Part:
    """One chunk of machines."""
    shape, potential = task.frame.shape, task.held[:, span].copy()
    admittance = _admittances(task, span, potential.shape[1])
    between, ground = sums(shape.between, admittance), sums(shape.ground, admittance)
    flow, net = _flows(shape, admittance, potential)
    # A free node starts at 0; each pass adds what the balances still lack.
    for _ in range(_PASSES):
        potential[: shape.free] += solve_linear(shape.scheme, between, ground, -net)
        flow, net = _flows(shape, admittance, potential)
        imbalance = _imbalance(shape, admittance, net, potential=potential, tolerance=tolerance)
        if (imbalance <= tolerance).all():
            break
    return _Part(potential, flow, imbalance)


def _flows(shape: Shape, admittance: Phasors, potential: Phasors) -> tuple[Phasors, Phasors]:
    """Flow of every link, and out of every free node."""
    # From the potentials, not from the elimination, so that the balance is a check of it.
    flow = admittance * (potential[shape.start] - potential[shape.end])
    return flow, sums(shape.leaves, flow) - sums(shape.enters, flow)


def _admittances(task: _Task, span: slice, width: int) -> Phasors:
    """Of every link, (links, n)."""
    # Written row by row, so that a link that is alike on all machines needs no array of its own.
    made = np.empty((len(task.admits), width), dtype=np.complex128)
    for row, (admit, inputs) in enumerate(zip(task.admits, task.inputs, strict=True)):
        made[row] = admit({k: v[span] if isinstance(v, np.ndarray) else v for k, v in inputs.items()})
    return made


def _imbalance(
    shape: Shape, admittance: Phasors, net: Phasors, *, potential: Phasors, tolerance: float
) -> Array:
    """Largest net flow over the flow through its node.

    A flow that the last digit of the machine's largest potential would make counts as balanced.
    """
    # As in the real solver, with sizes in the place of signs.
    level = np.abs(potential).max(axis=0) * (_EPS / tolerance)
    drop = np.abs(potential[shape.start] - potential[shape.end])
    size = np.abs(admittance) * np.maximum(drop, level)
    through = sums(shape.leaves, size) + sums(shape.enters, size)
    worst: Array = (np.abs(net) / np.maximum(through, _TINY)).max(axis=0, initial=0.0)
    return worst


def _solution(made: Frame, parts: list[_Part], tolerance: float) -> PhasorSolution:
    potential = np.concatenate([part.potential for part in parts], axis=1)
    flow = np.concatenate([part.flow for part in parts], axis=1)
    imbalance = np.concatenate([part.imbalance for part in parts])
    return PhasorSolution(
        dict(zip(made.nodes, potential, strict=True)),
        dict(zip((link.name for link in made.links), flow, strict=True)),
        imbalance,
        imbalance <= tolerance,
    )


def _complaint(solution: PhasorSolution, tolerance: float) -> str:
    left = solution.imbalance[~solution.converged]
    return (
        f"{left.size} of {solution.imbalance.size} machines do not balance: worst relative imbalance {left.max():.2g}, "
        f"allowed {tolerance:.2g}: look for a resonance without loss, or pass allow_unconverged=True and drop them"
    )
