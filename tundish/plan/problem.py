"""A troubleshooting problem: hidden machines with weights, what can be done, what it shows, changes and
costs.

Decision-theoretic troubleshooting as a shortest path over beliefs: Breese & Heckerman 1996
(https://arxiv.org/abs/1302.3563); cost that depends on what is already open: Warnquist, Nyberg & Saby 2008. n
hidden states (simulated machines or listed causes). A check's error is persistent: doing it again would show
the same, so each action can be done once unless it `repeats`.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tundish.plan.access import Access, access
from tundish.plan.change import Change, Floats
from tundish.plan.errors import PlanError

CHECK, QUESTION, REPAIR, ORDER, MOVE, END = "check", "question", "repair", "order", "move", "end"
KINDS = (CHECK, QUESTION, REPAIR, ORDER, MOVE, END)
LOOKS = frozenset({CHECK, QUESTION})
# How a call may end. `fixed` is a repair seen to work at once; `proven` has passed the proof the shop asks
# for.
ENDS = ("fixed", "proven", "nothing wrong", "handed over", "replaced", "refused", "stopped")
HERE = access(["here"])


@dataclass(frozen=True, eq=False)
class Outcome:
    """What an action may show.

    chance : (n,) P(outcome | state). toll : (n,) money paid when it comes out so in that state.
    change : P(state after | state), after this outcome. ends : one of ENDS, or "" when the call goes on.
    grants : tokens held from then on (a part in hand, an answer that opens a sale).
    """

    name: str
    chance: Floats
    toll: Floats | None = None
    change: Change | None = None
    ends: str = ""
    grants: frozenset[str] = frozenset()


@dataclass(frozen=True, eq=False)
class Guard:
    """A limit the belief must keep: sum of weights x left must not exceed `limit`. left : (n,)."""

    left: Floats
    limit: float


@dataclass(frozen=True, eq=False)
class Action:
    """What can be done.

    cost : money, beside the moves to get there. at : access states in which it is lawful, None for any.
    leaves : access state after it, None for the same. needs, unless : tokens that must, must not be held.
    cures : (n,) chance that it cures, by state; what the index rule ranks by. live : on energised open parts.
    """

    name: str
    kind: str
    cost: float
    outcomes: tuple[Outcome, ...]
    at: frozenset[str] | None = None
    leaves: str | None = None
    needs: frozenset[str] = frozenset()
    unless: frozenset[str] = frozenset()
    repeats: bool = False
    live: bool = False
    cures: Floats | None = None
    guard: Guard | None = None


@dataclass(frozen=True, eq=False)
class Problem:
    """The whole: weights (n,) of the hidden states (sum 1), actions, access graph, where the technician
    stands.

    qualified : trained and authorised for live work; live actions do not exist for anybody else.
    Raises PlanError when a piece does not fit.
    """

    weights: Floats
    actions: tuple[Action, ...]
    access: Access = HERE
    start: str = "here"
    held: frozenset[str] = frozenset()
    qualified: bool = False

    def __post_init__(self) -> None:
        """Refuse what cannot be planned."""
        _refuse_weights(self.weights)
        _refuse_names(self)
        for action in self.actions:
            _refuse_action(self, action)


def _refuse_weights(weights: Floats) -> None:
    if weights.ndim != 1 or not len(weights) or weights.min() < 0 or abs(weights.sum() - 1) > 1e-9:
        raise PlanError(
            seen=f"weights of shape {weights.shape} that sum to {weights.sum():.6g}",
            allowed="one row of weights from 0 that sum to 1",
            do="divide the weights by their sum",
        )


def _refuse_names(problem: Problem) -> None:
    names = [action.name for action in problem.actions]
    if len(set(names)) < len(names) or problem.start not in problem.access.names:
        raise PlanError(
            seen=f"{len(names)} actions with {len(set(names))} names, start {problem.start!r}",
            allowed=f"a name of its own for each action, start one of {', '.join(problem.access.names)}",
            do="rename the doubles or correct the start",
        )


def _refuse_action(problem: Problem, action: Action) -> None:
    n, places = len(problem.weights), set(problem.access.names)
    # Shapes are checked before chances: a short array would broadcast and hide the fault
    arrays = [a for o in action.outcomes for a in (o.chance, o.toll) if a is not None]
    arrays += extra_arrays(action)
    faults = {
        f"kind {action.kind!r}": action.kind not in KINDS,
        "no outcome": not action.outcomes,
        "an unknown access state": not ((action.at or set()) | {action.leaves or problem.start}) <= places,
        f"an ending other than {', '.join(ENDS)}": any(
            o.ends and o.ends not in ENDS for o in action.outcomes
        ),
        f"an array that is not ({n},)": any(a.shape != (n,) for a in arrays),
        f"cost {action.cost}": not np.isfinite(action.cost),
    }
    seen = [fault for fault, true in faults.items() if true] or _chances(action)
    if seen:
        raise PlanError(
            seen=f"action {action.name!r} with {', '.join(seen)}",
            allowed=f"kinds {', '.join(KINDS)}; arrays ({n},); chances that sum to 1 for every state",
            do="correct this action",
        )


def extra_arrays(action: Action) -> list[Floats]:
    """The arrays (n,) an action carries beside its outcomes."""
    guard = None if action.guard is None else action.guard.left
    return [a for a in (action.cures, guard) if a is not None]


def _chances(action: Action) -> list[str]:
    chances = np.array([o.chance for o in action.outcomes])
    # Each state must show exactly one outcome
    wrong = np.abs(chances.sum(axis=0) - 1).max()
    return [f"chances off 1 by {wrong:.3g}"] if wrong > 1e-9 or chances.min() < 0 else []
