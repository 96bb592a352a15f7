"""The readings of a call as the odds take them."""

from __future__ import annotations

from dataclasses import dataclass

from tundish.call.fold import CallState, Readings
from tundish.diagnosis.reading import NOT_THERE, Reading


def for_odds(readings: Readings) -> tuple[Reading, ...]:
    """Readings of a call, in their order, without who, when and how they were typed; none of what was not there."""
    return tuple(
        Reading(fact.body.check, fact.body.value, fact.body.answer, fact.body.bound)
        for fact in readings
        if fact.body.answer != NOT_THERE
    )


def lacking(state: CallState) -> frozenset[str]:
    """Checks that could not be done because the machine has not what they need; a repair does not change that."""
    return frozenset(
        fact.body.check for spell in state.spells for fact in spell if fact.body.answer == NOT_THERE
    )


@dataclass(frozen=True)
class Stage:
    """What was repaired, and what was found after it.

    repaired : faults; none before the first repair. readings : taken after it. works : whether the machine worked at
    the test, None when it was not tried.
    """

    repaired: tuple[str, ...]
    readings: tuple[Reading, ...]
    works: bool | None = None


def stages(state: CallState) -> tuple[Stage, ...]:
    """A call cut at its repairs; repairs with nothing found between them are one.

    The same repair done again is a stage of its own: a second try has its own chance. The first stage is that before any
    repair, and there even when nothing was read in it.
    """
    found = [Stage((), for_odds(state.spells[0]))]
    faults: list[str] = []
    for number, repair in enumerate(state.repairs, start=1):
        if repair.body.fault in faults:
            found.append(Stage(tuple(faults), ()))
            faults = []
        faults.append(repair.body.fault)
        spell, test = for_odds(state.spells[number]), state.tested[number]
        # The last spell stands even while it is empty: its repairs have been made
        if spell or test is not None or number == len(state.repairs):
            found.append(Stage(tuple(faults), spell, None if test is None else test.body.works))
            faults = []
    return tuple(found)
