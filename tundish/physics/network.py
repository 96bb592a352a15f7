"""Networks of links between nodes, solved for many machines at once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import numpy.typing as npt

from tundish.physics.elimination import plan
from tundish.physics.errors import PhysicsError
from tundish.physics.law import Coefficients, Law, completed
from tundish.physics.newton import Descent, Group, Shape, descend
from tundish.physics.values import Array, Value

CHUNK = 8_000
"""Machines worked on together, so that the arrays stay in the processor's cache."""

_Inputs = Mapping[str, Mapping[str, npt.ArrayLike]]
_Values = Mapping[str, npt.ArrayLike]


class NotConverged(PhysicsError):
    """Some machines' balances were not reached."""


@dataclass(frozen=True)
class Link:
    """A way between two nodes; flow counts positive from start to end."""

    name: str
    law: Law
    start: str
    end: str


@dataclass(frozen=True)
class Network:
    """Links, and the nodes they join."""

    links: tuple[Link, ...]

    @property
    def nodes(self) -> tuple[str, ...]:
        """Names of the nodes, in order of first use."""
        return tuple(dict.fromkeys(node for link in self.links for node in (link.start, link.end)))


@dataclass(frozen=True)
class Solution:
    """A solved network, machine by machine.

    potential : (n,) by node.
    flow : (n,) by link, positive from start to end.
    imbalance : (n,) largest net flow of a free node, relative to what flows through that node.
    converged : (n,) where the imbalance is within the tolerance.
    steps : Newton steps of the slowest machine.
    """

    potential: Mapping[str, Array]
    flow: Mapping[str, Array]
    imbalance: Array
    converged: npt.NDArray[np.bool_]
    steps: int


def solve(
    network: Network,
    inputs: _Inputs,
    held: _Values,
    *,
    machines: int,
    lifts: _Values | None = None,
    tolerance: float = 1e-9,
    allow_unconverged: bool = False,
) -> Solution:
    """Potentials and flows of a network on many machines.

    Parameters
    ----------
    network : the links
    inputs : of each link's law, by link and input, SI, floats or (n,)
    held : potentials that are given, by node, [any], floats or (n,)
    machines : n, [-]
    lifts : potential that the flow of a link must gain, by link, [any], floats or (n,)
    tolerance : largest relative imbalance, [-]
    allow_unconverged : give machines that have not converged too; the caller must look at `converged`

    Returns
    -------
    The solution. A part of the network without a held node floats; its first node is put at 0.

    Raises
    ------
    PhysicsError : an input is missing, unknown, out of range or of the wrong shape.
    NotConverged : unless allowed, when a balance is not reached.

    Examples
    --------
    A divider of 3 and 1 ohm on 12 V, on two machines, one with a dead source:

    >>> from tundish.physics.conduction import CONDUCTOR
    >>> divider = Network((Link("top", CONDUCTOR, "live", "tap"), Link("foot", CONDUCTOR, "tap", "neutral")))
    >>> ohms = {"top": {"resistance": 3.0}, "foot": {"resistance": 1.0}}
    >>> solved = solve(divider, ohms, {"live": np.array([12.0, 0.0]), "neutral": 0.0}, machines=2)
    >>> solved.potential["tap"], solved.flow["top"]
    (array([3., 0.]), array([3., 0.]))

    References
    ----------
    W. Millar, Phil. Mag. 42 (1951) 1150, doi:10.1080/14786445108561361.
    """
    made = frame(network, tuple(sorted(held)))
    given = checked(network, inputs, machines)
    task = _Task(
        made,
        tuple(given[link.name] for link in made.links),
        rows("held node", held, made.nodes, machines=machines),
        rows("lift of link", lifts or {}, tuple(link.name for link in made.links), machines=machines),
        tolerance,
    )
    spans = [slice(first, min(first + CHUNK, machines)) for first in range(0, max(machines, 1), CHUNK)]
    solution = _solution(made, [_solved(task, span) for span in spans], tolerance)
    if not allow_unconverged and not solution.converged.all():
        raise NotConverged(_complaint(solution, tolerance))
    return solution


@dataclass(frozen=True)
class Frame:
    """A network whose held nodes are known: free nodes first, links of one function of flow side by side."""

    nodes: tuple[str, ...]
    links: tuple[Link, ...]
    shape: Shape


