"""The referee: least expected cost by dynamic programming over beliefs, with memory and lower bounds (AO*
depth first).

References: Bonet & Geffner 2005 on depth-first search with learnt values; hardness: Vomlelova & Vomlel 2003,
Soft Computing 7:357. For small problems only; the size is watched and refused.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from tundish.plan.base import ALL, Base, Worth, base, best_end
from tundish.plan.bounds import floor
from tundish.plan.change import Floats
from tundish.plan.errors import PlanError
from tundish.plan.frame import (
    NEVER,
    Frame,
    Option,
    Situation,
    after,
    after_change,
    arrive,
    belief_key,
    frame,
    tolls,
)
from tundish.plan.live import lawful
from tundish.plan.lump import Lumps, gather, lump
from tundish.plan.problem import Problem

MOST = 200_000
Policy = Callable[[Situation, Floats], Option | None]


@dataclass(frozen=True, eq=False)
class Solution:
    """Least expected cost and the policy that has it.

    cost : exact, or what is surely enough when actions repeat. least : what is surely needed (-inf: not
    known).
    beliefs : how many were looked at. policy : option at (situation, weights (n,)).
    """

    cost: float
    least: float
    beliefs: int
    policy: Policy


@dataclass(frozen=True, eq=False)
class _Search:
    frame: Frame
    base: Base
    low: Floats | None
    most: int
    hopeful: bool = False
    worths: dict[tuple[Situation, bytes, int], Worth] = field(default_factory=dict)


class _View(NamedTuple):
    """A belief as seen from one access state: chance x weight, and its sums by outcome."""

    joint: Floats
    chance: list[float]
    toll: list[float]
    least: list[float]


class _Rated(NamedTuple):
    least: float
    cost: float
    option: Option
    rows: list[int]
    view: _View


def solve(problem: Problem, *, horizon: int | None = None, most: int = MOST) -> Solution:
    """Solve a problem exactly.

    horizon : steps looked ahead; needed when an action repeats, since then there is no last step.
    Raises PlanError when more than `most` beliefs come up, when there is no way to an ending, or no horizon.
    """
    depth = _depth(problem, horizon)
    # Merging loses nothing and often halves the beliefs
    lumps = lump(problem)
    laid = frame(lumps.problem)
    search = _Search(laid, base(lumps.problem), floor(laid), most)
    start = lumps.problem.weights
    cost = _worth(search, laid.start, start, depth)[0]
    if not np.isfinite(cost):
        raise PlanError(
            seen="a call that cannot end",
            allowed="an ending from every situation",
            do="add an action that ends the call, such as handing over",
        )
    least = cost if depth == ALL else _least(search, start, depth)
    return Solution(cost, least, len(search.worths), _policy(search, lumps, depth))


def _depth(problem: Problem, horizon: int | None) -> int:
    if not any(a.repeats for a in problem.actions):
        return ALL
    if horizon is None or horizon < 1:
        raise PlanError(
            seen=f"repeating actions and horizon {horizon}", allowed="1 or more", do="give a horizon"
        )
    return horizon


def _least(search: _Search, start: Floats, depth: int) -> float:
    if search.low is None:
        return -np.inf
    hopeful = _Search(search.frame, search.base, search.low, search.most, hopeful=True)
    return _worth(hopeful, search.frame.start, start, depth)[0]


def _policy(search: _Search, lumps: Lumps, depth: int) -> Policy:
    def option(situation: Situation, weights: Floats) -> Option | None:
        return _worth(search, situation, gather(lumps, weights), depth)[1]

    return option


def _worth(search: _Search, situation: Situation, weights: Floats, depth: int) -> Worth:
    key = (*belief_key(situation, weights), depth)
    found = search.worths.get(key)
    if found is None:
        found = (
            _horizon(search, situation, weights) if depth == 0 else _best(search, situation, weights, depth)
        )
        search.worths[key] = found
        _watch(search)
    return found


def _watch(search: _Search) -> None:
    # Better to say so than to fill the memory of the technician's device
    if len(search.worths) > search.most:
        raise PlanError(
            seen=f"more than {search.most} beliefs with {len(search.frame.cost)} actions "
            f"and {search.frame.table.shape[1]} kinds of machine",
            allowed=f"up to {search.most} beliefs for an exact plan",
            do="plan without the exact solver, or leave out actions and causes",
        )


def _horizon(search: _Search, situation: Situation, weights: Floats) -> Worth:
    # The hopeful search ends as cheaply as can be, the other as it lawfully can
    if search.hopeful and search.low is not None:
        return float(search.low @ weights), None
    return best_end(search.frame, situation, weights)


def _best(search: _Search, situation: Situation, weights: Floats, depth: int) -> Worth:
    best: Worth = (np.inf, None)
    # Cheapest bound first: once a bound is not below the best cost, no later one is
    for rated in sorted(_rate(search, situation, weights), key=lambda r: r.least):
        if rated.least >= best[0]:
            break
        cost = _cost(search, situation, rated, depth=depth, enough=best[0])
        if cost < best[0]:
            best = cost, rated.option
    return best


def _cost(search: _Search, situation: Situation, rated: _Rated, *, depth: int, enough: float) -> float:
    """Cost of an option; stops early, at a value not below `enough`, once it cannot be better."""
    total, rest = rated.cost, rated.least - rated.cost
    for row in rated.rows:
        # Values are exact whenever they are remembered; only this sum may be left half-way
        p = rated.view.chance[row]
        weights = after_change(search.frame, row, rated.view.joint[row] / p)
        then = after(search.frame, situation, rated.option, row)
        total += p * _worth(search, then, weights, depth - (depth > 0))[0]
        rest -= rated.view.least[row]
        if total + rest >= enough:
            return max(total + rest, enough)
    return total


def _rate(search: _Search, situation: Situation, weights: Floats) -> list[_Rated]:
    """The options with their own cost and a lower bound of the whole."""
    laid, views = search.frame, dict[int, _View]()
    rated = []
    for option in lawful(laid, search.base, situation, weights):
        # Where moving changes nothing, the belief looks the same from every state
        place = option.node if laid.problem.access.changes else -1
        if place not in views:
            views[place] = _view(search, arrive(laid, situation, option, weights))
        one = _rated(laid, option, views[place], search.low)
        if not _idle(laid, one):
            rated.append(one)
    return rated


def _view(search: _Search, weights: Floats) -> _View:
    joint = search.frame.table * weights
    least = np.zeros(len(joint)) if search.low is None else joint @ search.low
    toll = tolls(search.frame, weights)
    return _View(joint, joint.sum(axis=1).tolist(), toll.tolist(), least.tolist())


def _rated(frame: Frame, option: Option, view: _View, low: Floats | None) -> _Rated:
    rows = range(frame.first[option.action], frame.first[option.action + 1])
    cost = option.move + frame.cost[option.action] + sum(view.toll[row] for row in rows)
    open_rows = [row for row in rows if not frame.ends[row] and view.chance[row] > NEVER]
    # Without a floor nothing may be left out: later steps might earn money
    least = -np.inf if low is None else cost + sum(view.least[row] for row in open_rows)
    return _Rated(least, cost, option, open_rows, view)


def _idle(frame: Frame, rated: _Rated) -> bool:
    """An option that costs and can change neither belief nor situation; leaving it out loses nothing."""
    if len(rated.rows) != 1 or rated.cost < 0 or frame.leaves[rated.option.action] >= 0:
        return False
    row = rated.rows[0]
    same = frame.change[row] is None and not frame.grants[row] and not frame.problem.access.changes
    return same and rated.view.chance[row] > 1 - NEVER
