"""Which correction may be made.

A correction may not bring about what no move could: work without consent, a payment above what is owed, an end
that is not so. What it would leave is computed before it is recorded.
"""

from __future__ import annotations

from collections.abc import Iterator

from tundish.call.agreed import currency, due
from tundish.call.bodies import (
    Body,
    CallOpened,
    CircumstanceAdded,
    Corrected,
    ReadingTaken,
    RepairDone,
)
from tundish.call.corrections import settle
from tundish.call.deals import ConsentGiven
from tundish.call.doings import CallEnded, StateClaimed, StateFound, Tested
from tundish.call.endings import wanting
from tundish.call.errors import MoveError
from tundish.call.events import Event
from tundish.call.fold import CallState, fold
from tundish.call.identity import ID_BYTES, mint, moment
from tundish.call.job_rules import fits_quote
from tundish.call.quotes import Quoted

# What a proof rests on: changed after the end, the proof is not that of this call any more.
PROOF = frozenset(
    kind.KIND
    for kind in (CallOpened, CircumstanceAdded, ReadingTaken, RepairDone, StateClaimed, StateFound, Tested)
)


def sound_correction(state: CallState, body: Corrected) -> None:
    """MoveError unless a correction has its target, changes something, and leaves a call that could have come about."""
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
    after = _supposed(state, body)
    _sound_deal(state, body, after)
    _sound_after(state, after, subject)


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


def _sound_deal(state: CallState, body: Corrected, after: CallState) -> None:
    """Whoever agreed has agreed to what he saw: his quote stands as it was then, or not at all."""
    if isinstance(body.by, ConsentGiven):
        fits_quote(state, body.by)
    for quote, then in _agreed_to(state):
        now = after.settled.standing[quote]
        if isinstance(now, Quoted) and now not in (then, state.settled.standing[quote]):
            raise MoveError(
                seen=f"quote {now.id!r} changed after the customer agreed to it",
                allowed="a new quote",
                do="quote anew, and ask again where it costs more or covers another cause",
            )


def _agreed_to(state: CallState) -> Iterator[tuple[str, Body | None]]:
    # Of every consent ever given, as a withdrawn one may come back: its quote, and what that said then
    for place, event in enumerate(state.events):
        said = event.body.by if isinstance(event.body, Corrected) else event.body
        if isinstance(said, ConsentGiven) and said.quote in state.settled.standing:
            yield said.quote, settle(state.events[:place]).standing.get(said.quote)


def _sound_after(state: CallState, after: CallState, subject: str) -> None:
    proven, was = _ended(after) == "proven", _ended(state) == "proven"
    if proven and (not was or subject in PROOF):
        raise MoveError(
            seen=f"a call ended as proven by a correction of {subject!r}",
            allowed="a proof of the call as it stands",
            do="undo the ending first, then end it as proven again",
        )
    before = dict(_breaches(state))
    for seen, cure in _breaches(after):
        if seen not in before:
            raise MoveError(
                seen=f"a correction that leaves {seen}", allowed="a call that could have come about", do=cure
            )


def _supposed(state: CallState, body: Corrected) -> CallState:
    # The call as it would be; the moment matters to nobody, the id only by its place
    event = Event(mint(state.last, 0, bytes(ID_BYTES)), "here", moment(0), state.call, body)
    return fold((*state.events, event))


def _breaches(state: CallState) -> Iterator[tuple[str, str]]:
    """What no move would have allowed, each with its cure."""
    for event in state.job.unagreed:
        yield f"work {event} without consent", "withdraw that work first"
    for event in state.job.unheld:
        yield f"part {event} used that was not in hand", "withdraw the use of the part first"
    # Without any word of the customer nothing is owed, in no currency
    if due(state.job) < 0 or any(p.body.currency != currency(state.job) for p in state.job.payments):
        yield "more paid than is owed", "withdraw the payment first"
    if sum(isinstance(body, CallEnded) for body in state.settled.standing.values()) > 1:
        yield "two endings", "withdraw the ending that counts now, and end the call anew"
    wants = wanting(state, _ended(state))
    if wants is not None:
        yield f"{wants.seen} without {wants.allowed}", "undo the ending first"


def _ended(state: CallState) -> str:
    return "" if state.ended is None else state.ended.body.as_
