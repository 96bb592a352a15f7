"""What is still missing before the visit: address, access, who may consent, and what else may lose it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tundish.appliance.records import Description


@dataclass(frozen=True)
class Missing:
    """Something to settle before leaving. lost_trip : chance that the visit is lost, or must be made twice, without it, [-]."""

    question: str
    fact: str
    ask: str
    lost_trip: float


def missing(description: Description, complaint: str, facts: Mapping[str, str]) -> tuple[Missing, ...]:
    """The facts of a visit that are not given, likeliest to lose it first. facts : fact -> what was said; blank is not given."""
    found = [
        Missing(q.id, q.fact, q.ask, q.lost_trip)
        for q in description.questions.values()
        if q.fact and q.lost_trip > 0 and q.fits(complaint) and not facts.get(q.fact, "").strip()
    ]
    return tuple(sorted(found, key=lambda each: -each.lost_trip))
