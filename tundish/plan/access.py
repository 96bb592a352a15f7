"""Access states as a small graph: what it costs to come from one to another. Paid once by all that is done
there.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np

from tundish.plan.change import Change, Floats, Ints
from tundish.plan.errors import PlanError


@dataclass(frozen=True, eq=False)
class Move:
    """One way from an access state to the next. cost : money. change : what moving does to the machine
    itself.
    """

    start: str
    end: str
    cost: float
    change: Change | None = None


@dataclass(frozen=True, eq=False)
class Access:
    """Access states with the cheapest way between each two.

    cost : (m, m) least cost, infinite where there is no way. follow : (m, m) next state on that way, -1 for
    none.
    changes : what single moves do to the machine. outlook : (m,) states with the same number lead to every
    other state through the same changes. walked : changes on ways already asked for.
    """

    names: tuple[str, ...]
    cost: Floats
    follow: Ints
    changes: Mapping[tuple[int, int], Change] = field(default_factory=dict)
    outlook: tuple[int, ...] = ()
    walked: dict[tuple[int, int], tuple[Change, ...]] = field(default_factory=dict, init=False, repr=False)


def access(names: Sequence[str], moves: Sequence[Move] = ()) -> Access:
    """The graph of these states and moves (all-pairs shortest paths, Floyd 1962, doi:10.1145/367766.368168).

    >>> access(["shut", "open"], [Move("shut", "open", 6), Move("open", "shut", 4)]).cost.tolist()
    [[0.0, 6.0], [4.0, 0.0]]
    """
    place = {name: i for i, name in enumerate(names)}
    cost = np.full((len(place), len(place)), np.inf)
    follow = np.full(cost.shape, -1, dtype=np.int64)
    # Staying costs nothing and leads nowhere else
    np.fill_diagonal(cost, 0.0)
    np.fill_diagonal(follow, np.arange(len(place)))
    changes: dict[tuple[int, int], Change] = {}
    for move in moves:
        i, j = _ends(place, move)
        # Of two moves between the same states only the cheaper is ever made,
        # so its change is the one that counts
        if move.cost < cost[i, j]:
            cost[i, j], follow[i, j] = move.cost, j
            changes.pop((i, j), None)
            if move.change is not None:
                changes[i, j] = move.change
    _shorten(cost, follow)
    plain = Access(tuple(place), cost, follow, changes)
    return replace(plain, outlook=_outlook(plain))


def way(graph: Access, start: int, end: int) -> tuple[int, ...]:
    """States passed on the cheapest way, both ends included."""
    # `follow` holds the next state only, so the way is walked step by step
    path = [start]
    while path[-1] != end:
        path.append(int(graph.follow[path[-1], end]))
    return tuple(path)


def changes_on(graph: Access, start: int, end: int) -> tuple[Change, ...]:
    """What the moves on the cheapest way do to the machine, in their order."""
    if not graph.changes or start == end:
        return ()
    found = graph.walked.get((start, end))
    if found is None:
        path = way(graph, start, end)
        found = tuple(graph.changes[hop] for hop in pairwise(path) if hop in graph.changes)
        graph.walked[start, end] = found
    return found


def _outlook(graph: Access) -> tuple[int, ...]:
    if not graph.changes:
        return (0,) * len(graph.names)
    seen: dict[tuple[object, ...], int] = {}
    numbers = []
    for start, row in enumerate(graph.cost):
        # What cannot be reached is no part of the outlook, but that it cannot is
        ways = [
            tuple(id(c) for c in changes_on(graph, start, end)) if np.isfinite(far) else None
            for end, far in enumerate(row)
        ]
        numbers.append(seen.setdefault(tuple(ways), len(seen)))
    return tuple(numbers)


def _ends(place: Mapping[str, int], move: Move) -> tuple[int, int]:
    if move.start not in place or move.end not in place or not move.cost >= 0:
        raise PlanError(
            seen=f"a move from {move.start!r} to {move.end!r} at cost {move.cost}",
            allowed=f"two of {', '.join(place)}, cost from 0",
            do="name the state, or correct the move",
        )
    return place[move.start], place[move.end]


def _shorten(cost: Floats, follow: Ints) -> None:
    for middle in range(len(cost)):
        # Floyd: ways that may pass through `middle` as well
        through = cost[:, middle, None] + cost[middle]
        better = through < cost - 1e-12
        np.copyto(follow, np.broadcast_to(follow[:, middle, None], follow.shape), where=better)
        np.copyto(cost, through, where=better)
