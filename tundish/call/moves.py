"""Which event may follow which: one table, read by the code, the tests and docs/call.md.

A move is judged where it is made. Events that come from another device were judged there; `fold` takes them
as they are and reports what it cannot use.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from tundish.call.bodies import (
    Body,
    CallOpened,
    CircumstanceAdded,
    Corrected,
    NoteAdded,
    ReadingTaken,
    RepairDone,
)
from tundish.call.errors import MoveError
from tundish.call.fold import CallState


@dataclass(frozen=True)
class Move:
    """Whether a kind of event may be recorded. do : the cure when it may not."""

    legal: bool
    do: str = ""


NOT_OPEN, OPEN = "not open", "open"
LEGAL = Move(True)
_OPEN_FIRST = Move(False, "open the call first")

# Stage of the call, then kind of event. Later stages (agreed, fixed, closed) are more rows.
MOVES: Mapping[str, Mapping[str, Move]] = {
    NOT_OPEN: {
        CallOpened.KIND: LEGAL,
        CircumstanceAdded.KIND: _OPEN_FIRST,
        ReadingTaken.KIND: _OPEN_FIRST,
        RepairDone.KIND: _OPEN_FIRST,
        NoteAdded.KIND: _OPEN_FIRST,
        Corrected.KIND: _OPEN_FIRST,
    },
    OPEN: {
        CallOpened.KIND: Move(False, "correct the opening, or open another call for another job"),
        CircumstanceAdded.KIND: LEGAL,
        ReadingTaken.KIND: LEGAL,
        RepairDone.KIND: LEGAL,
        NoteAdded.KIND: LEGAL,
        Corrected.KIND: LEGAL,
    },
}


def stage(state: CallState) -> str:
    """Where the call stands, as the table names it."""
    return NOT_OPEN if state.opened is None else OPEN


def allowed(state: CallState) -> tuple[str, ...]:
    """Kinds of event that may be recorded now."""
    return tuple(kind for kind, move in MOVES[stage(state)].items() if move.legal)


def check(state: CallState, body: Body) -> None:
    """MoveError when the body may not be recorded in this state."""
    move = MOVES[stage(state)].get(body.kind, Move(False, "update this program, or use a kind it knows"))
    if not move.legal:
        raise MoveError(
            seen=f"{body.kind!r} while call {state.call or '(new)'} is {stage(state)}",
            allowed=", ".join(allowed(state)),
            do=_cure(state, move),
        )
    RULES.get(body.kind, _no_rule)(state, body)


def _cure(state: CallState, move: Move) -> str:
    if state.opened is None and any(fact.body.kind == CallOpened.KIND for fact in state.unknown):
        return "update this program: a newer one opened this call"
    return move.do


def _no_rule(state: CallState, body: Body) -> None:
    """Nothing more to ask."""


def _new_circumstance(state: CallState, body: CircumstanceAdded) -> None:
    if body.name in state.circumstances:
        raise MoveError(
            seen=f"circumstance {body.name!r}, already told",
            allowed=f"a circumstance other than {', '.join(state.circumstances)}",
            do="leave it; it counts once",
        )


def _sound_correction(state: CallState, body: Corrected) -> None:
    if body.target not in state.settled.subject:
        raise MoveError(
            seen=f"a correction of event {body.target}",
            allowed=f"one of the {len(state.events)} events of call {state.call}",
            do="look the event up in the list of this call's events",
        )
    subject = state.settled.subject[body.target]
    if body.by is None:
        _sound_withdrawal(state, body)
    elif body.by.kind != subject:
        raise MoveError(
            seen=f"{body.by.kind!r} in the place of {subject!r}",
            allowed=f"another {subject!r}, or none",
            do="withdraw the wrong event and record a new one",
        )
    elif _says(state, body.target) == body.by:
        raise MoveError(
            seen=f"a correction of {body.target} that changes nothing",
            allowed="a different body",
            do="leave it as it is",
        )


def _sound_withdrawal(state: CallState, body: Corrected) -> None:
    # Without its opening a call has no family, and none of its readings can be read.
    if state.opened is not None and body.target == state.opened.event:
        raise MoveError(
            seen=f"the opening of call {state.call} withdrawn",
            allowed="the opening replaced by another",
            do="say in the correction what the opening should have been",
        )
    if state.settled.standing[body.target] is None:
        raise MoveError(
            seen=f"event {body.target} withdrawn twice",
            allowed="one withdrawal",
            do="leave it, or withdraw the withdrawal to make the event stand again",
        )


def _says(state: CallState, target: str) -> Body | None:
    # What the target puts in place now: its body, or what a correction replaces by
    body = state.settled.standing[target]
    return body.by if isinstance(body, Corrected) else body


# What the table cannot say, because it depends on the event's own words.
RULES: Mapping[str, Callable[[CallState, Any], None]] = {
    CircumstanceAdded.KIND: _new_circumstance,
    Corrected.KIND: _sound_correction,
}
