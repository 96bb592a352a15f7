"""Every policy of a tiny problem, listed one by one. Nothing of the planner's search is used: plain lists and
loops.
"""

from __future__ import annotations

from itertools import product

import numpy as np

from tundish.plan.access import changes_on
from tundish.plan.change import Change
from tundish.plan.problem import Action, Problem

Weights = list[float]


def least_of_all_policies(problem: Problem) -> float:
    """The least expected cost over all policies."""
    costs = all_policies(problem, problem.start, frozenset(), problem.held, problem.weights.tolist())
    return min(costs)


def all_policies(
    problem: Problem, node: str, done: frozenset[str], held: frozenset[str], mass: Weights
) -> list[float]:
    """Cost of each policy from here, times the chance to be here. mass : weights, not normalised."""
    costs: list[float] = []
    for action in problem.actions:
        if action.name in done or not action.needs <= held or action.unless & held:
            continue
        for place in action.at or problem.access.names:
            if place != node and action.at is None:
                continue
            costs += _first(problem, action, place, (node, done, held, mass))
    return costs


def _first(
    problem: Problem, action: Action, place: str, here: tuple[str, frozenset[str], frozenset[str], Weights]
) -> list[float]:
    """Policies that start with this action in this place."""
    node, done, held, mass = here
    i, j = problem.access.names.index(node), problem.access.names.index(place)
    if not np.isfinite(problem.access.cost[i, j]):
        return []
    for change in changes_on(problem.access, i, j):
        mass = _changed(change, mass)
    if action.guard is not None:
        left = sum(m * x for m, x in zip(mass, action.guard.left, strict=True)) / sum(mass)
        if left > action.guard.limit:
            return []
    paid = (float(problem.access.cost[i, j]) + action.cost) * sum(mass)
    parts: list[list[float]] = []
    for outcome in action.outcomes:
        there = [m * float(c) for m, c in zip(mass, outcome.chance, strict=True)]
        if outcome.toll is not None:
            paid += sum(m * float(t) for m, t in zip(there, outcome.toll, strict=True))
        if outcome.ends or sum(there) <= 1e-13:
            continue
        if outcome.change is not None:
            there = _changed(outcome.change, there)
        then = action.leaves or place
        parts.append(all_policies(problem, then, done | {action.name}, held | outcome.grants, there))
    return [paid + sum(some) for some in product(*parts)]


def _changed(change: Change, mass: Weights) -> Weights:
    moved = [0.0] * len(mass)
    for source, target, chance in zip(change.source, change.target, change.chance, strict=True):
        moved[target] += mass[source] * float(chance)
    return moved
