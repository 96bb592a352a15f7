"""A call's readings for a paper: as found, after the repair, and beside what a healthy machine shows."""

from __future__ import annotations

from typing import Any

from tundish.call.doings import StateClaimed
from tundish.call.readings import for_odds, lacking
from tundish.diagnosis.reading import Reading
from tundish.documents.facts import expect_facts, reading_facts
from tundish.documents.numbers import OWN_UNIT
from tundish.documents.paper_case import Case
from tundish.plan.demands import panels_of

Facts = dict[str, Any]
# Of the words for a panel, those of the papers' own labels. Common practice, no source.
PANELS = {
    "TOP": "the lid", "BACK": "the rear panel", "FRONT": "the front panel", "TOE": "the kick panel",
    "INNER": "the inner panel of the door", "TUB": "the tub",
}  # fmt: skip


def compared(case: Case) -> list[Facts]:
    """Every check that was read, in the order of reading: before, after, healthy."""
    before, after = _as_found(case), _after(case)
    checks = list(dict.fromkeys([*before, *after]))
    healthy = {row["check"]: row["healthy"] for row in expect_facts(case.asked.found, checks, case.system)}
    titles = case.description.checks
    return [
        {
            "check": check,
            "title": titles[check].title,
            "before": _shown(case, before.get(check)),
            "after": _shown(case, after.get(check)),
            "healthy": healthy[check],
        }
        for check in checks
    ]


def not_looked_at(case: Case) -> list[str]:
    """What this call tells nothing about: panels never opened, what was never measured, checks that could not be made."""
    opened = {fact.body.step for fact in case.state.steps if isinstance(fact.body, StateClaimed)}
    shut = [PANELS.get(p, p) for p in panels_of(case.description) if f"open {p}" not in opened]
    read = {fact.body.check for spell in case.state.spells for fact in spell}
    used = {what for check, what in _measured(case) if check in read}
    idle = dict.fromkeys(what for _, what in _measured(case) if what not in used)
    return [
        *([f"Not recorded as opened: {', '.join(shut)}."] if shut else []),
        *([f"Not measured: {', '.join(idle)}."] if idle else []),
        *(f"{case.description.checks[check].title}: could not be done on this machine." for check in sorted(lacking(case.state))),
    ]


def _measured(case: Case) -> list[tuple[str, str]]:
    """Every check that needs an instrument, with what is measured."""
    known = [(c.id, c.instrument.dimension) for c in case.description.checks.values() if c.instrument is not None]
    # A share or a count names nothing that a customer would miss
    return [(check, what) for check, what in known if what not in OWN_UNIT]


def _as_found(case: Case) -> dict[str, Reading]:
    """The last reading of each check in the first spell that has one; of the last spell only if nothing was repaired."""
    spells = case.state.spells[:-1] if case.state.repairs else case.state.spells
    found: dict[str, Reading] = {}
    # What was read before the first repair tells how it was found, not what was read between two
    for spell in spells:
        found = {reading.check: reading for reading in for_odds(spell)} | found
    return found


def _after(case: Case) -> dict[str, Reading]:
    return {r.check: r for r in for_odds(case.state.readings)} if case.state.repairs else {}


def _shown(case: Case, reading: Reading | None) -> Facts | None:
    return None if reading is None else reading_facts(case.description, reading, case.system)
