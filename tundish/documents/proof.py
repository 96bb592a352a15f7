"""A proof as plain facts: the verdict, what is missing, and what each check must read, before and after side by side."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tundish.appliance.records import Check, Description
from tundish.diagnosis.expect import Expected
from tundish.diagnosis.reading import Reading
from tundish.documents.doings import UNTRACKED
from tundish.documents.facts import DEFERENCE, expect_facts, reading_facts
from tundish.documents.numbers import expected_text
from tundish.documents.words import plain, said_in
from tundish.store.counsel import Counsel
from tundish.store.proving import Verdict

Facts = dict[str, Any]


def proof_facts(asked: Counsel, found: Verdict, system: str) -> Facts:
    """Whether a repair is proven, and by what."""
    description, state = asked.found.description, asked.state
    return {
        "call": state.call,
        "state": state.safety.name if state.safety else UNTRACKED,
        "repaired": [_fault(description, f) for f in found.repaired],
        "planned": found.planned,
        "proven": found.proven,
        "verdict": "PROVEN" if found.proven else "UNPROVEN",
        "missing": list(found.missing),
        "limit": asked.shop.limit,
        "left_at_repair": found.at_repair,
        "mild": found.mild,
        "left_now": found.now,
        "read": [
            reading_facts(description, Reading(b.check, b.value, b.answer, b.bound), system)
            for b in (fact.body for fact in found.used)
        ],
        # Once it is proven nothing more has to be read
        "checks": [] if found.proven else _rows(asked, found, system),
        "advice": _advice(found),
        "left_then": found.further.left,
        "settles": found.further.proven,
        "others": [{**_fault(description, fault), "chance": chance} for fault, chance in found.others],
        "settle": [] if found.proven else [_settling(description, check) for check in found.settle],
        "left_settled": found.settled_left if found.settle else None,
        "cost": found.further.cost,
        "minutes": found.further.minutes,
        "currency": asked.shop.currency,
        "whole_proof": description.complaints[asked.found.matter.complaint].proof,
        "after": [said_in(plain(line), system) for f in found.repaired for line in description.faults[f].after],
        "deference": DEFERENCE,
    }


def _advice(found: Verdict) -> str:
    """What to do now, in one sentence."""
    if found.proven:
        return "Return it to use and end the call as proven."
    # The cheapest thing that tells of every cause at once
    if found.works is None and not found.planned:
        return f"First try it as the customer uses it, and record whether it works. {_further(found)}"
    return _further(found)


def _further(found: Verdict) -> str:
    if found.settle:
        them = "Read these, and look into what follows" if found.further.checks else "Look into what follows"
        return f"{them}: the repair seems right, and these tell whether a second, milder cause is there too."
    if not found.further.checks:
        return "No check as used would bring it within the limit: the next action tells how to go on."
    if not found.further.proven:
        return (
            "These would not be enough: another cause may be there, and the next action tells how to go on."
        )
    return (
        "Read these after the repair, in place and closed."
        if found.planned
        else "Read these, in place and closed."
    )


def _settling(description: Description, check: str) -> Facts:
    """A check that tells whether a second cause is there, in whatever state it asks for."""
    record = description.checks[check]
    return {
        "check": check,
        "title": record.title,
        "where": record.where,
        "minutes": record.minutes,
        "state": record.state,
        "cautions": list(record.cautions),
    }


def _rows(asked: Counsel, found: Verdict, system: str) -> list[Facts]:
    """The checks that would prove it: on a healthy machine, on this one as found, read then, and as it must be left."""
    names = found.further.checks
    rows = expect_facts(asked.found, names, system)
    return [_row(asked, row, found.further.predicted.get(row["check"]), system) for row in rows]


def _row(asked: Counsel, row: Facts, left: Expected | None, system: str) -> Facts:
    check = asked.found.description.checks[row["check"]]
    return {
        "check": check.id,
        "title": check.title,
        "where": check.where,
        "instrument": check.instrument.name if check.instrument else "look",
        "minutes": check.minutes,
        "how": check.step,
        "cautions": list(check.cautions),
        "healthy": row["healthy"]["says"],
        "as_found": row["now"]["says"],
        "read_then": _read(check, asked.found.readings, asked.found.description, system),
        "as_left": expected_text(check, left, system) if left else "not known",
    }


def _read(check: Check, readings: Sequence[Reading], description: Description, system: str) -> str:
    """What the check showed before the repair; empty when it was not read."""
    shown = [reading for reading in readings if reading.check == check.id]
    return str(reading_facts(description, shown[-1], system)["shows"]) if shown else ""


def _fault(description: Description, fault: str) -> Facts:
    return {"id": fault, "title": description.faults[fault].title}
