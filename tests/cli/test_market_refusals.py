"""What makes no sense in a market is refused with what can be had there."""

from __future__ import annotations

import json

import pytest
from conftest import FEW, Run


@pytest.mark.parametrize(
    ("market", "complaint", "lacks", "offered"),
    [("EU", "NOHEAT240", "mains split", "NOHEAT230"), ("NA", "noheat230", "mains single", "NOHEAT240")],
)
def test_a_complaint_of_the_other_supply(run: Run, market: str, complaint: str, lacks: str, offered: str) -> None:
    message = run("open", "dryer", "--complaint", complaint, "--market", market, *FEW, code=2)
    assert all(word in message for word in (complaint.upper(), f"market {market}", lacks, offered))


def test_a_check_of_two_legs_on_one(run: Run) -> None:
    opened = run("open", "dryer", "--complaint", "NOISE", "--market", "EU", *FEW, "--json")
    call = json.loads(opened)["call"]
    for check, value in (("C1.legs", "240 V"), ("C7.plug", "120 V")):
        message = run("reading", call, check, *value.split(), *FEW, code=2)
        assert check in message and "market EU" in message and "handbook" in message
    # Nothing was written down.
    assert len(json.loads(run("odds", call, *FEW, "--json"))["readings"]) == 0
    assert "market EU" in run("expect", call, "C1.legs", *FEW, code=2)
    expected = {row["check"] for row in json.loads(run("expect", call, *FEW, "--json"))}
    assert "C1.1n" in expected and "C1.legs" not in expected


def test_a_handbook_holds_what_its_market_has(run: Run) -> None:
    shown = {
        market: {row["check"] for row in json.loads(run("handbook", "dryer", "--market", market, "--json"))["checks"]}
        for market in ("EU", "NA")
    }
    assert shown["NA"] - shown["EU"] >= {"C1.legs", "C3.L2", "C7.plug"}
    assert shown["EU"] - shown["NA"] == {"C3.meter"}
