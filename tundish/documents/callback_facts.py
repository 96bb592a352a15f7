"""A callback beside the call it came back from: what did we predict, what did we prove, and whether it is covered still."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from tundish.appliance.records import Description
from tundish.call.errors import MoveError
from tundish.call.fold import CallState
from tundish.call.readings import for_odds
from tundish.documents.close_facts import warranty_facts
from tundish.documents.facts import expect_facts, odds_facts, reading_facts
from tundish.documents.proof import proof_facts
from tundish.prices.settings import Settings
from tundish.prices.warranty import warranty
from tundish.store.clock import day_of
from tundish.store.counsel import Counsel
from tundish.store.desk import Diagnosis
from tundish.store.proving import Verdict

Facts = dict[str, Any]
# Causes told of the earlier call. Our choice.
CAUSES = 4


def check_callback(now: CallState, earlier: CallState) -> None:
    """MoveError unless a call can have come back from the earlier one: of the same family, and ended."""
    if earlier.ended is None:
        raise MoveError(
            seen=f"call {earlier.call}, which is open, as the earlier call",
            allowed="an earlier call that has ended",
            do=f"go on with that call, or end it first: tundish close {earlier.call}",
        )
    families = [state.opened.body.family for state in (now, earlier) if state.opened]
    if len(set(families)) > 1:
        raise MoveError(
            seen=f"a call on a {families[0]} as a callback of one on a {families[1]}",
            allowed="an earlier call on the same machine",
            do="leave it: another machine is another job",
        )


def callback_facts(
    now: CallState, earlier: Counsel, verdict: Verdict | None, settings: Settings, *, system: str, today: date
) -> Facts:  # fmt: skip
    """The earlier call beside this one. verdict : on the earlier repair, None when nothing was repaired then."""
    state, found = earlier.state, earlier.found
    opened = now.opened
    return {
        "call": now.call,
        "complaint": opened.body.complaint if opened else "",
        "earlier": {
            "call": state.call,
            "family": found.matter.family,
            "complaint": found.matter.complaint,
            "ended": state.ended.body.as_ if state.ended else None,
            "closed": day_of(state.ended.at, settings.zone).isoformat() if state.ended else None,
            "days_since": _days(state, today, settings.zone),
        },
        "same_complaint": opened is not None and opened.body.complaint == found.matter.complaint,
        "predicted": {
            "causes": odds_facts(found, system)["causes"][:CAUSES],
            "repaired": [_fault(found.description, f.body.fault) for f in state.repairs],
            "readings": _predicted(state, found, system),
        },
        "proved": None if verdict is None else _proved(earlier, verdict, system),
        "before_it": [reading_facts(found.description, r, system) for r in for_odds(state.before)],
        "parts": [{"part": u.body.part, "fault": u.body.fault, "count": u.body.count} for u in state.job.used],
        "warranty": warranty_facts(state, settings, today),
        "covered": _covered(state, settings, today),
        "first": "Read the same checks again before anything is moved: the same fault is ours, another one is a new job.",
    }  # fmt: skip


def _predicted(state: CallState, found: Diagnosis, system: str) -> Sequence[Facts]:
    """What each check read after the repair should have shown, and what it showed."""
    repaired = tuple(dict.fromkeys(fact.body.fault for fact in state.repairs))
    shown = {r.check: reading_facts(found.description, r, system)["shows"] for r in for_odds(state.readings)}
    if not repaired or not shown:
        return []
    rows = expect_facts(found, list(shown), system, repaired)
    return [
        {
            "check": row["check"],
            "title": row["title"],
            "predicted": row["after"]["says"],
            "healthy": row["healthy"]["says"],
            "read": shown[row["check"]],
        }
        for row in rows
    ]


def _proved(earlier: Counsel, verdict: Verdict, system: str) -> Facts:
    said = proof_facts(earlier, verdict, system)
    names = ("verdict", "proven", "missing", "left_at_repair", "left_now", "limit", "read")
    return {name: said[name] for name in names}


def _covered(state: CallState, settings: Settings, today: date) -> Facts:
    """Whether labour and part are still under warranty; a part only where one was fitted."""
    if state.ended is None or not state.repairs:
        return {"labour": False, "part": False}
    clock = warranty(day_of(state.ended.at, settings.zone), settings)
    return {
        "labour": clock.covers("labour", today),
        "part": bool(state.job.used) and clock.covers("part", today),
    }


def _days(state: CallState, today: date, zone: str) -> int | None:
    return (today - day_of(state.ended.at, zone)).days if state.ended else None


def _fault(description: Description, fault: str) -> Facts:
    return {"id": fault, "title": description.faults[fault].title}
