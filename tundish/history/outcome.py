"""One closed call as a flat record: what was said, what was found, how it was proven, what it took.

No customer, machine plate, free text or photo gets in; the call's id is the only thread back.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from tundish.call.agreed import currency, due, newest, owed
from tundish.call.deals import ConsentRefused
from tundish.call.fold import CallState
from tundish.call.readings import stages
from tundish.history.errors import HistoryError
from tundish.history.noisy import FAILED, USUAL, CallbackRates, right_after
from tundish.history.visits import on_site, repair_minutes
from tundish.population.hypotheses import NOTHING

SECONDS_A_DAY = 86_400.0


@dataclass(frozen=True)
class Found:
    """A cause that was found. how : proven or unproven. chance : that it was this, on closing, [-]."""

    cause: str
    how: str
    chance: float


@dataclass(frozen=True)
class First:
    """The first repair, where it stands alone. before : chance that its cause was there, [-]. lift : logarithm of how much likelier
    what was found after it is when it cured than when not; `noisy.FAILED` when another repair had to follow."""

    fault: str
    before: float
    lift: float


@dataclass(frozen=True)
class Money:
    """Net of tax, [minor units] of the currency. revenue : owed, net. labour, parts : lines of the standing quote. due : gross,
    still to be paid."""

    currency: str
    revenue: int
    labour: int
    parts: int
    due: int


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """One closed call.

    ended : how, one of the endings. opened_at, ended_at : moments. days : watched since, until the callback if there was one.
    called_back : with the same complaint, within whatever time was watched. stated : cause -> odds before the first repair.
    causes : what was found. checks : (check, answer or value, spell of readings it belongs to). repairs : (fault, minutes).
    parts : (part, fault, count). visits, minutes : on site. asked : seconds on the phone. quoted, refused : of quotes.
    callback_of : the call it came back from, or "". first : the first repair; None when there is none, or nothing follows of it.
    """

    call: str
    family: str
    market: str
    complaint: str
    age: float | None
    circumstances: tuple[str, ...]
    denied: tuple[str, ...]
    ended: str
    opened_at: str
    ended_at: str
    days: float
    called_back: bool
    stated: Mapping[str, float]
    causes: tuple[Found, ...]
    checks: tuple[tuple[str, str | float, int], ...]
    repairs: tuple[tuple[str, float | None], ...]
    parts: tuple[tuple[str, str, int], ...]
    visits: int
    minutes: float
    asked: float
    money: Money
    quoted: bool
    refused: bool
    callback_of: str
    first: First | None = None

    @property
    def named(self) -> tuple[str, float] | None:
        """The likeliest cause as stated, and its odds; None when none were kept."""
        return max(self.stated.items(), key=lambda item: (item[1], item[0]), default=None)

    @property
    def proven(self) -> str | None:
        """The one cause that was proven, None when there is none or more than one."""
        causes = {found.cause for found in self.causes if found.how == "proven"}
        return causes.pop() if len(causes) == 1 else None


@dataclass(frozen=True)
class Watch:
    """What came after a call. until : the moment up to which callbacks were looked for. back : moment of the first one with the
    same complaint, or ""."""

    until: str
    back: str = ""


def closed(
    state: CallState,
    watch: Watch,
    *,
    stated: Mapping[str, float],
    proof: Mapping[str, float] | None = None,
    lift: float = 0.0,
) -> Outcome:
    """The record of a closed call.

    stated : cause -> odds before the first repair, "nothing wrong" included; they are computed elsewhere.
    proof : fault -> chance that it was the cause, from the readings after its repair; without it the odds stated before count.
    lift : logarithm of how much likelier test and readings after the first repair are when it cured; 0 when nothing was found.

    HistoryError when the call is not opened and ended.
    """
    opened, ended = state.opened, state.ended
    if opened is None or ended is None:
        raise HistoryError(
            seen=f"call {state.call!r}, {'not ended' if opened else 'without an opening'}",
            allowed="a call that was opened and has ended",
            do="close the call first",
        )
    # Field by field and by hand: nothing gets in that is not named here
    sites = on_site(state)
    job, body = state.job, opened.body
    return Outcome(
        call=state.call, family=body.family, market=body.market, complaint=body.complaint, age=body.age,
        circumstances=state.circumstances, denied=state.denied, ended=ended.body.as_,
        opened_at=opened.at, ended_at=ended.at,
        days=max(days_between(ended.at, watch.back or watch.until), 0.0), called_back=bool(watch.back),
        stated=dict(stated), causes=_causes(state, stated, proof or {}), checks=_checks(state),
        repairs=repair_minutes(state),
        parts=tuple((use.body.part, use.body.fault, use.body.count) for use in job.used),
        visits=len(sites), minutes=sum(sites), asked=sum(answer.body.seconds for answer in job.answers),
        money=_money(state), quoted=bool(job.quotes),
        refused=job.word is not None and isinstance(job.word.body, ConsentRefused),
        callback_of=job.callback.body.earlier if job.callback else "", first=_first(state, stated, lift),
    )  # fmt: skip


def callbacks(states: Iterable[CallState]) -> dict[str, str]:
    """Earlier call -> moment of its first callback with the same complaint, of those that are calls here."""
    known = {state.call: state for state in states}
    found: dict[str, str] = {}
    for state in known.values():
        link, opened = state.job.callback, state.opened
        # A link to a call that is not here is kept in its own call, and counted nowhere
        earlier = known.get(link.body.earlier) if link else None
        # Another complaint is weaker evidence, and is left out
        if earlier and earlier.opened and opened and opened.body.complaint == earlier.opened.body.complaint:
            at = found.get(earlier.call, opened.at)
            found[earlier.call] = min(at, opened.at)
    return found


def weights(outcome: Outcome, rates: CallbackRates = USUAL) -> dict[str, float]:
    """Cause -> weight with which the call counts for it: the chance that it was so, after what was watched since.

    Always below 1 unless the proof left no doubt at all.
    """
    # One that came later than the window shows a window that was quiet
    back = outcome.called_back and outcome.days <= rates.window
    return {
        found.cause: right_after(found.chance, called_back=back, days=outcome.days, rates=rates)
        for found in outcome.causes
    }


def days_between(first: str, last: str) -> float:
    """Days from one moment to another, [day].

    >>> days_between("2026-11-01T00:00:00.000Z", "2026-11-02T12:00:00.000Z")
    1.5
    """
    return (datetime.fromisoformat(last) - datetime.fromisoformat(first)).total_seconds() / SECONDS_A_DAY


def _causes(state: CallState, stated: Mapping[str, float], proof: Mapping[str, float]) -> tuple[Found, ...]:
    # Refused, stopped and handed over found nothing that can be counted, unless something was repaired first
    ending = state.ended.body.as_ if state.ended else ""
    if ending == "nothing wrong":
        return (Found(NOTHING, "unproven", stated.get(NOTHING, 0.0)),)
    faults = tuple(dict.fromkeys(repair.body.fault for repair in state.repairs))
    # Only what the readings after the repair speak for is proven
    return tuple(
        Found(fault, "proven", proof[fault])
        if ending == "proven" and fault in proof
        else Found(fault, "unproven", stated.get(fault, 0.0))
        for fault in faults
    )


def _first(state: CallState, stated: Mapping[str, float], lift: float) -> First | None:
    """The first repair; of two at once nobody knows which cured, and one that worked before another was made tells nothing."""
    repaired = stages(state)[1:]
    if not repaired or len(repaired[0].repaired) != 1 or (len(repaired) > 1 and repaired[0].works):
        return None
    fault = repaired[0].repaired[0]
    is_failed = len(repaired) > 1 or repaired[0].works is False
    return First(fault, stated.get(fault, 0.0), FAILED if is_failed else lift)


def _checks(state: CallState) -> tuple[tuple[str, str | float, int], ...]:
    return tuple(
        (reading.body.check, said, spell)
        for spell, readings in enumerate(state.spells)
        for reading in readings
        for said in (reading.body.answer, reading.body.value)
        # Every reading has one of the two
        if said is not None
    )


def _money(state: CallState) -> Money:
    job = state.job
    quote = newest(job)
    gross = owed(job)
    if quote is None or not gross:
        return Money(currency(job), gross, 0, 0, due(job))
    body = quote.body
    # What is owed may differ from the quote (a refusal, an older consent); its tax is taken in proportion
    revenue = round(gross * body.net / body.gross) if body.gross else 0
    # The call-out is work too
    labour, parts = (
        sum(line.net for line in body.lines if line.kind in kinds)
        for kinds in (("labour", "call-out"), ("part",))
    )
    is_whole = gross == body.gross
    return Money(currency(job), revenue, labour if is_whole else revenue, parts if is_whole else 0, due(job))
