"""The customer's word on the newest quote, and money that comes in, as events of a call."""

from __future__ import annotations

from tundish.call import agreed
from tundish.call.amounts import spoken
from tundish.call.deals import ConsentGiven, ConsentRefused, Paid
from tundish.call.errors import MoveError
from tundish.call.fact import Fact
from tundish.call.fold import CallState
from tundish.call.quotes import Quoted
from tundish.prices.money import Money
from tundish.prices.settings import Settings

# Paid in full, whatever is due.
ALL = "all"


def consent_to(state: CallState, settings: Settings, *, name: str, how: str) -> ConsentGiven:
    """The consent to the newest quote at its price, with the shop's rule on over-runs. MoveError without a quote."""
    quote = _newest(state, "a consent")
    body = quote.body
    # The share is kept with the consent, so that later settings do not change what was agreed
    return ConsentGiven(quote.event, name, body.gross, body.currency, how, over_run=float(settings.over_run))


def refusal_of(state: CallState, *, minor: int | None, why: str) -> ConsentRefused:
    """The refusal of the newest quote. minor : what is owed all the same; as the quote said if None. MoveError without a quote."""
    quote = _newest(state, "a refusal")
    return ConsentRefused(
        _owed(state, quote.body) if minor is None else minor, quote.body.currency, quote.event, why
    )


def payment_of(state: CallState, typed: str, *, currency: str, means: str) -> Paid:
    """A payment. typed : decimal text, or "all" for what is due. currency : of the shop, where nothing is owed yet.

    PriceError for text that is no sum, MoveError where all is paid already.
    """
    owed_in = agreed.currency(state.job) or currency
    if typed.strip().casefold() != ALL:
        return Paid(_minor(typed, owed_in), owed_in, means)
    due = agreed.due(state.job)
    if due <= 0:
        raise MoveError(
            seen=f"a payment of all that is due, which is {spoken(due, owed_in)}",
            allowed="a payment while something is due",
            do="leave it; see what is owed with: tundish close CALL",
        )
    return Paid(due, owed_in, means)


def sum_of(typed: str, currency: str) -> Money:
    """A sum as people type it: a point or a comma, the currency behind it or not. PriceError for anything else.

    >>> sum_of("92,50", "EUR").minor, sum_of("120 EUR", "EUR").minor
    (9250, 12000)
    """
    return Money(_minor(typed, currency), currency)


def _minor(typed: str, currency: str) -> int:
    bare = typed.strip().removesuffix(currency).strip()
    # A comma before three digits reads in two ways, and is left for Money to refuse
    whole, comma, part = bare.partition(",")
    return Money.of(f"{whole}.{part}" if comma and len(part) < 3 else bare, currency).minor


def _owed(state: CallState, quote: Quoted) -> int:
    # Who refuses a second price still owes what was done at the first one
    worked = state.repairs or state.job.used
    return max(quote.owed_if_refused, agreed.owed(state.job)) if worked else quote.owed_if_refused


def _newest(state: CallState, what: str) -> Fact[Quoted]:
    quote = agreed.newest(state.job)
    if quote is None:
        raise MoveError(
            seen=f"{what} before any quote",
            allowed="the customer's word on a quote",
            do="quote first: tundish quote CALL --give",
        )
    return quote
