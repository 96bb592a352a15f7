"""Minutes on site, with their spread: the stages of every visit and the repair of each cause."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tundish.appliance.records import Description
from tundish.ask.matter import Matter
from tundish.ask.spread import TAIL, mean, quantile
from tundish.ask.tariff import together
from tundish.plan.change import Floats
from tundish.plan.remedies import HAND_OVER, HANDING, Remedy, remedies
from tundish.plan.shop import Shop
from tundish.plan.wired import EXPLAIN_MINUTES

# Minutes of the stages of a visit beside the repair. Common practice, no source.
STAGES = {
    "arrival": (3.0, 5.0),
    "making safe": (2.0, 5.0),
    "looking": (5.0, 5.0),
    "readings": (5.0, 20.0),
    "quote and consent": (3.0, 5.0),
    "proof": (5.0, 15.0),
    "write-up": (5.0, 5.0),
}
Spans = tuple[Floats, Floats]


@dataclass(frozen=True)
class OnSite:
    """Minutes on site. low, usual, high : P10, P50, P90. middle : the mean, for the day's plan. repair : mean of the repair alone."""

    low: float
    usual: float
    high: float
    middle: float
    repair: float


def minutes_on_site(call: Matter) -> OnSite:
    """How long the visit will take. An order is left out: coming back is a visit of its own."""
    return on_site(call.weight, repair_minutes(call.description, call.shop, call.kinds))


def on_site(weight: Floats, repair: Spans) -> OnSite:
    """Minutes over kinds, from what the repair of each takes at least and at most, (n,) each."""
    # Stages vary by themselves, so their spreads add up as squares do
    stages = list(STAGES.values())
    each = [together([*stages, (a, b)]) for a, b in zip(*(s.tolist() for s in repair), strict=True)]
    low, high = (np.array([m + sign * h for m, h in each]) for sign in (-1.0, 1.0))
    p10, p50, p90 = (quantile(weight, low, high, share=p) for p in (TAIL, 0.5, 1.0 - TAIL))
    return OnSite(p10, p50, p90, mean(weight, low, high), mean(weight, *repair))


def repair_minutes(description: Description, shop: Shop, kinds: Sequence[frozenset[str]]) -> Spans:
    """Least and most minutes of the repair of each kind, something not described last, (k + 1,) each."""
    spans = [_minutes(description, remedies(description, shop, kind)) for kind in kinds]
    longest = max((high for _, high in spans), default=EXPLAIN_MINUTES)
    low, high = np.array([*spans, (EXPLAIN_MINUTES, longest)]).T
    return low, high


def _minutes(description: Description, wanted: Sequence[Remedy]) -> tuple[float, float]:
    # Where nothing is wrong the customer is shown why
    if not wanted:
        return EXPLAIN_MINUTES, EXPLAIN_MINUTES
    each = [_one(description, remedy) for remedy in wanted]
    return sum(low for low, _ in each), sum(high for _, high in each)


def _one(description: Description, remedy: Remedy) -> tuple[float, float]:
    if remedy.kind == HAND_OVER:
        return HANDING, HANDING
    # One new part cures them all, in the time of the longest
    spans = [description.faults[f].minutes for f in remedy.faults]
    return max(low for low, _ in spans), max(high for _, high in spans)
