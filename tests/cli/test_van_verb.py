"""`tundish van`: the load of a day, against the parts on the van, and what is refused."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest
from conftest import FEW, WASHER

Run = Callable[..., str]
DAY = "2099-03-14"


@pytest.fixture
def day(run: Run) -> Run:
    """Two calls booked for one day, and one that is not."""
    for name, complaint in (("smith", "SLOW"), ("jones", "LEAK"), ("brown", "SLOW")):
        run("open", WASHER, "--complaint", complaint, "--age", "9", "--name", name, *FEW)
    for name in ("smith", "jones"):
        run("book", name, DAY, "--name", name)
    return run


def load(run: Run, *words: str) -> dict[str, Any]:
    """The facts of a day."""
    found: dict[str, Any] = json.loads(run("van", *words, *FEW, "--json"))
    return found


def test_the_calls_of_the_day_are_those_booked_for_it(day: Run) -> None:
    page = load(day, "--day", DAY)
    assert [call["name"] for call in page["calls"]] == ["smith", "jones"] and page["day"] == DAY
    assert [call["name"] for call in load(day, "brown", "smith")["calls"]] == ["brown", "smith"]


def test_each_part_saves_something_and_the_load_beats_an_empty_van(day: Run) -> None:
    page = load(day, "--day", DAY)
    saves = [row["saves"] for row in page["load"]]
    assert saves == sorted(saves, reverse=True) and min(saves) > 0
    # Nothing is on the van yet, so all must be fetched, and the day would cost more without
    assert all(row["on_van"] == 0 and row["fetch"] == row["pieces"] for row in page["load"])
    assert page["cost"] < page["with_stock_as_it_is"]["cost"] and page["fill"] > page["with_stock_as_it_is"]["fill"]
    # What a part saves is at most what the whole load saves
    assert saves[0] <= page["with_stock_as_it_is"]["cost"] - page["cost"] + 1e-9
    assert {(order["part"], order["pieces"]) for order in page["order_now"]} == {(r["part"], r["pieces"]) for r in page["load"]}


def test_what_is_on_the_van_is_neither_fetched_nor_ordered(day: Run) -> None:
    first = load(day, "--day", DAY)
    part = first["load"][0]["part"]
    day("stock", "receive", part, "5")
    page = load(day, "--day", DAY)
    row = page["load"][0]
    assert (row["part"], row["on_van"], row["fetch"]) == (part, 5, 0)
    assert part not in {order["part"] for order in page["order_now"]}
    assert page["with_stock_as_it_is"]["cost"] < first["with_stock_as_it_is"]["cost"]
    assert page["cost"] == pytest.approx(first["cost"])


def test_room_for_one_means_one_of_two(day: Run) -> None:
    page = load(day, "--day", DAY, "--space", "1")
    assert sum(row["pieces"] for row in page["load"]) == 1
    two = page["one_of_two"]
    assert two["take"] == page["load"][0]["part"] and two["wrong_costs"] >= 0
    assert min(two["cost_first"], two["cost_second"]) <= two["cost_neither"]
    said = day("van", "--day", DAY, "--space", "1", *FEW)
    assert f"One of two: {two['take']}" in said and "2 calls" in said


@pytest.mark.parametrize(("words", "cure"), [
    (("--day", "2098-01-01"), "tundish book"), (("nobody",), "first letters"), (("--day", "soon"), "%Y-%m-%d"),
])  # fmt: skip
def test_a_day_that_cannot_be_is_refused(day: Run, words: tuple[str, ...], cure: str) -> None:
    assert cure in day("van", *words, *FEW, code=2)


def test_an_ended_call_needs_no_parts(day: Run) -> None:
    day("do", "brown", "end stopped", "--because", "called off")
    assert "undo the ending" in day("van", "brown", *FEW, code=2)


def test_two_currencies_are_planned_apart(day: Run) -> None:
    day("open", WASHER, "--market", "NA", "--complaint", "SLOW", "--name", "miller", *FEW)
    assert "plan them apart" in day("van", "smith", "miller", *FEW, code=2)
