"""Merge hidden states that no action tells apart: an exact reduction (lumpability, Kemeny & Snell 1960,
section 6.3).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from tundish.plan.change import Change, Floats, Ints
from tundish.plan.frame import DIGITS
from tundish.plan.problem import Action, Guard, Outcome, Problem, extra_arrays


@dataclass(frozen=True, eq=False)
class Lumps:
    """classes : (n,) the merged state of each state. problem : the same problem over the merged states.

    first : (h,) one state of each class.
    """

    classes: Ints
    first: Ints
    problem: Problem


def lump(problem: Problem, *, ignoring: frozenset[str] = frozenset()) -> Lumps:
    """Merge what the actions do not tell apart; kinds in `ignoring` are not asked (their chances then mean
    nothing).
    """
    asked = [a for a in problem.actions if a.kind not in ignoring]
    changes = [c for a in problem.actions for o in a.outcomes if (c := o.change) is not None]
    # Many moves may share one change; each is looked at once
    changes = list({id(c): c for c in [*changes, *problem.access.changes.values()]}.values())
    # One column for each number an action holds of a state; equal rows are equal states
    columns = np.array([column for a in asked for column in _columns(a)] or [np.zeros(len(problem.weights))])
    classes = _group(columns.T)
    while changes:
        # States that change into different classes are different, though they answer alike now
        finer = _group(np.column_stack([classes, *(_lands(c, classes) for c in changes)]))
        if finer.max() == classes.max():
            break
        classes = finer
    first = np.unique(classes, return_index=True)[1].astype(np.int64)
    return Lumps(classes, first, _merged(problem, classes, first))


def gather(lumps: Lumps, weights: Floats) -> Floats:
    """Weights (h,) of the merged states from weights (n,)."""
    return _sums(lumps.classes, weights, len(lumps.first))


def _columns(action: Action) -> list[Floats]:
    found = [a for o in action.outcomes for a in (o.chance, o.toll) if a is not None]
    return found + extra_arrays(action)


def _sums(classes: Ints, weights: Floats, h: int) -> Floats:
    summed: Floats = np.bincount(classes, weights=weights, minlength=h).astype(np.float64)
    return summed


def _group(rows: npt.NDArray[np.float64]) -> Ints:
    # + 0.0 turns -0.0 into 0.0, which is equal but has other bytes
    rounded = np.ascontiguousarray(np.round(rows, DIGITS) + 0.0)
    number: dict[bytes, int] = {}
    return np.array([number.setdefault(row.tobytes(), len(number)) for row in rounded], dtype=np.int64)


def _lands(change: Change, classes: Ints) -> Floats:
    """(n, h) chance that a state lands in each class."""
    h = int(classes.max()) + 1
    return _sums(change.source * h + classes[change.target], change.chance, len(classes) * h).reshape(-1, h)


def _merged(problem: Problem, classes: Ints, first: Ints) -> Problem:
    actions = tuple(_action(a, classes, first) for a in problem.actions)
    old = problem.access
    # Moves that share a change share its merged form: the planner compares ways by what they do
    merged = {id(c): _change(c, classes, first) for c in old.changes.values()}
    changes = {hop: merged[id(c)] for hop, c in old.changes.items()}
    weights = _sums(classes, problem.weights, len(first))
    graph = replace(old, changes=changes)
    return replace(problem, weights=weights, actions=actions, access=graph)


def _action(action: Action, classes: Ints, first: Ints) -> Action:
    guard = action.guard and Guard(action.guard.left[first], action.guard.limit)
    cures = None if action.cures is None else action.cures[first]
    outcomes = tuple(_outcome(o, classes, first) for o in action.outcomes)
    return replace(action, outcomes=outcomes, cures=cures, guard=guard)


def _outcome(outcome: Outcome, classes: Ints, first: Ints) -> Outcome:
    toll = None if outcome.toll is None else outcome.toll[first]
    change = outcome.change and _change(outcome.change, classes, first)
    return replace(outcome, chance=outcome.chance[first], toll=toll, change=change)


def _change(change: Change, classes: Ints, first: Ints) -> Change:
    # Any member may speak for its class: all of them land alike, or they were not merged
    mine = first[classes[change.source]] == change.source
    return Change(classes[change.source[mine]], classes[change.target[mine]], change.chance[mine])
