"""Below a danger nothing goes on over the server either: whatever the route, the guard of the verbs is asked."""

from __future__ import annotations

from typing import Any

import pytest
from bench_maker import Browser

WORK: dict[str, dict[str, Any]] = {
    "step done": {"fault": "S04", "step": "clean the screen", "caution": "", "seen": True},
    "part used": {"part": "any: inlet screen", "fault": "S04", "count": 1},
    "repair done": {"fault": "S04", "note": ""},
    "tested": {"works": True, "note": ""},
    "part ordered": {"fault": "S04", "note": ""},
    "state claimed": {"step": "open LOWER", "proof": "screws out", "who": "trained"},
}
ENDINGS = ("proven", "nothing wrong", "replaced")


@pytest.fixture
def shocked(home: Browser, call: str) -> str:
    """A call whose customer told of a shock."""
    answer = {"question": "danger", "answer": "shock", "seconds": 5.0}
    home.tell(f"/api/calls/{call}/record", {"kind": "question answered", "body": answer}, 201)
    return call


def refused(home: Browser, call: str, kind: str, body: dict[str, Any]) -> dict[str, str]:
    before = home.get(f"/api/calls/{call}/events").json()["events"]
    error: dict[str, str] = home.tell(f"/api/calls/{call}/record", {"kind": kind, "body": body}, 409)["error"]
    assert home.get(f"/api/calls/{call}/events").json()["events"] == before
    return error


@pytest.mark.parametrize("kind", WORK)
def test_no_work_is_recorded_below_a_danger(home: Browser, shocked: str, kind: str) -> None:
    error = refused(home, shocked, kind, WORK[kind])
    assert "shock" in error["seen"] and "hand over to" in error["do"]


@pytest.mark.parametrize("as_", ENDINGS)
def test_no_ending_says_that_all_is_well_below_a_danger(home: Browser, shocked: str, as_: str) -> None:
    error = refused(home, shocked, "call ended", {"as_": as_, "why": ""})
    assert "shock" in error["seen"] and "stopped" in error["allowed"]


def test_the_page_of_the_state_shows_the_danger_and_bars_what_it_bars(home: Browser, call: str) -> None:
    home.tell(f"/api/calls/{call}/do", {"action": "look, smell and ask"})
    assert home.facts(f"/api/calls/{call}/safe")["facets"]["hazard"] == "none seen"
    answer = {"question": "danger", "answer": "shock", "seconds": 5.0}
    home.tell(f"/api/calls/{call}/record", {"kind": "question answered", "body": answer}, 201)
    page = home.facts(f"/api/calls/{call}/safe")
    assert page["facets"]["hazard"] == "seen"
    assert "return to use" in {step["step"] for step in page["barred"]}


def test_it_can_be_stopped_or_taken_back(home: Browser, shocked: str) -> None:
    events = home.get(f"/api/calls/{shocked}/events").json()["events"]
    answer = next(event["id"] for event in events if event["kind"] == "question answered")
    back = {"target": answer, "by": None, "why": "heard wrongly"}
    home.tell(f"/api/calls/{shocked}/record", {"kind": "corrected", "body": back}, 201)
    # Heard wrongly: what stands in the way now is the call itself and no danger
    assert "shock" not in str(refused(home, shocked, "part used", WORK["part used"]))
    home.tell(f"/api/calls/{shocked}/record", {"kind": "question answered", "body": {**events[-1]["body"]}}, 201)
    home.tell(f"/api/calls/{shocked}/record", {"kind": "call ended", "body": {"as_": "stopped", "why": "shock"}}, 201)
    assert [row["ended"] for row in home.facts("/api/calls")] == ["stopped"]
    # Undone it is open again, in the list too
    home.tell(f"/api/calls/{shocked}/do", {"action": "undo"})
    assert [row["ended"] for row in home.facts("/api/calls")] == [""]


def test_a_repair_by_record_needs_the_state_that_the_verb_asks_for(home: Browser, call: str) -> None:
    """Without a danger too: an event that is typed is no way around the safety table."""
    by_verb = home.tell(f"/api/calls/{call}/do", {"action": "S04"}, 409)["error"]
    by_event = refused(home, call, "repair done", WORK["repair done"])
    assert by_event == by_verb
    unknown = {"kind": "repair done", "body": {"fault": "S99", "note": ""}}
    assert home.tell(f"/api/calls/{call}/record", unknown, 400)["error"]["do"]
