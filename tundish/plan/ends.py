"""The base policy's cost at many beliefs at once.

The index rule leads from a belief along one chain: a repair that fails leads to the next, an order to its repair, until ending is
cheaper. Chains of many beliefs are walked side by side, so that a step is a few products of arrays in place of hundreds of calls.
The cost is that of `base.worth`, belief by belief.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from tundish.plan.base import ALL, Base, index_clusters, worth
from tundish.plan.change import Floats, Ints
from tundish.plan.clusters import Clusters, nearest
from tundish.plan.frame import (
    NEVER,
    Option,
    Situation,
    after,
    after_change,
    arrive,
    reach,
    rows_of,
    toll_of,
    usable_now,
)
from tundish.plan.indices import FREE
from tundish.plan.problem import ORDER, REPAIR

Bools = npt.NDArray[np.bool_]


class Chain(NamedTuple):
    """One step of a belief's chain: money of ending now, of going on, and the chance that it has to go on after it."""

    stop: float
    cost: float
    chance: float


def worths(base: Base, situations: Sequence[Situation], merged: Floats) -> Floats:
    """Expected cost from each situation with its belief (m, h) under the base policy, (m,)."""
    if not single(base):
        return np.array([worth(base, s, w)[0] for s, w in zip(situations, merged, strict=True)])
    now, belief = list(situations), merged.copy()
    chains: list[list[Chain]] = [[] for _ in situations]
    going = list(range(len(situations)))
    while going:
        going = [i for rows in _alike(going, now) for i in _step(base, rows, now, belief, chains)]
    return np.array([_cost(chain) for chain in chains])


def single(base: Base) -> bool:
    """Whether every repair and order has one outcome at most after which the call goes on, and is done once."""
    frame = base.frame
    acts = [i for i, a in enumerate(frame.problem.actions) if a.kind in (REPAIR, ORDER)]
    going = [sum(not frame.ends[r] for r in range(frame.first[a], frame.first[a + 1])) for a in acts]
    once = not any(frame.problem.actions[a].repeats for a in acts)
    return max(going, default=0) <= 1 and once and base.depth == ALL


def _alike(rows: Iterable[int], now: Sequence[Situation]) -> list[list[int]]:
    """Rows that stand in the same place with the same parts in hand."""
    groups: dict[tuple[int, int], list[int]] = {}
    for i in rows:
        groups.setdefault((now[i].node, now[i].held), []).append(i)
    return list(groups.values())


def _step(
    base: Base, rows: list[int], now: list[Situation], belief: Floats, chains: list[list[Chain]]
) -> list[int]:
    """One step of the chains of rows that stand alike; those that go on."""
    here = Situation(now[rows[0]].node, 0, now[rows[0]].held)
    stops = _stops(base, here, belief[rows])
    options = _options(base, here, [now[i].done for i in rows], belief[rows])
    going = []
    for option, places in _by_option(options).items():
        mine = [rows[k] for k in places]
        if option is None:
            for k, i in zip(places, mine, strict=True):
                chains[i].append(Chain(float(stops[k]), np.inf, 0.0))
            continue
        going += _done(base, option, mine, stops[places], now=now, belief=belief, chains=chains)
    return going


def _done(
    base: Base,
    option: Option,
    rows: list[int],
    stops: Floats,
    *,
    now: list[Situation],
    belief: Floats,
    chains: list[list[Chain]],
) -> list[int]:
    """An option done by some rows: what it costs them, and their beliefs when the call goes on."""
    frame = base.frame
    there = np.array([arrive(frame, now[i], option, belief[i]) for i in rows])
    row = next((r for r in rows_of(frame, option) if not frame.ends[r]), None)
    joint = there * frame.table[row] if row is not None else np.zeros_like(there)
    chances = joint.sum(axis=1)
    going = []
    for k, i in enumerate(rows):
        cost = option.move + frame.cost[option.action] + toll_of(frame, option.action, there[k])
        chance = float(chances[k]) if chances[k] > NEVER else 0.0
        chains[i].append(Chain(float(stops[k]), cost, chance))
        if row is not None and chance > 0:
            now[i] = after(frame, now[i], option, row)
            belief[i] = after_change(frame, row, joint[k] / chance)
            going.append(i)
    return going


