"""The base policy: repairs by the index rule, asked again after each step, with the option to end.

The next repair is the first of the cluster with the highest (sum P) / (opening + order + sum C), the P/C rule
with shared access (see `indices`); the call ends when no continuation of that kind is cheaper. It asks no
check.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from tundish.plan.change import Floats
from tundish.plan.clusters import Clusters, clusters, nearest
from tundish.plan.frame import (
    Frame,
    Option,
    Situation,
    arrive,
    belief_key,
    foresee,
    frame,
    reach,
    toll_of,
    tolls,
    usable_now,
    within_guard,
)
from tundish.plan.indices import FREE
from tundish.plan.lump import Lumps, gather, lump
from tundish.plan.problem import LOOKS, REPAIR, Problem

Worth = tuple[float, Option | None]
ALL = -1
# Steps looked ahead when some action repeats, so that the chance left over is nothing. Ours.
MANY = 60


@dataclass(frozen=True, eq=False)
class Base:
    """The base policy of a problem, over states merged as far as repairs and endings do not tell them apart.

    depth : most steps looked ahead, ALL for no limit. low : (h,) a cost no plan can go below, zeros if not
    known.
    repairs : actions (r,), at `prices` (r,). cures, tolls : (r, h) chance that it cures, expected toll.
    worths, kept, undone, options : already computed.
    """

    lumps: Lumps
    frame: Frame
    depth: int
    low: Floats | None
    repairs: tuple[int, ...]
    cures: Floats
    tolls: Floats
    prices: Floats
    worths: dict[tuple[Situation, bytes, int], Worth] = field(default_factory=dict)
    kept: dict[Situation, Clusters | None] = field(default_factory=dict)
    undone: dict[int, npt.NDArray[np.bool_]] = field(default_factory=dict)
    options: dict[tuple[int, int, int, int], Option | None] = field(default_factory=dict)


def base(problem: Problem, *, depth: int | None = None, low: Floats | None = None) -> Base:
    """The base policy.

    depth : most steps ahead; by default all, 60 when some action repeats. low : (n,) of `bounds.floor`, saves
    work.
    """
    lumps = lump(problem, ignoring=LOOKS)
    laid, actions = frame(lumps.problem), lumps.problem.actions
    repairs = tuple(i for i, a in enumerate(actions) if a.kind == REPAIR and a.cures is not None)
    default = MANY if any(a.repeats for a in actions) else ALL
    # Laid out once: the index rule is asked thousands of times for one decision
    h = len(lumps.first)
    cures = np.array([actions[r].cures for r in repairs]).reshape(len(repairs), h)
    every = tolls(laid, np.eye(h))
    tolled = np.array([every[laid.first[r] : laid.first[r + 1]].sum(axis=0) for r in repairs])
    deep = default if depth is None else depth
    prices = np.array([laid.cost[r] for r in repairs])
    tolled = tolled.reshape(len(repairs), h)
    return Base(lumps, laid, deep, _least(lumps, low), repairs, cures, tolled, prices)


def worth(base: Base, situation: Situation, merged: Floats, depth: int | None = None) -> Worth:
    """Expected cost from here under the base policy and its first option. merged : (h,) weights of merged
    states.
    """
    deep = base.depth if depth is None else depth
    key = (*belief_key(situation, merged), deep)
    found = base.worths.get(key)
    if found is None:
        found = _worth(base, situation, merged, deep)
        base.worths[key] = found
    return found


def base_policy(base: Base, situation: Situation, weights: Floats) -> Option | None:
    """The base policy's option at weights (n,) of the unmerged states; None in a dead end."""
    return worth(base, situation, gather(base.lumps, weights))[1]


def best_end(frame: Frame, situation: Situation, weights: Floats) -> Worth:
    """The cheapest lawful ending now and its expected cost; infinite and None when there is none."""
    best: Worth = (np.inf, None)
    for action in frame.endings:
        if not usable_now(frame, situation, action):
            continue
        for option in reach(frame, situation.node, action):
            there = arrive(frame, situation, option, weights)
            cost = option.move + frame.cost[action] + toll_of(frame, action, there)
            if cost < best[0] and within_guard(frame.problem.actions[action], there):
                best = cost, option
    return best


def _least(lumps: Lumps, low: Floats | None) -> Floats | None:
    if low is None:
        return None
    # A merged state is worth no more than the cheapest of its members
    merged = np.full(len(lumps.first), np.inf)
    np.minimum.at(merged, lumps.classes, low)
    return merged


def _worth(base: Base, situation: Situation, merged: Floats, deep: int) -> Worth:
    # Stopping is looked at in every belief, so the rule is cut where ending is cheaper
    stop = best_end(base.frame, situation, merged)
    option = index_option(base, situation, merged) if deep else None
    if option is None:
        return stop
    cost, children = foresee(base.frame, situation, option, merged)
    least = [0.0 if base.low is None else c.chance * float(base.low @ c.weights) for c in children]
    for i, child in enumerate(children):
        # With a known floor the rest of the sum cannot rescue the option any more
        if base.low is not None and cost + sum(least[i:]) >= stop[0]:
            return stop
        cost += child.chance * worth(base, child.situation, child.weights, deep - (deep > 0))[0]
    return (cost, option) if cost < stop[0] else stop


def index_option(base: Base, situation: Situation, merged: Floats) -> Option | None:
    """What the index rule does next, endings left out; None when no repair has any chance."""
    found = index_clusters(base, situation)
    cluster, repair = (
        (-1, -1) if found is None else _choose(base, found, _undone(base, situation.done), merged)
    )
    if found is None or cluster < 0:
        return None
    if found.via[cluster] >= 0:
        return nearest(base.frame, situation, int(found.via[cluster]))
    return nearest(base.frame, situation, base.repairs[repair], toward=int(found.node[cluster]))


def index_clusters(base: Base, situation: Situation) -> Clusters | None:
    """What repairs can be had together from here, whatever is done."""
    # What is done only takes repairs out; the clusters themselves hang on place and tokens
    place = Situation(situation.node, 0, situation.held)
    if place not in base.kept:
        base.kept[place] = clusters(base.frame, place, base.repairs)
    return base.kept[place]


def _undone(base: Base, done: int) -> npt.NDArray[np.bool_]:
    if done not in base.undone:
        base.undone[done] = np.array([not done >> r & 1 for r in base.repairs], dtype=np.bool_)
    return base.undone[done]


def _choose(base: Base, found: Clusters, undone: npt.NDArray[np.bool_], merged: Floats) -> tuple[int, int]:
    """Cluster and repair of the highest prefix ratio; (-1, -1) when no repair has any chance."""
    # The belief has been updated, so p is the chance now, not the one at the start
    p = base.cures @ merged
    likely = np.flatnonzero(undone & (p > 0))
    c = base.prices[likely] + (base.tolls @ merged)[likely]
    best_first = np.argsort(-p[likely] / np.maximum(c, FREE), kind="stable")
    order, c = likely[best_first], c[best_first]
    member = found.member[:, order]
    if not member.any():
        return -1, -1
    # A repair that must be closed up pays the way back before the next one of its cluster
    again = member * found.again[:, order]
    chance = np.cumsum(member * p[order], axis=1)
    money = found.opening[:, None] + np.cumsum(member * c + again, axis=1) - again
    # Opening is paid once by the whole prefix: that is what a shared panel is worth
    ratio = np.where(chance > 0, chance / np.maximum(money, FREE), 0.0)
    cluster = int(np.argmax(ratio.max(axis=1)))
    return cluster, int(order[np.argmax(member[cluster])])
