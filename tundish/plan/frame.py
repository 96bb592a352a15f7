"""A problem laid out as arrays, and the bookkeeping of a call: where the technician stands, what is done,
what he holds.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from tundish.plan.access import Access, changes_on
from tundish.plan.change import Change, Floats, Ints, carry, carry_all
from tundish.plan.problem import END, ORDER, Action, Problem

# Below this chance an outcome is taken as impossible; keeps rounding from opening branches.
NEVER = 1e-12
DIGITS = 12


class Situation(NamedTuple):
    """node : access state. done : bits of actions that cannot be done again. held : bits of tokens."""

    node: int
    done: int
    held: int


class Option(NamedTuple):
    """An action done in access state `node`; move : money to get there."""

    action: int
    node: int
    move: float


class Child(NamedTuple):
    """What may follow: chance, situation, weights (n,) normalised."""

    chance: float
    situation: Situation
    weights: Floats


@dataclass(frozen=True, eq=False)
class Frame:
    """Arrays of a problem. Rows k are the outcomes of all actions, action a owning first[a] to first[a + 1].

    table : (k, n) chance. tolled : (t, n) chance x toll of the few rows
    that pay one; paying : row -> its place there. cost : (a,). grants, needs, unless : bits of tokens.
    """

    problem: Problem
    table: Floats
    tolled: Floats
    paying: dict[int, int]
    tolls: tuple[Floats | None, ...]
    first: tuple[int, ...]
    cost: tuple[float, ...]
    ends: tuple[bool, ...]
    grants: tuple[int, ...]
    change: tuple[Change | None, ...]
    leaves: tuple[int, ...]
    needs: tuple[int, ...]
    unless: tuple[int, ...]
    at: tuple[tuple[int, ...], ...]
    start: Situation
    endings: tuple[int, ...]
    kept: dict[Situation, tuple[Option, ...]] = field(default_factory=dict)
    reached: dict[tuple[int, int], tuple[Option, ...]] = field(default_factory=dict)


def frame(problem: Problem) -> Frame:
    """Lay a problem out as arrays."""
    actions, names = problem.actions, problem.access.names
    outcomes = [o for a in actions for o in a.outcomes]
    bit = {token: 1 << i for i, token in enumerate(_tokens(problem))}
    table = np.array([o.chance for o in outcomes])
    # Few outcomes carry a toll; the others get no row, since a row is as long as the population
    paying = [k for k, o in enumerate(outcomes) if o.toll is not None]
    tolled = np.array([o.chance * o.toll for o in outcomes if o.toll is not None])
    paid = [[o.chance * o.toll for o in a.outcomes if o.toll is not None] for a in actions]
    place = {name: i for i, name in enumerate(names)}
    return Frame(
        problem=problem,
        table=table,
        tolled=tolled.reshape(len(paying), len(problem.weights)),
        paying={row: i for i, row in enumerate(paying)},
        tolls=tuple(np.sum(rows, axis=0) if rows else None for rows in paid),
        first=tuple(np.cumsum([0] + [len(a.outcomes) for a in actions]).tolist()),
        cost=tuple(float(a.cost) for a in actions),
        ends=tuple(bool(o.ends) for o in outcomes),
        grants=tuple(_bits(bit, o.grants) for o in outcomes),
        change=tuple(o.change for o in outcomes),
        leaves=tuple(-1 if a.leaves is None else place[a.leaves] for a in actions),
        needs=tuple(_bits(bit, a.needs) for a in actions),
        unless=tuple(_bits(bit, a.unless) for a in actions),
        at=tuple(tuple(sorted(place[x] for x in (names if a.at is None else a.at))) for a in actions),
        start=Situation(place[problem.start], 0, _bits(bit, problem.held)),
        endings=tuple(i for i, a in enumerate(actions) if a.kind == END),
    )


def options(frame: Frame, situation: Situation) -> tuple[Option, ...]:
    """What is lawful in this situation whatever the belief: not done, tokens right, reachable, live only if
    qualified.
    """
    found = frame.kept.get(situation)
    if found is None:
        usable = (a for a in range(len(frame.cost)) if usable_now(frame, situation, a))
        found = tuple(o for a in usable for o in reach(frame, situation.node, a))
        frame.kept[situation] = found
    return found


def usable_now(frame: Frame, situation: Situation, action: int) -> bool:
    """Whether an action is still to be done and its tokens are right. An order that brings nothing new is
    not.
    """
    what, held = frame.problem.actions[action], situation.held
    # A set bit: the action is done and its error would only repeat
    if situation.done >> action & 1 or frame.needs[action] & ~held or frame.unless[action] & held:
        return False
    # A second trip for parts that are already in hand is never worth looking at
    if what.kind == ORDER and not granted(frame, action) & ~held:
        return False
    return frame.problem.qualified or not what.live


def reach(frame: Frame, node: int, action: int) -> tuple[Option, ...]:
    """The access states in which an action is worth doing, coming from `node`."""
    found = frame.reached.get((node, action))
    if found is None:
        found = frame.reached[node, action] = _reach(frame, node, action)
    return found


def rows_of(frame: Frame, option: Option) -> range:
    """Outcome rows of an option."""
    return range(frame.first[option.action], frame.first[option.action + 1])


def granted(frame: Frame, action: int) -> int:
    """Bits of all tokens an action may grant."""
    bits = 0
    for row in range(frame.first[action], frame.first[action + 1]):
        bits |= frame.grants[row]
    return bits


def within_guard(action: Action, weights: Floats) -> bool:
    """Whether the belief keeps the action's limit."""
    return action.guard is None or float(action.guard.left @ weights) <= action.guard.limit + 1e-12


