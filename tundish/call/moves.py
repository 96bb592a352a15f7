"""Which event may follow which: one table, read by the code, the tests and docs/call.md.

A move is judged where it is made. Events that come from another device were judged there; `fold` takes them
as they are and reports what it cannot use.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from tundish.call.asking import CustomerNamed, PhotoKept
from tundish.call.bodies import (
    Body,
    CallOpened,
    CircumstanceAdded,
    Corrected,
    NoteAdded,
    RepairDone,
)
from tundish.call.closing import FollowUpSet, PaperMade
from tundish.call.correcting import sound_correction
from tundish.call.deals import Paid
from tundish.call.doings import (
    CallEnded,
    CircumstanceDenied,
    PartOrdered,
    PartTaken,
    StateClaimed,
    StateFound,
    Tested,
)
from tundish.call.endings import wanting
from tundish.call.errors import MoveError
from tundish.call.fold import CallState
from tundish.call.job_rules import JOB_RULES
from tundish.call.kinds import KINDS
from tundish.call.safety import ARRIVAL, claimed, found, unsafe_to_leave


@dataclass(frozen=True)
class Move:
    """Whether a kind of event may be recorded. do : the cure when it may not."""

    legal: bool
    do: str = ""


NOT_OPEN, OPEN, ENDED = "not open", "open", "ended"
LEGAL = Move(True)
_OPEN_FIRST = Move(False, "open the call first")
_UNDO_END = Move(False, "undo the ending first, or open another call for another job")

# What still comes in when the work is over.
AFTERWARDS = tuple(
    kind.KIND for kind in (NoteAdded, Corrected, CustomerNamed, PhotoKept, Paid, FollowUpSet, PaperMade)
)
# Stage of the call, then kind of event.
MOVES: Mapping[str, Mapping[str, Move]] = {
    NOT_OPEN: {**dict.fromkeys(KINDS, _OPEN_FIRST), CallOpened.KIND: LEGAL},
    OPEN: {
        **dict.fromkeys(KINDS, LEGAL),
        CallOpened.KIND: Move(False, "correct the opening, or open another call for another job"),
    },
    ENDED: {**dict.fromkeys(KINDS, _UNDO_END), **dict.fromkeys(AFTERWARDS, LEGAL)},
}


def stage(state: CallState) -> str:
    """Where the call stands, as the table names it."""
    if state.opened is None:
        return NOT_OPEN
    return OPEN if state.ended is None else ENDED


def allowed(state: CallState) -> tuple[str, ...]:
    """Kinds of event that may be recorded now."""
    return tuple(kind for kind, move in MOVES[stage(state)].items() if move.legal)


def check(state: CallState, body: Body, *, proven: bool | None = None) -> None:
    """MoveError when the body may not be recorded in this state.

    proven : whether the odds prove the repair, which the events do not tell; None when it was asked before.
    """
    move = MOVES[stage(state)].get(body.kind, Move(False, "update this program, or use a kind it knows"))
    if not move.legal:
        raise MoveError(
            seen=f"{body.kind!r} while call {state.call or '(new)'} is {stage(state)}",
            allowed=", ".join(allowed(state)),
            do=_cure(state, move),
        )
    for rules in (RULES, JOB_RULES):
        rules.get(body.kind, _no_rule)(state, body)
    if proven is False and isinstance(body, CallEnded) and body.as_ == "proven":
        raise MoveError(
            seen=f"call {state.call} ended as {body.as_}, UNPROVEN",
            allowed="unproven, handed over, or refused with what is owed",
            do="take the readings that prove it, or end it in one of these ways",
        )


def _cure(state: CallState, move: Move) -> str:
    if state.opened is None and any(fact.body.kind == CallOpened.KIND for fact in state.unknown):
        return "update this program: a newer one opened this call"
    return move.do


def _no_rule(state: CallState, body: Body) -> None:
    """Nothing more to ask."""


def _new_circumstance(state: CallState, body: CircumstanceAdded | CircumstanceDenied) -> None:
    if body.name in state.circumstances:
        raise MoveError(
            seen=f"circumstance {body.name!r}, already told",
            allowed=f"a circumstance other than {', '.join(state.circumstances)}",
            do="leave it; it counts once",
        )


def _lawful_step(state: CallState, body: StateClaimed) -> None:
    claimed(state.safety or ARRIVAL, body)


def _lawful_find(state: CallState, body: StateFound) -> None:
    found(state.safety or ARRIVAL, body)


def _repair_in_hand(state: CallState, body: RepairDone) -> None:
    # What a repair needs beyond this stands in the description, and is asked where that is at hand
    if state.safety is not None and (state.safety.use != "in hand" or state.safety.power == "live"):
        raise MoveError(
            seen=f"repair of {body.fault} while {state.safety.name}",
            allowed="a machine in hand, not live",
            do="record the step that brings it there first",
        )


def _test_of_repair(state: CallState, body: Tested) -> None:
    if not state.repairs:
        raise MoveError(
            seen=f"call {state.call}: a test before any repair",
            allowed="the test of a repair that is recorded",
            do="record the repair first; what the machine shows before it is a reading",
        )
    here = state.safety
    if here is not None and (here.power != "on" or here.place != "in place" or here.panels):
        raise MoveError(
            seen=f"a test while {here.name}",
            allowed="a machine in its place, closed and on, as the customer uses it",
            do="record the steps that bring it there first",
        )


def _part_left(state: CallState, body: PartOrdered) -> None:
    if body.fault in (*state.ordered, *state.parts):
        raise MoveError(
            seen=f"a second order for {body.fault}",
            allowed="one order for each cause",
            do="leave it, or take the part when it is there",
        )
    _may_leave(state, f"an order for {body.fault}, on which you leave,")


def _part_new(state: CallState, body: PartTaken) -> None:
    if body.fault in state.parts:
        raise MoveError(
            seen=f"the part for {body.fault}, in hand already",
            allowed="a part that is not in hand",
            do="leave it",
        )


def _sound_ending(state: CallState, body: CallEnded) -> None:
    wants = wanting(state, body.as_)
    if wants is not None:
        raise wants
    _may_leave(state, f"the call ended as {body.as_}")
    # What works again is given back as such; untracked calls say nothing of their state
    used = state.safety is None or state.safety.use == "returned to use"
    if body.as_ in ("proven", "nothing wrong") and not used:
        raise MoveError(
            seen=f"the call ended as {body.as_} while {state.safety.name if state.safety else ''}",
            allowed="a machine returned to use",
            do="record the step: return to use",
        )


def _may_leave(state: CallState, doing: str) -> None:
    why = "" if state.safety is None else unsafe_to_leave(state.safety)
    if state.safety is not None and why:
        raise MoveError(
            seen=f"{doing} while {state.safety.name}", allowed="a machine safe to be left", do=why
        )


# What the table cannot say, because it depends on the event's own words.
RULES: Mapping[str, Callable[[CallState, Any], None]] = {
    CircumstanceAdded.KIND: _new_circumstance,
    CircumstanceDenied.KIND: _new_circumstance,
    RepairDone.KIND: _repair_in_hand,
    StateClaimed.KIND: _lawful_step,
    StateFound.KIND: _lawful_find,
    Tested.KIND: _test_of_repair,
    PartOrdered.KIND: _part_left,
    PartTaken.KIND: _part_new,
    CallEnded.KIND: _sound_ending,
    Corrected.KIND: sound_correction,
}
