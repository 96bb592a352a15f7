"""What was said of a call: its odds before the first repair, and after a proven one the chance that it was the cause."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

import numpy as np
from scipy.special import logit

from tundish.call.agreed import newest
from tundish.call.fold import CallState
from tundish.call.readings import stages
from tundish.plan.remedies import remedies
from tundish.population.hypotheses import NOTHING
from tundish.prices.money import Money
from tundish.prices.quote import repair_items
from tundish.prices.settings import Settings
from tundish.store.closed import Stated
from tundish.store.counsel import Asked, Counsel, counsel
from tundish.store.library import load
from tundish.store.pricing import settings_for
from tundish.store.proving import proving
from tundish.store.settings import NOTHING as NOTHING_SET
from tundish.store.settings import Own
from tundish.store.shelf import SIZE, Tell

# A few thousand simulated machines say no more than this either way, natural logarithm: our choice.
SUREST = 6.0
LEAST = 1e-6


def stated_of(
    state: CallState, folder: Path, *, size: int = SIZE, own: Own = NOTHING_SET, tell: Tell = lambda words: None
) -> Stated:
    """What the tool says of a call now, with the shares now in force. folder : where populations are kept. own : the shop's settings.

    ValueError for a call whose family, market or checks are not known here.
    """
    asked = counsel(state, folder, Asked(size=size, own=own), tell=tell)
    now = asked.found.now.odds
    odds = {**now.causes, NOTHING: now.nothing}
    proven = state.ended is not None and state.ended.body.as_ == "proven"
    repaired = stages(state)[1:]
    verdict = proving(asked) if proven or len(repaired) == 1 else None
    well = 1.0 - verdict.now if verdict else 0.0
    return Stated(
        odds,
        _proof(asked, odds, well) if proven else {},
        asked.found.whose.name,
        lift_of(1.0 - verdict.at_repair, well) if verdict and len(repaired) == 1 else 0.0,
        paid(asked, settings_for(own, asked.found.description, asked.found.matter.market)),
    )


def paid(asked: Counsel, settings: Settings) -> float | None:
    """What the shop paid for the part of a call, [currency]; from its quote, the mark-up taken off.

    None where the call used no one part that one line of the quote names, and where that line is only the tool's own estimate.
    """
    quote, used = newest(asked.state.job), {use.body.fault for use in asked.state.job.used}
    lines = [line.each for line in quote.body.lines if line.kind == "part"] if quote else []
    if quote is None or len(lines) != 1 or len(used) != 1 or quote.body.currency != settings.currency:
        return None
    estimates = [
        item.each.minor
        # A call may have been quoted before the prices now in force were learned
        for description in (asked.found.description, load(asked.found.matter.family))
        for remedy in remedies(description, asked.shop, used)
        for item in repair_items(remedy, settings)
        if item.kind == "part"
    ]
    cost = before_mark_up(Money(lines[0], settings.currency), settings)
    # To learn from what was never paid would teach the tool its own opinion
    return None if cost is None or lines[0] in estimates else cost.estimate()


def before_mark_up(price: Money, settings: Settings) -> Money | None:
    """What a part cost that is sold at a price; None in the step between cheap and dear parts, where many costs have one price.

    >>> from tundish.prices.settings_usual import usual
    >>> [before_mark_up(Money.of(p, "EUR"), usual("EUR")) for p in ("16.00", "160.00", "250.00")]
    [Money(minor=1000, currency='EUR'), None, Money(minor=20000, currency='EUR')]
    """
    step = settings.money("mark_up_from").times(settings.mark_up_cheap)
    if price == step or price.minor <= 0:
        return None
    factor = settings.mark_up_cheap if price < step else settings.mark_up_dear
    return Money.about(price.estimate() / float(factor), settings.currency)


def lift_of(before: float, after: float) -> float:
    """Logarithm of how much likelier what was found is when nothing is left, from the chance of that before and after it.

    >>> round(lift_of(0.5, 0.9), 4), lift_of(0.0, 0.5), lift_of(0.5, 1.0)
    (2.1972, 6.0, 6.0)
    """
    with np.errstate(divide="ignore"):
        return float(np.clip(logit(np.clip(after, 0, 1)) - logit(max(before, LEAST)), -SUREST, SUREST))


def _proof(asked: Counsel, odds: Mapping[str, float], well: float) -> dict[str, float]:
    """Fault of the last repair -> chance that it was the cause: that nothing is left, as the readings since say."""
    faults = stages(asked.state)[-1].repaired
    # Of faults repaired together, nobody knows which it was beyond the odds before
    whole = sum(odds.get(fault, 0.0) for fault in faults)
    even = 1.0 / max(len(faults), 1)
    return {fault: well * (odds.get(fault, 0.0) / whole if whole > 0 else even) for fault in faults}
