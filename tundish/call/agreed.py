"""What the customer agreed to, what the work may cost, and what is due. All of it from events, in whole minor units.

The newest quote is what the job costs now. The customer's last word is on one quote and its amount: it covers the
causes of that quote, and a newer quote as long as it costs no more than the share by which the bill may grow.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from tundish.call.amounts import spoken
from tundish.call.corrections import Problem
from tundish.call.deals import ConsentGiven, ConsentRefused
from tundish.call.fact import Fact
from tundish.call.job import Job
from tundish.call.quotes import Quoted

# A consent's moment is kept in UTC, a quote's last day is that of the place: a day of grace covers every place.
GRACE = 1


def newest(job: Job) -> Fact[Quoted] | None:
    """The quote that stands; the ones before it were replaced by it."""
    return job.quotes[-1] if job.quotes else None


def quote_of(job: Job, event: str) -> Fact[Quoted] | None:
    """The quote of an event id, None when it was withdrawn or is not here."""
    return next((quote for quote in job.quotes if quote.event == event), None)


def consent(job: Job) -> ConsentGiven | None:
    """The consent that stands: the last word, given in time, to a quote that is still there."""
    word = job.word
    if word is None or not isinstance(word.body, ConsentGiven):
        return None
    quote = quote_of(job, word.body.quote)
    if quote is None or _late(word.at, quote.body) or quote.body.currency != word.body.currency:
        return None
    return word.body


def ceiling(given: ConsentGiven) -> int:
    """The most a bill may come to without asking again, [minor units], rounded down.

    >>> ceiling(ConsentGiven("019ab697-e802-7000-8000-000000000000", "A", 9999, "EUR", "spoken", over_run=0.15))
    11498
    """
    # A decimal, because 0.15 as a float is a little less
    return given.minor + int(given.minor * Decimal(repr(given.over_run)))


def over_run(job: Job) -> int:
    """How much more the newest quote asks for than was agreed, [minor units]; below nought when it asks for less."""
    given, quote = consent(job), newest(job)
    return quote.body.gross - given.minor if given and quote and quote.body.currency == given.currency else 0


def covers(job: Job, fault: str) -> bool:
    """Whether the standing consent covers a cause, whatever the amount."""
    given = consent(job)
    quote = quote_of(job, given.quote) if given else None
    return quote is not None and fault in quote.body.faults


def within(job: Job) -> bool:
    """Whether the newest quote costs no more than the standing consent allows."""
    given, quote = consent(job), newest(job)
    return bool(
        given and quote and quote.body.currency == given.currency and quote.body.gross <= ceiling(given)
    )


def owed(job: Job) -> int:
    """What the customer owes in all, [minor units]: by his refusal, or by the newest quote that his consent allows."""
    word, given, quote = job.word, consent(job), newest(job)
    if word is not None and isinstance(word.body, ConsentRefused):
        return word.body.owed
    if given is None:
        return 0
    return quote.body.gross if quote and within(job) else given.minor


def currency(job: Job) -> str:
    """The currency of what is owed; "" while nothing was agreed or refused."""
    return "" if job.word is None else job.word.body.currency


def paid(job: Job) -> int:
    """What was paid in the currency of what is owed, [minor units]."""
    return sum(fact.body.minor for fact in job.payments if fact.body.currency == currency(job))


def due(job: Job) -> int:
    """What is still to be paid, [minor units]; below nought when too much was paid."""
    return owed(job) - paid(job)


def troubles(job: Job) -> Iterator[Problem]:
    """What does not agree once the events of all devices are together."""
    for fact in job.payments:
        if fact.body.currency != currency(job):
            yield Problem(
                fact.event, f"a payment in {fact.body.currency}", "withdraw it, or say what is owed in it"
            )
    if due(job) < 0 and job.payments:
        more = spoken(-due(job), currency(job))
        yield Problem(
            job.payments[-1].event,
            f"{more} paid more than is owed",
            "pay it back, or withdraw what was recorded twice",
        )
    # Calls kept without any quote are kept without consent too
    for event in job.unagreed if job.quotes else ():
        yield Problem(event, "work on a cause that no consent covered", "quote it, and ask for consent")
    for event in job.unheld:
        yield Problem(event, "a part used that was not in hand", "record that it was taken")
    odd = odd_consent(job)
    if odd is not None:
        yield odd


def odd_consent(job: Job) -> Problem | None:
    """Why the last consent does not stand, or says another amount than its quote; None when it is sound."""
    word = job.word
    if word is None or not isinstance(word.body, ConsentGiven):
        return None
    quote, given = quote_of(job, word.body.quote), word.body
    if quote is None:
        seen = f"a consent to quote {given.quote}, which is not here"
    elif _late(word.at, quote.body):
        seen = f"a consent to a quote that held until {quote.body.valid_until}"
    elif (quote.body.gross, quote.body.currency) != (given.minor, given.currency):
        asked = spoken(quote.body.gross, quote.body.currency)
        seen = f"a consent to {spoken(given.minor, given.currency)} on a quote of {asked}"
    else:
        return None
    return Problem(word.event, seen, "quote anew, and ask again")


def _late(at: str, quote: Quoted) -> bool:
    # Counted in days, which unlike dates have no end
    given, until = date.fromisoformat(at[:10]), date.fromisoformat(quote.valid_until)
    return given.toordinal() > until.toordinal() + GRACE
