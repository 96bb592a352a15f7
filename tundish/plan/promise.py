"""What a policy is expected to cost: exactly, along its whole tree; and how simulated calls come out."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from tundish.plan.access import changes_on
from tundish.plan.base import best_end
from tundish.plan.change import Change, Floats
from tundish.plan.errors import PlanError
from tundish.plan.exact import Policy
from tundish.plan.frame import (
    Child,
    Frame,
    Option,
    Situation,
    after,
    after_change,
    arrive,
    belief_key,
    foresee,
    frame,
)
from tundish.plan.problem import Problem

MOST = 200_000


@dataclass(frozen=True)
class Promise:
    """cost : expected cost of the whole call under a policy. beliefs : how many it can come to."""

    cost: float
    beliefs: int


@dataclass(frozen=True, eq=False)
class Trial:
    """Simulated calls. costs : (calls,) money. ends : how they ended -> calls. acts : mean actions."""

    costs: Floats
    ends: Mapping[str, int]
    acts: float

    @property
    def error(self) -> float:
        """Standard error of the mean cost, money."""
        return float(self.costs.std(ddof=1) / np.sqrt(len(self.costs)))

    def z(self, promised: float) -> float:
        """Mean cost less the promised one, in standard errors."""
        return float((self.costs.mean() - promised) / max(self.error, 1e-12))


@dataclass(frozen=True, eq=False)
class _Walk:
    frame: Frame
    policy: Policy
    costs: dict[tuple[Situation, bytes, int], float] = field(default_factory=dict)


def promise(problem: Problem, policy: Policy, *, horizon: int = 0) -> Promise:
    """Expected cost of a policy. horizon : steps after which the cheapest ending is taken, 0 for no limit.

    Raises PlanError when the policy has no answer somewhere, or comes to more beliefs than can be counted.
    """
    walk = _Walk(frame(problem), policy)
    cost = _cost(walk, walk.frame.start, problem.weights, horizon or -1)
    return Promise(cost, len(walk.costs))


def _cost(walk: _Walk, situation: Situation, weights: Floats, depth: int) -> float:
    # Different courses may come to one belief; it is counted once
    key = (*belief_key(situation, weights), depth)
    if key not in walk.costs:
        if depth == 0:
            walk.costs[key] = best_end(walk.frame, situation, weights)[0]
        else:
            option = asked(walk.policy, situation, weights)
            cost, children = foresee(walk.frame, situation, option, weights)
            for child in children:
                cost += child.chance * _cost(walk, child.situation, child.weights, depth - (depth > 0))
            walk.costs[key] = cost
        if len(walk.costs) > MOST:
            raise PlanError(
                seen=f"more than {MOST} beliefs", allowed="a policy that ends", do="give a horizon"
            )
    return walk.costs[key]


def asked(policy: Policy, situation: Situation, weights: Floats) -> Option:
    """The policy's option; PlanError when it has none."""
    option = policy(situation, weights)
    if option is None:
        raise PlanError(
            seen=f"no option in access state {situation.node}",
            allowed="an option until the call has ended",
            do="add an action that ends the call from there, such as handing over",
        )
    return option


def simulate(problem: Problem, policy: Policy, rng: np.random.Generator, calls: int) -> Trial:
    """Act out calls: a machine is drawn by weight, lives through the actions, answers by its own chances."""
    laid = frame(problem)
    answers = remembered(policy)
    machines = rng.choice(len(problem.weights), size=calls, p=problem.weights)
    costs, ends, acts = np.zeros(calls), Counter[str](), 0
    for i, machine in enumerate(machines):
        costs[i], ended, steps = _call(laid, answers, int(machine), rng)
        ends[ended] += 1
        acts += steps
    return Trial(costs, dict(ends), acts / calls)


def remembered(policy: Policy) -> Policy:
    """The same policy, asked once for each belief."""
    known: dict[tuple[Situation, bytes], Option | None] = {}

    def option(situation: Situation, weights: Floats) -> Option | None:
        key = belief_key(situation, weights)
        if key not in known:
            known[key] = policy(situation, weights)
        return known[key]

    return option


def _call(laid: Frame, policy: Policy, machine: int, rng: np.random.Generator) -> tuple[float, str, int]:
    """Cost, ending and number of actions of one call."""
    situation, weights, cost, steps = laid.start, laid.problem.weights, 0.0, 0
    while True:
        # The policy sees only the belief; the machine itself decides what comes out
        option = asked(policy, situation, weights)
        for change in changes_on(laid.problem.access, situation.node, option.node):
            machine = _live_through(change, machine, rng)
        row = _shown(laid, option, machine, rng)
        outcome = _outcome(laid, option, row)
        cost += (
            option.move
            + laid.cost[option.action]
            + (0.0 if outcome[0] is None else float(outcome[0][machine]))
        )
        steps += 1
        if outcome[1]:
            return cost, outcome[1], steps
        change_after = laid.change[row]
        if change_after is not None:
            machine = _live_through(change_after, machine, rng)
        child = _updated(laid, situation, option, weights, row=row)
        situation, weights = child.situation, child.weights


def _shown(laid: Frame, option: Option, machine: int, rng: np.random.Generator) -> int:
    low, high = laid.first[option.action], laid.first[option.action + 1]
    # Scaled by the last sum, which rounding may leave a hair from 1
    reach = np.cumsum(laid.table[low:high, machine])
    return low + min(int(np.searchsorted(reach, rng.random() * reach[-1], side="right")), high - low - 1)


def _outcome(laid: Frame, option: Option, row: int) -> tuple[Floats | None, str]:
    outcome = laid.problem.actions[option.action].outcomes[row - laid.first[option.action]]
    return outcome.toll, outcome.ends


def _live_through(change: Change, machine: int, rng: np.random.Generator) -> int:
    mine = change.source == machine
    chance = change.chance[mine]
    return int(rng.choice(change.target[mine], p=chance / chance.sum()))


def _updated(laid: Frame, situation: Situation, option: Option, weights: Floats, *, row: int) -> Child:
    # Updated by the same arithmetic as in planning, but on what the machine showed
    joint = laid.table[row] * arrive(laid, situation, option, weights)
    p = float(joint.sum())
    return Child(p, after(laid, situation, option, row), after_change(laid, row, joint / p))
