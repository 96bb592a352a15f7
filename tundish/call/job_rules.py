"""What is asked of an event on the customer, the price and the work, beyond the stage of the call."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from tundish.call.agreed import (
    ceiling,
    consent,
    covers,
    currency,
    due,
    newest,
    odd_consent,
    owed,
    quote_of,
    within,
)
from tundish.call.amounts import spoken
from tundish.call.asking import PhotoKept, QuestionAnswered
from tundish.call.bodies import RepairDone
from tundish.call.closing import CallbackOf
from tundish.call.deals import ConsentGiven, ConsentRefused, Paid
from tundish.call.errors import MoveError
from tundish.call.fixing import PartUsed, StepDone
from tundish.call.fold import CallState
from tundish.call.quotes import Quoted


def need_consent(state: CallState, what: str, fault: str) -> None:
    """MoveError unless the customer's consent stands, covers the cause, and covers what the job costs now."""
    job = state.job
    given, quote = consent(job), newest(job)
    if given is None or quote is None:
        odd = odd_consent(job)
        ask = "ask for consent to the quote" if quote else "quote it, and ask for consent"
        raise MoveError(
            seen=f"{what} on {odd.seen}" if odd else f"{what} without a consent that stands",
            allowed=f"work on {fault} once the customer has agreed to a quote that covers it",
            do=f"{odd.do if odd else ask}; work under warranty or out of goodwill is agreed to at 0",
        )
    if not covers(job, fault):
        agreed = quote_of(job, given.quote)
        named = ", ".join(agreed.body.faults) if agreed else ""
        raise MoveError(
            seen=f"{what}, a cause that was not agreed to",
            allowed=f"work on {named or 'no cause: the visit only was agreed to'}",
            do=f"quote {fault} with the rest, and ask again",
        )
    if not within(job):
        raise MoveError(
            seen=f"{what} while the job costs {spoken(quote.body.gross, quote.body.currency)}",
            allowed=f"up to {spoken(ceiling(given), given.currency)}, for {spoken(given.minor, given.currency)} agreed",
            do="ask for consent to the newest quote",
        )


def fits_quote(state: CallState, body: ConsentGiven) -> None:
    """MoveError unless a consent says what the quote says that it names."""
    quote = quote_of(state.job, body.quote)
    if quote is None:
        raise MoveError(
            seen=f"a consent to quote {body.quote}",
            allowed=", ".join(one.event for one in state.job.quotes) or "a quote; there is none yet",
            do="quote first, then name the event of that quote",
        )
    if (body.minor, body.currency) != (quote.body.gross, quote.body.currency):
        raise MoveError(
            seen=f"a consent to {spoken(body.minor, body.currency)}",
            allowed=f"{spoken(quote.body.gross, quote.body.currency)}, as quote {quote.body.id} says",
            do="quote what was agreed on, 0 for warranty or goodwill, and have that agreed to",
        )


def _repair(state: CallState, body: RepairDone) -> None:
    need_consent(state, f"repair of {body.fault}", body.fault)


def _step(state: CallState, body: StepDone) -> None:
    need_consent(state, f"step {body.step!r} for {body.fault}", body.fault)


def _part(state: CallState, body: PartUsed) -> None:
    need_consent(state, f"part {body.part!r} for {body.fault}", body.fault)
    if body.fault not in (*state.parts, *state.job.fitted):
        raise MoveError(
            seen=f"part {body.part!r} used for {body.fault}, not in hand",
            allowed=f"a part in hand, for {', '.join(state.parts) or 'no cause yet'}",
            do=f"first: take {body.fault}",
        )
    if any((one.body.part, one.body.fault) == (body.part, body.fault) for one in state.job.used):
        raise MoveError(
            seen=f"part {body.part!r} used twice for {body.fault}",
            allowed="one entry for each part and cause, with its count",
            do="correct the count of the first",
        )


def _quote(state: CallState, body: Quoted) -> None:
    if any(one.body.id == body.id for one in state.job.quotes):
        raise MoveError(
            seen=f"a second quote {body.id!r}", allowed="an id of its own", do="number this quote anew"
        )


def _consent(state: CallState, body: ConsentGiven) -> None:
    fits_quote(state, body)
    quote = newest(state.job)
    if quote is not None and quote.event != body.quote:
        raise MoveError(
            seen=f"a consent to quote {body.quote}, which was replaced",
            allowed=f"the newest quote, {quote.body.id} ({quote.event})",
            do="ask for consent to that one, or quote the other again",
        )


def _refusal(state: CallState, body: ConsentRefused) -> None:
    quote = quote_of(state.job, body.quote)
    if body.quote and quote is None:
        raise MoveError(
            seen=f"a refusal of quote {body.quote}",
            allowed=", ".join(one.event for one in state.job.quotes) or "no quote; there is none yet",
            do="name the event of the quote that was refused, or none",
        )
    most = max(quote.body.owed_if_refused, owed(state.job)) if quote else body.owed
    if quote and (body.owed > most or body.currency != quote.body.currency):
        raise MoveError(
            seen=f"{spoken(body.owed, body.currency)} owed on a refusal",
            allowed=f"up to {spoken(most, quote.body.currency)}, as was said in quote {quote.body.id}",
            do="ask for no more than was said before",
        )


def _payment(state: CallState, body: Paid) -> None:
    left = max(due(state.job), 0)
    if body.minor > left or body.currency != currency(state.job):
        raise MoveError(
            seen=f"a payment of {spoken(body.minor, body.currency)}",
            allowed=f"up to {spoken(left, currency(state.job))}, what is due"
            if left
            else "nothing: no amount is due",
            do="correct the amount"
            if left
            else "quote and ask for consent first, or withdraw a payment made twice",
        )


def _answer(state: CallState, body: QuestionAnswered) -> None:
    if any((one.body.question, one.body.answer) == (body.question, body.answer) for one in state.job.answers):
        raise MoveError(
            seen=f"answer {body.answer!r} to {body.question}, already told",
            allowed="another answer, or another question",
            do="leave it; it counts once",
        )


def _photo(state: CallState, body: PhotoKept) -> None:
    if any(one.body.sha256 == body.sha256 for one in state.job.photos):
        raise MoveError(
            seen=f"photo of {body.subject!r}, kept already",
            allowed="one entry for each photo",
            do="leave it, or correct what its entry says",
        )


def _callback(state: CallState, body: CallbackOf) -> None:
    if body.earlier == state.call:
        raise MoveError(
            seen=f"call {state.call} as a callback of itself",
            allowed="an earlier call",
            do="name the call whose work is in question",
        )


JOB_RULES: Mapping[str, Callable[[CallState, Any], None]] = {
    RepairDone.KIND: _repair,
    StepDone.KIND: _step,
    PartUsed.KIND: _part,
    Quoted.KIND: _quote,
    ConsentGiven.KIND: _consent,
    ConsentRefused.KIND: _refusal,
    Paid.KIND: _payment,
    QuestionAnswered.KIND: _answer,
    PhotoKept.KIND: _photo,
    CallbackOf.KIND: _callback,
}
