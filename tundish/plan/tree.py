"""The plan as a tree: what is done first, what each outcome leads to, cut off where it no longer matters."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from tundish.plan.change import Floats
from tundish.plan.frame import (
    NEVER,
    Frame,
    Option,
    Situation,
    after,
    after_change,
    arrive,
    rows_of,
)
from tundish.plan.problem import Outcome

# What is done at a belief, and the expected cost of the whole call that it keeps.
Choose = Callable[[Situation, Floats], tuple[Option, float]]
# A branch that comes less often in a hundred calls than this is named, but not followed. Our choice.
LEAST = 0.02


@dataclass(frozen=True, eq=False)
class Node:
    """An action and what it leads to.

    action, kind : of the problem's action. place : access state it is done in. cost : expected money of the call from
    here on. reach : chance that the call comes here. weights : (n,) belief before it.
    """

    action: str
    kind: str
    place: str
    cost: float
    reach: float
    weights: Floats
    branches: tuple[Branch, ...]


@dataclass(frozen=True, eq=False)
class Branch:
    """An outcome. reach : chance that the call comes here. ends : how the call ends, "" when it goes on.

    then : what follows; None at an end, and where the tree was cut.
    """

    outcome: str
    chance: float
    reach: float
    ends: str
    then: Node | None


@dataclass(frozen=True)
class Cut:
    """Where to stop. depth : actions in a row. least : smallest chance of a branch worth following."""

    depth: int = 3
    least: float = LEAST


def tree(frame: Frame, choose: Choose, cut: Cut, *, first: tuple[Option, float] | None = None) -> Node:
    """The plan from the problem's start.

    choose : what is done at a belief, with the cost of the whole call it keeps. first : what the plan begins with, when
    that is decided already. Raises what `choose` raises where nothing lawful is left to do.
    """
    return _node(
        _Growing(frame, choose, cut), frame.start, frame.problem.weights, reach=1.0, down=0, chosen=first
    )


@dataclass(frozen=True, eq=False)
class _Growing:
    frame: Frame
    choose: Choose
    cut: Cut


def _node(
    grow: _Growing,
    situation: Situation,
    weights: Floats,
    *,
    reach: float,
    down: int,
    chosen: tuple[Option, float] | None = None,
) -> Node:
    option, cost = chosen or grow.choose(situation, weights)
    action = grow.frame.problem.actions[option.action]
    branches = _branches(grow, situation, weights, option=option, reach=reach, down=down)
    place = grow.frame.problem.access.names[option.node]
    return Node(action.name, action.kind, place, cost, reach, weights, branches)


def _branches(
    grow: _Growing, situation: Situation, weights: Floats, *, option: Option, reach: float, down: int
) -> tuple[Branch, ...]:
    """Every outcome that may come, the likeliest first; those that matter with what follows."""
    laid, there = grow.frame, arrive(grow.frame, situation, option, weights)
    outcomes, found = laid.problem.actions[option.action].outcomes, []
    for row, outcome in zip(rows_of(laid, option), outcomes, strict=True):
        joint = laid.table[row] * there
        chance = float(joint.sum())
        if chance <= NEVER:
            continue
        then = None
        # An end needs no more; a rare branch is named so that the chances add up, but not followed
        if not outcome.ends and down + 1 < grow.cut.depth and reach * chance >= grow.cut.least:
            later = after(laid, situation, option, row)
            belief = after_change(laid, row, joint / chance)
            then = _node(grow, later, belief, reach=reach * chance, down=down + 1)
        found.append(_branch(outcome, chance, reach, then))
    return tuple(sorted(found, key=lambda b: -b.chance))


def _branch(outcome: Outcome, chance: float, reach: float, then: Node | None) -> Branch:
    return Branch(outcome.name, chance, reach * chance, outcome.ends, then)


def size(node: Node) -> int:
    """How many actions a tree holds."""
    return 1 + sum(size(b.then) for b in node.branches if b.then is not None)


def endings(node: Node) -> Mapping[str, float]:
    """How calls end within the tree -> chance; "" is what lies beyond the cut."""
    found: dict[str, float] = {}
    for branch in node.branches:
        parts = endings(branch.then) if branch.then is not None else {branch.ends: branch.reach}
        for how, chance in parts.items():
            found[how] = found.get(how, 0.0) + chance
    return found
