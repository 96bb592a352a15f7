"""A reading as the odds see it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

# The answer to any check that a machine may lack: it has not what the check needs.
NOT_THERE = "not there"


@dataclass(frozen=True)
class Reading:
    """What a check showed.

    check : id of the check.
    value : SI, for a reading; None for a look. Infinite when the instrument was over its range.
    answer : the answer named, for a look.
    bound : exact, above (at least this much) or below.
    """

    check: str
    value: float | None = None
    answer: str | None = None
    bound: str = "exact"


def by_check(readings: Sequence[Reading]) -> Mapping[str, tuple[Reading, ...]]:
    """Readings of the same check together, checks in order of first use: a repeated check repeats its error."""
    groups: dict[str, list[Reading]] = {}
    for reading in readings:
        groups.setdefault(reading.check, []).append(reading)
    return {check: tuple(group) for check, group in groups.items()}
