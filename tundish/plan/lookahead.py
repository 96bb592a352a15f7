"""The production planner: one step and then two steps ahead on top of the base policy, usable at any time.

Rollout (Bertsekas, Tsitsiklis & Wu 1997, J. Heuristics 3:245): acting greedily on the exact cost of a policy
is never worse than that policy, and doing it on the result again is never worse than the first. So each
figure given here is one that the advice can keep, and stopping early only leaves money on the table.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np

from tundish.plan.base import Base, base, worth
from tundish.plan.bounds import floor
from tundish.plan.change import Floats
from tundish.plan.errors import PlanError
from tundish.plan.exact import Policy
from tundish.plan.frame import (
    NEVER,
    Frame,
    Option,
    Situation,
    after,
    after_change,
    arrive,
    belief_key,
    foresee,
    frame,
    rows_of,
    tolls,
)
from tundish.plan.live import lawful
from tundish.plan.lump import gather
from tundish.plan.problem import Problem

# Up to this many machines the results of single beliefs are worth remembering.
FEW = 512


@dataclass(frozen=True)
class Budget:
    """How much may be spent on one decision.

    evaluations : most costs of the base policy asked. clock, deadline : the caller's clock; done when it
    shows more. width : how many of the options that look best now are tried as a second step, None for all;
    fewer is quicker, and each figure can still be kept.
    """

    evaluations: float = np.inf
    clock: Callable[[], float] | None = None
    deadline: float = np.inf
    width: int | None = None


class Rated(NamedTuple):
    """An option with the expected cost of the whole call: looked one step ahead, and two (infinite: not
    reached).
    """

    option: Option
    one: float
    two: float = np.inf

    @property
    def cost(self) -> float:
        """The better figure; both can be kept."""
        return min(self.one, self.two)


@dataclass(frozen=True)
class Decision:
    """The next action. cost : expected cost of the whole call that it keeps. rated : all options rated, best
    first.

    evaluations : costs of the base policy asked. complete : False when the budget ran out before all was
    looked at.
    """

    option: Option
    cost: float
    rated: tuple[Rated, ...]
    evaluations: int
    complete: bool


@dataclass(frozen=True, eq=False)
class Scout:
    """A problem made ready for looking ahead. order, edges : machines sorted by merged state, and where each
    begins.
    """

    frame: Frame
    base: Base
    low: Floats | None
    table: Floats
    order: np.ndarray[tuple[int], np.dtype[np.int64]]
    edges: tuple[int, ...]
    worths: dict[tuple[Situation, bytes], float] = field(default_factory=dict)


class _Meter:
    """Counts evaluations against a budget."""

    def __init__(self, budget: Budget) -> None:
        self.budget, self.count = budget, 0
        self.among: frozenset[int] | None = None

    def spent(self) -> bool:
        """True when nothing more may be spent."""
        clock = self.budget.clock
        return self.count >= self.budget.evaluations or (clock is not None and clock() > self.budget.deadline)


def scout(problem: Problem, *, depth: int | None = None) -> Scout:
    """Make a problem ready. depth : most steps of the base policy, None for all."""
    laid = frame(problem)
    low = floor(laid)
    policy = base(problem, depth=depth, low=low)
    classes = policy.lumps.classes
    # Sorted by merged state, so that each state is one block and one matrix product
    order = np.argsort(classes, kind="stable")
    edges = np.searchsorted(classes[order], np.arange(len(policy.lumps.first) + 1))
    sorted_already = bool((order == np.arange(len(order))).all())
    table = laid.table if sorted_already else np.ascontiguousarray(laid.table[:, order])
    return Scout(laid, policy, low, table, order, tuple(edges.tolist()))


def decide(scout: Scout, situation: Situation, weights: Floats, *, budget: Budget | None = None) -> Decision:
    """The next action at weights (n,), as good as the budget allows; at least as good as the base policy's.

    Raises PlanError when nothing lawful is left to do.
    """
    # First all options one step ahead, then two steps from the best down
    meter = _Meter(budget or Budget())
    rated = _one_step(scout, situation, weights, meter)
    if not rated:
        raise PlanError(
            seen=f"nothing lawful to do in access state {scout.frame.problem.access.names[situation.node]!r}",
            allowed="at least one ending",
            do="add an action that ends the call from there",
        )
    by_cost = sorted(rated, key=lambda r: r.one)
    width = meter.budget.width
    if width is not None:
        meter.among = frozenset(r.option.action for r in by_cost[:width])
    looked, complete = _two_steps(scout, situation, weights, meter=meter, rated=by_cost)
    # Both figures can be kept, so the smaller of the two ranks the option
    best = sorted(looked, key=lambda r: r.cost)
    complete = complete and not meter.spent()
    return Decision(best[0].option, best[0].cost, tuple(best), meter.count, complete)


def two_step_policy(scout: Scout) -> Policy:
    """The production planner as a policy, with no limit on its budget."""

    def option(situation: Situation, weights: Floats) -> Option:
        return decide(scout, situation, weights).option

    return option


def one_step_policy(scout: Scout) -> Policy:
    """One step ahead only."""

    def option(situation: Situation, weights: Floats) -> Option | None:
        rated = _one_step(scout, situation, weights, _Meter(Budget()))
        return min(rated, key=lambda r: r.one).option if rated else None

    return option


def masses(scout: Scout, weights: Floats, rows: list[int] | None = None) -> Floats:
    """(k, h) weight of each merged state with each outcome row. rows : those wanted, None for all."""
    if len(scout.edges) == len(scout.order) + 1:
        return scout.table * weights[scout.order]
    sorted_weights = weights[scout.order]
    joint = np.zeros((len(scout.table), len(scout.edges) - 1))
    wanted: slice | list[int] = slice(None) if rows is None else sorted(set(rows))
    for h, (low, high) in enumerate(zip(scout.edges[:-1], scout.edges[1:], strict=True)):
        joint[wanted, h] = scout.table[wanted, low:high] @ sorted_weights[low:high]
    return joint


def _one_step(scout: Scout, situation: Situation, weights: Floats, meter: _Meter) -> list[Rated]:
    """Options with their one-step cost, the base policy's first, as far as the budget goes."""
    # The base policy's own option first: with it no budget is too small
    first = worth(scout.base, situation, gather(scout.base.lumps, weights))[1]
    open_now = lawful(scout.frame, scout.base, situation, weights)
    if meter.among is not None:
        open_now = tuple(o for o in open_now if o == first or o.action in meter.among)
    found = sorted(open_now, key=lambda o: o != first)
    views: dict[int, tuple[Floats, Floats]] = {}
    rated: list[Rated] = []
    for option in found:
        if rated and meter.spent():
            break
        place = option.node if scout.frame.problem.access.changes else -1
        if place not in views:
            there = arrive(scout.frame, situation, option, weights)
            rows = None if meter.among is None else [r for o in open_now for r in rows_of(scout.frame, o)]
            views[place] = masses(scout, there, rows), tolls(scout.frame, there)
        rated.append(Rated(option, _one(scout, situation, option, view=views[place], meter=meter)))
    return rated


