"""The packed call over the wire: the same bytes for the same events, the odds of the page, and a refusal where there is nothing to pack."""

from __future__ import annotations

import time

import pytest
from bench_maker import Browser

from tundish.diagnosis.reading import Reading
from tundish.plan.pocket_kernel import odds, opened, weigh


def fetched(home: Browser, call: str) -> bytes:
    """The pack, once it is made."""
    for _ in range(600):
        answer = home.get(f"/api/calls/{call}/pack")
        if answer.status_code != 202:
            assert answer.status_code == 200, answer.text
            assert answer.headers["content-type"] == "application/octet-stream"
            return bytes(answer.content)
        time.sleep(0.05)
    raise AssertionError("it takes too long")


def test_the_pack_tells_the_odds_of_the_page(home: Browser, call: str) -> None:
    home.tell(f"/api/calls/{call}/reading", {"check": "C05.cold", "typed": "43 psi"})
    home.tell(f"/api/calls/{call}/reading", {"check": "C04", "typed": "3.1 L/min"})
    content = fetched(home, call)
    assert len(content) < 2_000_000
    taken = [e["body"] for e in home.get(f"/api/calls/{call}/events").json()["events"] if e["kind"] == "reading taken"]
    pocket = opened(content)
    mine = odds(weigh(pocket, [Reading(b["check"], b["value"], b["answer"], b["bound"]) for b in taken]))
    theirs = home.facts(f"/api/calls/{call}/odds")
    assert mine.unknown == pytest.approx(theirs["not_described"], abs=0.02)
    for cause in theirs["causes"]:
        assert mine.causes[cause["id"]] == pytest.approx(cause["chance"], abs=0.03)
    # Readings that are taken back are weighed from the start
    home.tell(f"/api/calls/{call}/withdraw", {"check": "C04"})
    back = odds(weigh(pocket, [Reading(b["check"], b["value"], b["answer"], b["bound"]) for b in taken[:1]]))
    again = home.facts(f"/api/calls/{call}/odds")
    for cause in again["causes"]:
        assert back.causes[cause["id"]] == pytest.approx(cause["chance"], abs=0.05)


def test_the_same_events_give_the_same_bytes(home: Browser, call: str) -> None:
    first = fetched(home, call)
    home.tell(f"/api/calls/{call}/reading", {"check": "C05.cold", "typed": "43 psi"})
    home.tell(f"/api/calls/{call}/withdraw", {"check": "C05.cold"})
    assert fetched(home, call) == first


def test_a_call_without_its_opening_has_no_pack(home: Browser) -> None:
    assert home.get("/api/calls/nobody/pack").status_code in (400, 404)
