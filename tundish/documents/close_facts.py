"""The end of a call as plain facts: how it may end, the proof, what is owed, the warranty, what follows."""

from __future__ import annotations

from datetime import date
from typing import Any

from tundish.call.doings import ENDINGS, CallEnded
from tundish.call.errors import MoveError
from tundish.call.fold import CallState
from tundish.call.hazards import check_below
from tundish.call.moves import check
from tundish.documents.ask_facts import VISIT
from tundish.documents.facts import DEFERENCE
from tundish.documents.proof import proof_facts
from tundish.documents.quote_facts import agreed_facts
from tundish.prices.settings import Settings
from tundish.prices.warranty import warranty
from tundish.store.clock import day_of
from tundish.store.counsel import Counsel
from tundish.store.proving import Verdict

Facts = dict[str, Any]


def close_facts(
    asked: Counsel, verdict: Verdict | None, settings: Settings, *, system: str, today: date
) -> Facts:
    """Where the end of a call stands. verdict : on its repair, None without one. system : of units."""
    state = asked.state
    return {
        "call": state.call,
        "ended": state.ended.body.as_ if state.ended else None,
        "endings": [_ending(asked, verdict, as_) for as_ in ENDINGS] if state.ended is None else [],
        "proof": None if verdict is None else proof_facts(asked, verdict, system),
        **{name: value for name, value in agreed_facts(state, settings.zone).items() if name in MONEY},
        "parts": [{"part": u.body.part, "fault": u.body.fault, "count": u.body.count} for u in state.job.used],
        "repaired": [fact.body.fault for fact in state.repairs],
        "warranty": warranty_facts(state, settings, today),
        "follow_up": follow_up(state),
        "papers": [{"paper": p.body.paper, "sha256": p.body.sha256, "at": p.at} for p in state.job.papers],
        "problems": [{"seen": p.seen, "do": p.do} for p in state.problems],
        "deference": DEFERENCE,
    }  # fmt: skip


MONEY = ("currency", "owed", "paid", "due", "refused", "says")


def warranty_facts(state: CallState, settings: Settings, today: date) -> list[Facts]:
    """What is covered and until when, counted from the day of closing; nothing where nothing was repaired."""
    if not state.repairs:
        return []
    closed = day_of(state.ended.at, settings.zone) if state.ended else today
    clock = warranty(closed, settings)
    rows = [{"what": "Labour", "until": clock.labour_until.isoformat()}]
    # Without a part there is none to fail
    if state.job.used:
        rows.append({"what": "Parts", "until": clock.part_until.isoformat()})
    return rows


def follow_up(state: CallState) -> Facts | None:
    """The day somebody is to look again, and why; None while only the visit is booked."""
    told = state.job.follow_up
    return None if told is None or told.body.why == VISIT else {"date": told.body.date, "why": told.body.why}


def _ending(asked: Counsel, verdict: Verdict | None, as_: str) -> Facts:
    """An ending, and why the call may not end so; "" when it may."""
    state, body = asked.state, CallEnded(as_)
    try:
        check_below(asked.found.description, state, body)
        check(state, body)
    except MoveError as error:
        return {"as": as_, "why_not": f"needs {error.allowed}: {error.do}"}
    unproven = as_ == "proven" and verdict is not None and not verdict.proven
    return {"as": as_, "why_not": f"unproven: {'; '.join(verdict.missing)}" if unproven and verdict else ""}
