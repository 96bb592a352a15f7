"""Newton's descent to the balance of a network, on a batch of machines.

The balances of all free nodes are the minimum of the network's co-content, a convex function of the potentials.
Along a Newton step its derivative only rises. So a step is good where that derivative has not risen far above
zero, and where it has, a good length lies between two points whose derivatives differ in sign.

Arrays hold links (m, n) or nodes (nodes, n) with the machine last, so that one operation works on whole rows.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tundish.physics.elimination import Plan, solve_linear
from tundish.physics.law import Response
from tundish.physics.values import Array, Numeric

MOST_STEPS = 100
"""Newton steps after which a machine is given up [-]."""

# A step that overshoots is kept while the derivative at its end is at most this share of the one at its start ...
_OVERSHOOT = 0.3
# ... and after some steps only when it is as good as none, so that the co-content falls for certain.
_PATIENCE, _LATE_OVERSHOOT = 15, 1e-3
# A cut step is long enough when the derivative has fallen to this share.
_LEFT = 0.5
_MOST_CUTS = 60
_EPS = float(np.finfo(np.float64).eps)
_TINY = 1e-300
# Where all held potentials are equal the chords are taken over this [any].
_LEAST_SPAN = 1e-6

Rows = tuple[tuple[Array, ...], ...]
"""Coefficients of each group of links, each (links of the group, n) or (links of the group, 1)."""

Gathered = tuple[tuple[int, ...], ...]
"""Links to be summed up, for each of several places."""

Marks = npt.NDArray[np.bool_]
Numbers = npt.NDArray[np.intp]


@dataclass(frozen=True)
class Group:
    """Neighbouring links whose laws share one function."""

    rows: slice
    flow: Callable[..., Response]


@dataclass(frozen=True)
class Shape:
    """What does not differ between machines: how links join nodes, and the plan of elimination.

    free : how many nodes are free; they are numbered first.
    start, end : (links,) node of each link.
    leaves, enters : for each free node the links that leave and that enter it.
    between : for each slot the links that join its two free nodes.
    ground : for each free node the links that join it to a held one.
    """

    free: int
    start: Numbers
    end: Numbers
    leaves: Gathered
    enters: Gathered
    between: Gathered
    ground: Gathered
    scheme: Plan
    groups: tuple[Group, ...]


@dataclass(frozen=True)
class Point:
    """Links at one set of drops, each (links, n)."""

    drop: Array
    flow: Array
    slope: Array

    def columns(self, where: Numbers) -> Point:
        """The point of some machines."""
        return Point(self.drop[:, where], self.flow[:, where], self.slope[:, where])


@dataclass(frozen=True)
class Batch:
    """Machines still worked on.

    machine : (n,) their numbers.
    potential : (nodes, n).
    lift : (n,) the largest of a machine, without sign.
    """

    machine: Numbers
    potential: Array
    lift: Array
    rows: Rows
    at: Point

    def columns(self, where: Numbers) -> Batch:
        """The batch of some machines."""
        return Batch(
            self.machine[where],
            self.potential[:, where],
            self.lift[where],
            _taken_rows(self.rows, where),
            self.at.columns(where),
        )


@dataclass(frozen=True)
class Descent:
    """Where the machines ended: potentials (nodes, n), flows (links, n), relative imbalance (n,), steps taken."""

    potential: Array
    flow: Array
    imbalance: Array
    steps: int


def descend(shape: Shape, rows: Rows, potential: Array, lift: Array, *, tolerance: float) -> Descent:
    """Potentials at which every free node balances.

    Parameters
    ----------
    shape : the network's shape
    rows : coefficients of the links' laws
    potential : held potentials in the last rows, anything in the free ones, (nodes, n), [any]
    lift : potential that the flow of each link must gain, (links, n), [any]
    tolerance : largest net flow of a node, relative to what flows through it, [-]

    Returns
    -------
    The end of the descent; machines whose imbalance is above the tolerance have not converged.

    Raises
    ------
    Nothing.

    Examples
    --------
    A node between 3 S to a node held at 4 and 1 S to a node held at 0:

    >>> from tundish.physics.conduction import linear_flow
    >>> from tundish.physics.elimination import plan
    >>> groups = (Group(slice(0, 2), linear_flow),)
    >>> start, end = np.array([1, 0]), np.array([0, 2])
    >>> shape = Shape(1, start, end, ((1,),), ((0,),), (), ((0, 1),), plan(1, []), groups)
    >>> rows = ((np.array([[3.0], [1.0]]),),)
    >>> end = descend(shape, rows, np.array([[0.0], [4.0], [0.0]]), np.zeros((2, 1)), tolerance=1e-9)
    >>> end.potential[:, 0].tolist(), end.flow[:, 0].tolist()
    ([3.0, 4.0, 0.0], [3.0, 3.0])

    References
    ----------
    W. Millar, Phil. Mag. 42 (1951) 1150, doi:10.1080/14786445108561361 (co-content); S. Boyd, L. Vandenberghe, Convex
    Optimization, 2004, section 9.5 (Newton's method).
    """
    batch = _started(shape, rows, potential, lift)
    kept = Descent(batch.potential.copy(), batch.at.flow.copy(), np.full(potential.shape[1], np.inf), 0)
    for step in range(MOST_STEPS + 1):
        net = _net(shape, batch.at.flow)
        imbalance = _imbalance(shape, batch, net, tolerance)
        going = ~(imbalance <= tolerance)
        if not going.any() or step == MOST_STEPS:
            break
        if 2 * np.count_nonzero(going) < going.size:
            _keep(kept, batch, imbalance)
            chosen = np.flatnonzero(going)
            batch, net, going = batch.columns(chosen), net[:, chosen], going[chosen]
        batch = _stepped(shape, batch, net, going, late=step >= _PATIENCE)
    _keep(kept, batch, imbalance)
    return Descent(kept.potential, kept.flow, kept.imbalance, step)


def respond(shape: Shape, rows: Rows, drop: Array) -> Point:
    """All links at given drops, one call for each function of flow.

    Parameters
    ----------
    shape : the network's shape
    rows : coefficients of the links' laws
    drop : (links, n), [any]

    Returns
    -------
    Drops, flows and slopes, [any].

    Examples
    --------
    >>> from tundish.physics.conduction import linear_flow
    >>> from tundish.physics.elimination import plan
    >>> none, groups = np.zeros(2, dtype=int), (Group(slice(0, 2), linear_flow),)
    >>> shape = Shape(0, none, none, (), (), (), (), plan(0, []), groups)
    >>> respond(shape, ((np.array([[3.0], [1.0]]),),), np.array([[2.0], [5.0]])).flow.tolist()
    [[6.0], [5.0]]

    References
    ----------
    None; it only calls the laws.
    """
    flow, slope = np.empty_like(drop), np.empty_like(drop)
    for group, coefficients in zip(shape.groups, rows, strict=True):
        flow[group.rows], slope[group.rows] = group.flow(drop[group.rows], *coefficients)
    return Point(drop, flow, slope)


def sums(gathered: Gathered, values: Numeric) -> Numeric:
    """Sums of links' values at several places.

    By hand and not as a product of matrices, whose threads fight for the processor and whose last digits
    differ between computers.

    Parameters
    ----------
    gathered : which links belong to each place
    values : one row a link, (links, n), [any]

    Returns
    -------
    (places, n), [any].

    Examples
    --------
    >>> sums(((0, 2), ()), np.array([[1.0], [5.0], [2.0]])).tolist()
    [[3.0], [0.0]]

    References
    ----------
    None; a sum.
    """
    total = np.zeros((len(gathered), values.shape[1]), dtype=values.dtype)
    for place, links in enumerate(gathered):
        for link in links:
            total[place] += values[link]
    return total


def _started(shape: Shape, rows: Rows, potential: Array, lift: Array) -> Batch:
    """A first guess: the laws' chords over the whole span of potentials, then every law as a power law."""
    drop = potential[shape.start] - potential[shape.end] - lift
    span = _span(potential[shape.free :], lift, drop.shape)
    up, down = respond(shape, rows, span), respond(shape, rows, -span)
    chord = (up.flow - down.flow) / (2 * span)
    flow = 0.5 * (up.flow + down.flow) + chord * drop
    step, change = _solved(shape, _net(shape, flow), chord)
    at = respond(shape, rows, drop + change)
    meant = respond(shape, rows, _drop_for(at, flow + chord * change))
    flow = meant.flow + meant.slope * (at.drop - meant.drop)
    further, change = _solved(shape, _net(shape, flow), meant.slope)
    potential = potential.copy()
    potential[: shape.free] += step + further
    at = respond(shape, rows, at.drop + change)
    return Batch(np.arange(drop.shape[1]), potential, np.abs(lift).max(axis=0), rows, at)


def _span(held: Array, lift: Array, like: tuple[int, ...]) -> Array:
    """Largest drop a link could see, one for all links of a machine."""
    width = np.ptp(held, axis=0) + np.abs(lift).max(axis=0, initial=0.0)
    return np.broadcast_to(np.maximum(width, _LEAST_SPAN), like)


def _drop_for(at: Point, flow: Array) -> Array:
    """The drop at which a link would pass a flow, were its law a power law; a guess, so held within bounds."""
    ratio = np.divide(flow, at.flow, out=np.ones_like(flow), where=at.flow != 0)
    bent = np.divide(at.slope * at.drop, at.flow, out=np.ones_like(flow), where=at.flow != 0)
    result: Array = at.drop * np.clip(ratio, 0.1, 10.0) ** (1 / np.clip(bent, 0.2, 1.0))
    return result


def _solved(shape: Shape, net: Array, slope: Array) -> tuple[Array, Array]:
    """The step of the free potentials that balances the linear network, and the change of every drop."""
    step = solve_linear(shape.scheme, sums(shape.between, slope), sums(shape.ground, slope), -net)
    full = _full(shape, step)
    return step, full[shape.start] - full[shape.end]


def _full(shape: Shape, step: Array) -> Array:
    """A change of the free nodes as one of all nodes."""
    full = np.zeros((max(shape.start.max(), shape.end.max()) + 1, step.shape[1]))
    full[: shape.free] = step
    return full


def _net(shape: Shape, flow: Array) -> Array:
    """Flow out of every free node."""
    return sums(shape.leaves, flow) - sums(shape.enters, flow)


def _imbalance(shape: Shape, batch: Batch, net: Array, tolerance: float) -> Array:
    """Largest net flow over the flow through its node.

    A flow that the last digit of the machine's largest potential would make counts as balanced.
    """
    level = np.maximum(np.abs(batch.potential).max(axis=0), batch.lift)
    size = np.maximum(np.abs(batch.at.flow), batch.at.slope * (level * _EPS / tolerance))
    through = sums(shape.leaves, size) + sums(shape.enters, size)
    relative = np.abs(net) / np.maximum(through, _TINY)
    worst: Array = relative.max(axis=0, initial=0.0)
    return worst


def _stepped(shape: Shape, batch: Batch, net: Array, going: Marks, *, late: bool) -> Batch:
    """One Newton step, cut where it overshoots; machines that balance stay."""
    step, change = _solved(shape, net * going, batch.at.slope)
    at = respond(shape, batch.rows, batch.at.drop + change)
    first = -_along(batch.at.slope * change, change)
    last = _along(at.flow, change)
    moved = np.abs(_full(shape, step))
    # A drop's change is the difference of two potentials' changes, and no better known than they are.
    noise = 4 * _EPS * _along(np.abs(at.flow), moved[shape.start] + moved[shape.end])
    allowed = (_LATE_OVERSHOOT if late else _OVERSHOOT) * -first
    over = np.flatnonzero(going & ~(last <= allowed + noise))
    if over.size:
        search = _Search(shape, batch.columns(over), change[:, over], _LEFT * first[over], allowed[over])
        length, cut = _cut(search, first[over], last[over])
        step[:, over] *= length
        at.drop[:, over], at.flow[:, over], at.slope[:, over] = cut.drop, cut.flow, cut.slope
    potential = batch.potential.copy()
    potential[: shape.free] += step
    return Batch(batch.machine, potential, batch.lift, batch.rows, at)


def _along(left: Array, right: Array) -> Array:
    """Sum over links of a product, (n,)."""
    result: Array = np.einsum("ln,ln->n", left, right)
    return result


@dataclass(frozen=True)
class _Search:
    """Machines whose step overshoots, the step, and between which derivatives a shorter one is good."""

    shape: Shape
    batch: Batch
    change: Array
    least: Array
    most: Array

    def at(self, length: Array) -> tuple[Point, Array]:
        """Links and derivative of the co-content at a share of the step."""
        point = respond(self.shape, self.batch.rows, self.batch.at.drop + length * self.change)
        return point, _along(point.flow, self.change)


@dataclass(frozen=True)
class _Bracket:
    """Shares of the step on both sides of the derivative's zero, the derivative there, and the side moved last."""

    low: Array
    high: Array
    at_low: Array
    at_high: Array
    moved_low: Marks

    def secant(self) -> Array:
        """Where a straight derivative would vanish, a little inside."""
        width = self.high - self.low
        share = self.at_low / (self.at_low - self.at_high)
        return self.low + width * np.clip(np.nan_to_num(share, nan=0.5), 0.01, 0.99)

    def middle(self) -> Array:
        """Halfway."""
        return 0.5 * (self.low + self.high)

    def narrowed(self, length: Array, value: Array) -> _Bracket:
        """With one more point; an end that stays twice has its derivative halved, so that it moves (Illinois)."""
        below = value < 0
        stays = np.where(below == self.moved_low, 0.5, 1.0)
        return _Bracket(
            np.where(below, length, self.low),
            np.where(below, self.high, length),
            np.where(below, value, stays * self.at_low),
            np.where(below, stays * self.at_high, value),
            below,
        )


def _cut(search: _Search, first: Array, last: Array) -> tuple[Array, Point]:
    """A shorter step: the share of it, and the links there."""
    good = np.zeros(first.shape, dtype=np.bool_)
    bracket = _Bracket(np.zeros_like(first), np.ones_like(first), first, last, good)
    length = np.ones_like(first)
    for count in range(_MOST_CUTS):
        # Two secants, then a halving, so that the bracket shrinks however bent the derivative is.
        trial = bracket.middle() if count % 3 == 2 else bracket.secant()
        length = np.where(good, length, trial)
        point, value = search.at(length)
        good = (value >= search.least) & (value <= search.most)
        if good.all():
            break
        bracket = bracket.narrowed(length, value)
    return length, point


def _keep(kept: Descent, batch: Batch, imbalance: Array) -> None:
    """Writes a batch's machines into the result."""
    kept.potential[:, batch.machine] = batch.potential
    kept.flow[:, batch.machine] = batch.at.flow
    kept.imbalance[batch.machine] = imbalance


def _taken(rows: Array, where: Numbers) -> Array:
    """Columns of an array that may have only one for all."""
    return rows if rows.shape[1] == 1 else rows[:, where]


def _taken_rows(rows: Rows, where: Numbers) -> Rows:
    return tuple(tuple(_taken(c, where) for c in group) for group in rows)
