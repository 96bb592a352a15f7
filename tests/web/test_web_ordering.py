"""A part ordered, come in, taken and taken back on the web stands in the stock, as at the command line."""

from __future__ import annotations

from typing import Any

import pytest
from bench_maker import Browser


def levels(home: Browser, part: str) -> tuple[int, int]:
    """Pieces on the van and on order."""
    for row in home.facts("/api/stock")["stock"]:
        if row["part"] == part:
            return row["on_van"], row["on_order"]
    return 0, 0


@pytest.fixture
def fitted(home: Browser, call: str) -> tuple[str, str]:
    """A cause whose repair takes a part, and the part."""
    rows: list[dict[str, Any]] = home.facts(f"/api/calls/{call}/fix?fault=F01")["repairs"]
    return "F01", rows[0]["part"]["part"]


def undo(home: Browser, call: str, kind: str) -> None:
    event = [e for e in home.facts(f"/api/calls/{call}/events")["events"] if e["kind"] == kind][-1]
    home.tell(f"/api/calls/{call}/record", {"kind": "corrected", "body": {"target": event["id"], "by": None, "why": ""}}, 201)


def test_an_order_stands_in_the_stock_comes_in_and_is_taken(home: Browser, call: str, fitted: tuple[str, str]) -> None:
    fault, part = fitted
    home.tell(f"/api/calls/{call}/do", {"action": f"order {fault}"})
    assert levels(home, part) == (0, 1)
    # A second order is refused and changes nothing
    home.tell(f"/api/calls/{call}/do", {"action": f"order {fault}"}, 409)
    assert levels(home, part) == (0, 1)
    home.tell("/api/stock", {"kind": "arrive", "part": part, "count": 1, "call": call})
    assert levels(home, part) == (1, 0)
    home.tell(f"/api/calls/{call}/do", {"action": f"take {fault}"})
    assert levels(home, part) == (1, 0)


def test_what_is_taken_while_on_order_came_in(home: Browser, call: str, fitted: tuple[str, str]) -> None:
    fault, part = fitted
    home.tell(f"/api/calls/{call}/do", {"action": f"order {fault}"})
    home.tell(f"/api/calls/{call}/do", {"action": f"take {fault}"})
    assert levels(home, part) == (1, 0)


@pytest.mark.parametrize("way", ["do", "record"])
def test_an_order_taken_back_is_no_order(way: str, home: Browser, call: str, fitted: tuple[str, str]) -> None:
    fault, part = fitted
    home.tell(f"/api/calls/{call}/do", {"action": f"order {fault}"})
    if way == "do":
        home.tell(f"/api/calls/{call}/do", {"action": "undo"})
    else:
        undo(home, call, "part ordered")
    assert levels(home, part) == (0, 0)
    # It may be ordered again
    home.tell(f"/api/calls/{call}/do", {"action": f"order {fault}"})
    assert levels(home, part) == (0, 1)
