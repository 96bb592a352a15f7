"""Closed calls to weighted counts: causes by complaint and circumstances, returns by repair, minutes by repair.

This is what an engine will count in tables; here it is counted from records, and says what the tables must agree with.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

import numpy as np

from tundish.appliance.records import Description
from tundish.history.cells import Counted, counted_causes
from tundish.history.noisy import USUAL, CallbackRates, Returns, binned, gain
from tundish.history.outcome import Outcome, weights
from tundish.history.posterior import Floats
from tundish.history.tables import BETWEEN


def causes_of(
    outcomes: Iterable[Outcome], description: Description, rates: CallbackRates = USUAL
) -> dict[str, Counted]:
    """Complaint -> its weighted counts. Calls of other families, and of complaints no longer there, are left out."""
    # The same counting as of an engine's rows, one row a call
    return counted_causes(
        (
            {
                "family": outcome.family, "complaint": outcome.complaint, "age": outcome.age,
                "told": BETWEEN.join(sorted(set(outcome.circumstances))), "cause": cause, "weight": weight,
            }
            for outcome in outcomes
            for cause, weight in weights(outcome, rates).items()
        ),
        description,
    )  # fmt: skip


def returns_of(outcomes: Iterable[Outcome], family: str, rates: CallbackRates = USUAL) -> dict[str, Returns]:
    """Fault -> how its repairs held: the first repair of every call, where it stands alone."""
    found: dict[str, list[float]] = defaultdict(list)
    for outcome in outcomes:
        first = outcome.first
        if outcome.family == family and first is not None:
            # One that came later than the window was quiet in it
            back = outcome.called_back and outcome.days <= rates.window
            found[first.fault].append(
                float(gain(first.before, first.lift, called_back=back, days=outcome.days, rates=rates))
            )
    return {fault: binned(np.array(gains)) for fault, gains in sorted(found.items())}


def minutes_of(outcomes: Iterable[Outcome], family: str) -> dict[str, Floats]:
    """Fault -> (n,) minutes of its repairs, those that were measured."""
    found: dict[str, list[float]] = defaultdict(list)
    for outcome in outcomes:
        for fault, minutes in outcome.repairs if outcome.family == family else ():
            if minutes:
                found[fault].append(minutes)
    return {fault: np.array(minutes) for fault, minutes in sorted(found.items())}