@dataclass(frozen=True)
class _Task:
    """All machines of one solve; `held` (nodes, n) and `lifts` (links, n)."""

    frame: Frame
    inputs: tuple[dict[str, Value], ...]
    held: Array
    lifts: Array
    tolerance: float


@lru_cache(maxsize=256)
def frame(network: Network, held: tuple[str, ...]) -> Frame:
    """What of a network does not differ between machines, worked out once for a choice of held nodes.

    Parameters
    ----------
    network : the links
    held : names of the nodes whose potential is given, in alphabetical order

    Returns
    -------
    The frame. A part of the network without a held node has its first node among the given ones.

    Raises
    ------
    PhysicsError : there is no link, or a held node is in none.

    Examples
    --------
    >>> from tundish.physics.conduction import CONDUCTOR
    >>> frame(Network((Link("coil", CONDUCTOR, "live", "neutral"),)), ("neutral",)).nodes
    ('live', 'neutral')

    References
    ----------
    None; it counts nodes and links.
    """
    if not network.links:
        raise PhysicsError("the network has no link, at least one is needed: give it links")
    unknown = [name for name in held if name not in network.nodes]
    if unknown:
        raise PhysicsError(
            f"held node `{unknown[0]}` is in no link; the nodes are {', '.join(network.nodes)}: correct the name"
        )
    given = {*held, *_floating(network, held)}
    free = tuple(node for node in network.nodes if node not in given)
    nodes = free + tuple(node for node in network.nodes if node in given)
    kernels = tuple(dict.fromkeys(link.law.flow for link in network.links))
    links = tuple(link for kernel in kernels for link in network.links if link.law.flow is kernel)
    return Frame(nodes, links, _shape(links, nodes, len(free)))


def _floating(network: Network, held: tuple[str, ...]) -> list[str]:
    """The first node of every part of the network that has no held node."""
    part = {node: node for node in network.nodes}
    for _ in network.nodes:
        for link in network.links:
            part[link.start] = part[link.end] = min(part[link.start], part[link.end])
    tied = {part[node] for node in held}
    first = {part[node]: node for node in reversed(network.nodes)}
    return [node for name, node in first.items() if name not in tied]


def _shape(links: tuple[Link, ...], nodes: tuple[str, ...], free: int) -> Shape:
    """Which links meet at each node, and the plan of elimination."""
    number = {node: i for i, node in enumerate(nodes)}
    pairs = [(number[link.start], number[link.end]) for link in links]
    inner = [pair for pair in pairs if max(pair) < free and pair[0] != pair[1]]
    scheme = plan(free, inner)
    joined = scheme.pairs[: len({frozenset(pair) for pair in inner})]
    each = range(free)
    return Shape(
        free=free,
        start=np.array([start for start, _ in pairs], dtype=np.intp),
        end=np.array([end for _, end in pairs], dtype=np.intp),
        leaves=tuple(_where(pair[0] == node for pair in pairs) for node in each),
        enters=tuple(_where(pair[1] == node for pair in pairs) for node in each),
        between=tuple(_where(set(pair) == set(two) for pair in pairs) for two in joined),
        ground=tuple(_where(node in pair and max(pair) >= free for pair in pairs) for node in each),
        scheme=scheme,
        groups=_groups(links),
    )


def _where(marks: Iterable[bool]) -> tuple[int, ...]:
    return tuple(i for i, marked in enumerate(marks) if marked)


def _groups(links: tuple[Link, ...]) -> tuple[Group, ...]:
    kernels = [link.law.flow for link in links]
    firsts = [i for i, kernel in enumerate(kernels) if i == 0 or kernel is not kernels[i - 1]]
    return tuple(
        Group(slice(a, b), kernels[a]) for a, b in zip(firsts, [*firsts[1:], len(links)], strict=True)
    )


