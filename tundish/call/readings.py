"""The readings of a call as the odds take them."""

from __future__ import annotations

from dataclasses import dataclass

from tundish.call.fold import CallState, Readings
from tundish.diagnosis.reading import Reading


def for_odds(readings: Readings) -> tuple[Reading, ...]:
    """Readings of a call, in their order, without who, when and how they were typed."""
    return tuple(
        Reading(fact.body.check, fact.body.value, fact.body.answer, fact.body.bound) for fact in readings
    )


@dataclass(frozen=True)
class Stage:
    """What was repaired, and what was read after it. repaired : faults; none before the first repair."""

    repaired: tuple[str, ...]
    readings: tuple[Reading, ...]


def stages(state: CallState) -> tuple[Stage, ...]:
    """A call cut at its repairs; repairs without a reading between them are one.

    The first stage is that before any repair, and there even when nothing was read in it.
    """
    found = [Stage((), for_odds(state.spells[0]))]
    faults: list[str] = []
    for number, (repair, spell) in enumerate(zip(state.repairs, state.spells[1:], strict=True), start=1):
        faults.append(repair.body.fault)
        # The last spell stands even while it is empty: its repairs have been made
        if spell or number == len(state.repairs):
            found.append(Stage(tuple(dict.fromkeys(faults)), for_odds(spell)))
            faults = []
    return tuple(found)