def _stops(base: Base, here: Situation, belief: Floats) -> Floats:
    """Money of the cheapest lawful ending for each belief, (m,)."""
    frame, best = base.frame, np.full(len(belief), np.inf)
    for action in frame.endings:
        if not usable_now(frame, here, action):
            continue
        guard, paid = frame.problem.actions[action].guard, frame.tolls[action]
        for option in reach(frame, here.node, action):
            there = np.array([arrive(frame, here, option, w) for w in belief])
            cost = option.move + frame.cost[action] + (0.0 if paid is None else there @ paid)
            kept = True if guard is None else there @ guard.left <= guard.limit + 1e-12
            best = np.minimum(best, np.where(kept, cost, np.inf))
    return best


def _options(base: Base, here: Situation, done: Sequence[int], belief: Floats) -> list[Option | None]:
    """What the index rule does next at each belief, None when no repair has any chance."""
    found = index_clusters(base, here)
    if found is None:
        return [None] * len(belief)
    undone = np.array([[not d >> r & 1 for r in base.repairs] for d in done], dtype=np.bool_)
    cluster, repair = _chosen(base, found, undone, belief)
    return [_option(base, here, found, c, r) for c, r in zip(cluster.tolist(), repair.tolist(), strict=True)]


def _option(base: Base, here: Situation, found: Clusters, cluster: int, repair: int) -> Option | None:
    if cluster < 0:
        return None
    via = int(found.via[cluster])
    key = (here.node, via, repair if via < 0 else -1, int(found.node[cluster]) if via < 0 else -1)
    if key not in base.options:
        toward = int(found.node[cluster])
        base.options[key] = (
            nearest(base.frame, here, via)
            if via >= 0
            else nearest(base.frame, here, base.repairs[repair], toward=toward)
        )
    return base.options[key]


def _chosen(base: Base, found: Clusters, undone: Bools, belief: Floats) -> tuple[Ints, Ints]:
    """Cluster and repair of the highest prefix ratio for each belief, (m,) each; -1 where no repair has any chance.

    As `base` does it for one belief: clusters z, beliefs m, repairs in their order of chance over cost.
    """
    p, c = belief @ base.cures.T, base.prices + belief @ base.tolls.T
    likely = undone & (p > 0)
    order = np.argsort(np.where(likely, -p / np.maximum(c, FREE), np.inf), axis=1, kind="stable")
    p, c = np.take_along_axis(p, order, axis=1), np.take_along_axis(c, order, axis=1)
    likely = np.take_along_axis(likely, order, axis=1)
    member = found.member[:, order] & likely
    again = member * found.again[:, order]
    chance = np.cumsum(member * p, axis=2)
    money = found.opening[:, None, None] + np.cumsum(member * c + again, axis=2) - again
    ratio = np.where(chance > 0, chance / np.maximum(money, FREE), 0.0).max(axis=2)
    cluster = np.argmax(ratio, axis=0).astype(np.int64)
    rows = np.arange(len(belief))
    repair = order[rows, np.argmax(member[cluster, rows], axis=1)].astype(np.int64)
    return np.where(member.any(axis=(0, 2)), cluster, -1), repair


def _by_option(options: Sequence[Option | None]) -> dict[Option | None, list[int]]:
    groups: dict[Option | None, list[int]] = {}
    for k, option in enumerate(options):
        groups.setdefault(option, []).append(k)
    return groups


def _cost(chain: Sequence[Chain]) -> float:
    """The cost of a chain, from its end to its beginning."""
    later = 0.0
    for step in reversed(chain):
        later = min(step.stop, step.cost + step.chance * later)
    return later