def checked(network: Network, inputs: _Inputs, machines: int) -> dict[str, dict[str, Value]]:
    """Every link's inputs, complete and in range.

    Parameters
    ----------
    network : the links
    inputs : of each link's law, by link and input, SI, floats or (n,)
    machines : n, [-]

    Returns
    -------
    All inputs by link and name.

    Raises
    ------
    PhysicsError : an input is missing, unknown, out of range or of the wrong shape, or two links share a name.

    Examples
    --------
    >>> from tundish.physics.conduction import CONDUCTOR
    >>> checked(Network((Link("coil", CONDUCTOR, "live", "neutral"),)), {"coil": {"resistance": 3900}}, 1)
    {'coil': {'resistance': 3900.0}}

    References
    ----------
    House rule: seen, allowed, what to do.
    """
    names = {link.name for link in network.links}
    if len(names) < len(network.links):
        raise PhysicsError(f"{len(network.links)} links have {len(names)} names: give each link its own name")
    unknown = [name for name in inputs if name not in names]
    if unknown:
        raise PhysicsError(f"inputs are given for `{unknown[0]}`, which is no link: correct the name")
    return {link.name: _of_link(link, inputs.get(link.name, {}), machines) for link in network.links}


def _of_link(link: Link, inputs: _Values, machines: int) -> dict[str, Value]:
    where = f"link `{link.name}`"
    given = {name: _sized(f"{where} input `{name}`", value, machines) for name, value in inputs.items()}
    return completed(link.law, given, where)


def _sized(what: str, value: npt.ArrayLike, machines: int) -> Value:
    """A float, or an array with one value a machine."""
    array = np.asarray(value, dtype=float)
    if array.shape not in ((), (machines,)):
        raise PhysicsError(
            f"{what} has shape {array.shape}, allowed are one number or ({machines},): give one value a machine"
        )
    return float(array) if array.ndim == 0 else array


def rows(what: str, values: _Values, names: tuple[str, ...], *, machines: int) -> Array:
    """Values by name as rows; 0 where none is given.

    Parameters
    ----------
    what : what a name stands for, for the message
    values : by name, [any], floats or (n,)
    names : one for each row
    machines : n, [-]

    Returns
    -------
    (names, n), [any].

    Raises
    ------
    PhysicsError : a name is unknown, or a value is no finite number or of the wrong shape.

    Examples
    --------
    >>> rows("held node", {"live": 230.0}, ("tap", "live"), machines=2).tolist()
    [[0.0, 0.0], [230.0, 230.0]]

    References
    ----------
    House rule: seen, allowed, what to do.
    """
    unknown = [name for name in values if name not in names]
    if unknown:
        raise PhysicsError(
            f"{what} `{unknown[0]}` is unknown; known are {', '.join(names)}: correct the name"
        )
    made = np.zeros((len(names), machines))
    for name, value in values.items():
        made[names.index(name)] = _sized(f"{what} `{name}`", value, machines)
    if not np.isfinite(made).all():
        raise PhysicsError(f"{what}: saw a value that is no finite number: check what it is bound to")
    return made


def _solved(task: _Task, span: slice) -> Descent:
    """One chunk of machines."""
    links, shape = task.frame.links, task.frame.shape
    prepared = [_prepared(link, inputs, span) for link, inputs in zip(links, task.inputs, strict=True)]
    coefficients = tuple(_stacked(prepared[group.rows]) for group in shape.groups)
    return descend(shape, coefficients, task.held[:, span], task.lifts[:, span], tolerance=task.tolerance)


def _prepared(link: Link, inputs: dict[str, Value], span: slice) -> Coefficients:
    cut = {name: value[span] if isinstance(value, np.ndarray) else value for name, value in inputs.items()}
    return link.law.prepare(cut)


def _stacked(links: list[Coefficients]) -> tuple[Array, ...]:
    """Each coefficient of several links as (links, n), or (links, 1) where no machine differs."""
    return tuple(
        np.stack(np.broadcast_arrays(*(np.atleast_1d(value) for value in column)))
        for column in zip(*links, strict=True)
    )


def _solution(frame: Frame, parts: list[Descent], tolerance: float) -> Solution:
    potential = np.concatenate([part.potential for part in parts], axis=1)
    flow = np.concatenate([part.flow for part in parts], axis=1)
    imbalance = np.concatenate([part.imbalance for part in parts])
    return Solution(
        dict(zip(frame.nodes, potential, strict=True)),
        dict(zip((link.name for link in frame.links), flow, strict=True)),
        imbalance,
        imbalance <= tolerance,
        max(part.steps for part in parts),
    )


def _complaint(solution: Solution, tolerance: float) -> str:
    left = solution.imbalance[~solution.converged]
    return (
        f"{left.size} of {solution.imbalance.size} machines do not balance: worst relative imbalance {left.max():.2g}, "
        f"allowed {tolerance:.2g}: look at their inputs, or pass allow_unconverged=True and drop them"
    )
