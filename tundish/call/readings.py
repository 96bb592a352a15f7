"""The readings of a call as the odds take them."""

from __future__ import annotations

from tundish.call.fold import Readings
from tundish.diagnosis.reading import Reading


def for_odds(readings: Readings) -> tuple[Reading, ...]:
    """Readings of a call, in their order, without who, when and how they were typed."""
    return tuple(
        Reading(fact.body.check, fact.body.value, fact.body.answer, fact.body.bound) for fact in readings
    )