def arrive(frame: Frame, situation: Situation, option: Option, weights: Floats) -> Floats:
    """Weights after the moves to the option's access state (moving may change the machine)."""
    if not frame.problem.access.changes:
        return weights
    return carry_all(changes_on(frame.problem.access, situation.node, option.node), weights)


def after(frame: Frame, situation: Situation, option: Option, row: int) -> Situation:
    """The situation after an option that came out as outcome `row`."""
    action = option.action
    done = situation.done if frame.problem.actions[action].repeats else situation.done | 1 << action
    node = option.node if frame.leaves[action] < 0 else frame.leaves[action]
    return Situation(node, done, situation.held | frame.grants[row])


def after_change(frame: Frame, row: int, weights: Floats) -> Floats:
    """Weights after what the outcome itself does to the machine."""
    change = frame.change[row]
    return weights if change is None else carry(change, weights)


def foresee(frame: Frame, situation: Situation, option: Option, weights: Floats) -> tuple[float, list[Child]]:
    """Expected money of doing the option now, and what may follow (endings have no child)."""
    there = arrive(frame, situation, option, weights)
    low, high = frame.first[option.action], frame.first[option.action + 1]
    # P(outcome, state): its row sums are the chances, its rows the beliefs after
    joint = frame.table[low:high] * there
    chances = joint.sum(axis=1)
    # Tolls are expected over the states in which the action is done, before it changes them
    cost = option.move + frame.cost[option.action] + toll_of(frame, option.action, there)
    children = [
        Child(float(p), after(frame, situation, option, row), after_change(frame, row, joint[row - low] / p))
        for row, p in zip(range(low, high), chances, strict=True)
        if p > NEVER and not frame.ends[row]
    ]
    return cost, children


def toll_of(frame: Frame, action: int, weights: Floats) -> float:
    """Expected toll of an action at weights (n,) of the states it is done in."""
    paid = frame.tolls[action]
    return 0.0 if paid is None else float(paid @ weights)


def tolls(frame: Frame, weights: Floats) -> Floats:
    """(k, ...) expected toll of every outcome row. weights : (n, ...)."""
    out = np.zeros((len(frame.table), *weights.shape[1:]))
    out[list(frame.paying)] = frame.tolled @ weights
    return out


def belief_key(situation: Situation, weights: Floats) -> tuple[Situation, bytes]:
    """A name for a belief in a situation, equal for beliefs that differ by rounding only."""
    return situation, np.round(weights, DIGITS).tobytes()


def _tokens(problem: Problem) -> list[str]:
    seen = set(problem.held)
    for action in problem.actions:
        seen |= action.needs | action.unless
        for outcome in action.outcomes:
            seen |= outcome.grants
    return sorted(seen)


def _bits(bit: dict[str, int], tokens: frozenset[str]) -> int:
    return sum(bit[token] for token in tokens)


def _reach(frame: Frame, node: int, action: int) -> tuple[Option, ...]:
    """Access states worth doing it in.

    A state beyond another lawful one is left out: the rest of the way can be made afterwards for the same
    money, unless the machine changes on it.
    """
    if frame.problem.actions[action].at is None:
        return (Option(action, node, 0.0),)
    graph = frame.problem.access
    there = np.array(frame.at[action], dtype=np.int64)
    near = there[np.isfinite(graph.cost[node, there])]
    near = near[np.argsort(graph.cost[node, near], kind="stable")]
    kept = []
    # Nearest first: what lies beyond it is struck out, then the nearest of the rest
    while len(near):
        first = int(near[0])
        kept.append(Option(action, first, float(graph.cost[node, first])))
        near = near[~_beyond(graph, node, first, near)]
    return tuple(kept)


def _beyond(graph: Access, node: int, first: int, near: Ints) -> npt.NDArray[np.bool_]:
    """(m,) which of the states `near` lie beyond `first` on a cheapest way, itself included."""
    beyond = graph.cost[node, first] + graph.cost[first, near] <= graph.cost[node, near] + 1e-12
    if graph.changes:
        # Few states lie beyond another, so only these are asked whether the machine is the same there
        for m in np.flatnonzero(beyond).tolist():
            beyond[m] = _same(graph, node, first, int(near[m]))
    return np.asarray(beyond, dtype=np.bool_)


def _same(graph: Access, node: int, other: int, beyond: int) -> bool:
    """Whether the machine is the same in both, and will be on every way that leads on from there."""
    if not graph.changes:
        return True
    if graph.outlook[other] != graph.outlook[beyond]:
        return False
    return changes_on(graph, node, other) == changes_on(graph, node, beyond)
