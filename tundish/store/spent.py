"""What of a call is charged already: a new quote takes the place of the old one, and work done must not fall out of the bill."""

from __future__ import annotations

from decimal import Decimal

from tundish.call.agreed import consent, quote_of
from tundish.call.fold import CallState
from tundish.call.quotes import QuoteLine
from tundish.plan.remedies import remedies
from tundish.prices.money import Money
from tundish.prices.quote import repair_items
from tundish.prices.settings import Settings
from tundish.prices.tax import Item
from tundish.store.counsel import Counsel


def worked(state: CallState) -> tuple[str, ...]:
    """The causes that were repaired, or whose part went in, in a call."""
    done = (*(fact.body.fault for fact in state.repairs), *(fact.body.fault for fact in state.job.used))
    return tuple(dict.fromkeys(done))


def spent(asked: Counsel, settings: Settings) -> tuple[Item, ...]:
    """The lines of the work done under the consent that stands, without the visit; none before any work."""
    job, done = asked.state.job, worked(asked.state)
    given = consent(job)
    agreed_to = quote_of(job, given.quote) if given else None
    if not done or agreed_to is None:
        return ()
    # To the cent as agreed, when all of it was done
    if set(agreed_to.body.faults) == set(done):
        lines = [line for line in agreed_to.body.lines if line.kind != "call-out"]
        return tuple(_again(line, settings.currency) for line in lines)
    # Which line belongs to which cause is not kept, so what was done is priced anew
    remade = remedies(asked.found.description, asked.shop, done)
    return tuple(item for remedy in remade for item in repair_items(remedy, settings))


def _again(line: QuoteLine, currency: str) -> Item:
    return Item(
        kind=line.kind,
        what=line.what,
        each=Money(line.each, currency),
        quantity=Decimal(str(line.quantity)),
        unit=line.unit,
    )