def _one(
    scout: Scout, situation: Situation, option: Option, *, view: tuple[Floats, Floats], meter: _Meter
) -> float:
    """Cost of an option when the base policy goes on after it."""
    laid, (joint, toll) = scout.base.frame, view
    low, high = laid.first[option.action], laid.first[option.action + 1]
    total = option.move + laid.cost[option.action] + float(toll[low:high].sum())
    for row in range(low, high):
        p = 0.0 if laid.ends[row] else float(joint[row].sum())
        # What never happens needs no evaluation
        if p > NEVER:
            meter.count += 1
            merged = after_change(laid, row, joint[row] / p)
            total += p * worth(scout.base, after(laid, situation, option, row), merged)[0]
    return total


def _two_steps(
    scout: Scout, situation: Situation, weights: Floats, *, meter: _Meter, rated: list[Rated]
) -> tuple[list[Rated], bool]:
    """The same options with their two-step cost where the budget allowed it, and whether it allowed all."""
    best, looked = rated[0].one, list(rated)
    for i, one in enumerate(rated):
        if meter.spent():
            return looked, False
        two = _two(scout, situation, weights, meter, option=one.option, enough=best)
        looked[i] = one._replace(two=two)
        best = min(best, two)
    return looked, True


def _two(
    scout: Scout, situation: Situation, weights: Floats, meter: _Meter, *, option: Option, enough: float
) -> float:
    """Cost of an option when one step of rollout goes on after it; infinite once it cannot be better."""
    total, children = foresee(scout.frame, situation, option, weights)
    least = [0.0 if scout.low is None else c.chance * float(scout.low @ c.weights) for c in children]
    rest = sum(least)
    for child, own in zip(children, least, strict=True):
        if meter.spent() or (scout.low is not None and total + rest > enough):
            return np.inf
        total += child.chance * _rollout(scout, child.situation, child.weights, meter)
        rest -= own
    return total


def _rollout(scout: Scout, situation: Situation, weights: Floats, meter: _Meter) -> float:
    """Cost of acting one step ahead from here; rated as far as the budget goes."""
    # Beliefs of large populations do not come up twice; remembering them only fills memory
    if len(weights) > FEW or meter.among is not None:
        return min((r.one for r in _one_step(scout, situation, weights, meter)), default=np.inf)
    key = belief_key(situation, weights)
    if key not in scout.worths:
        found = min((r.one for r in _one_step(scout, situation, weights, meter)), default=np.inf)
        # A half-rated belief is not remembered: a later call may have more to spend
        if meter.spent():
            return found
        scout.worths[key] = found
    return scout.worths[key]
