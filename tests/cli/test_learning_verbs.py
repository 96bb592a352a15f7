"""Learning from a closed call by the command line: what moves, what is said of it, what leaves the house."""

from __future__ import annotations

import csv
import json
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

WASHER = "front-load washer"
FEW = ("--machines", "4000")


@pytest.fixture
def closed(run: Any, agree: Any) -> Any:
    """A proven call named smith: a tap that was shut, agreed to, opened and proven."""
    run("open", WASHER, "--complaint", "NOFILL", "--age", "3", "--name", "smith", *FEW)
    run("reading", "smith", "C14", "0 %", *FEW)
    agree("smith", "S01", minor=0)
    run("do", "smith", "S01", *FEW)
    run("reading", "smith", "C04", "8.3 L/min", *FEW)
    run("do", "smith", "end", "proven", *FEW)
    return run


def facts(run: Any, *words: str) -> Any:
    return json.loads(run(*words, "--json", *FEW))


def test_a_proven_call_moves_its_share_and_every_odds_page_says_so(closed: Any) -> None:
    run = closed
    shipped = run("open", WASHER, "--complaint", "NOFILL", "--name", "jones", "--json", *FEW)
    assert json.loads(shipped)["shares"] == "shares as shipped"
    # Looked at from one moment; a young call says more every day
    tried = facts(run, "learn", "--try", "--until", "2199-01-01")
    assert tried["written"] is None and facts(run, "odds", "jones")["shares"] == "shares as shipped"
    page = facts(run, "learn", "--until", "2199-01-01")
    assert page["name"] == tried["name"] and page["calls"] == 1
    (family,) = page["families"]
    moved = next(move for move in family["shares"] if move["cause"] == "S01")
    # One call of weight below 1 on top of about 50, and then some for a prior that fits
    assert 0 < moved["calls"] < 1
    assert moved["before"] < moved["after"] < moved["before"] + 1 / 50
    assert sum(move["after"] for move in family["shares"]) == pytest.approx(1)
    later = facts(run, "odds", "jones")
    assert page["name"][:8] in later["shares"]
    of = {cause["id"]: cause["chance"] for cause in later["causes"]}
    before = {cause["id"]: cause["chance"] for cause in json.loads(shipped)["causes"]}
    assert of["S01"] > before["S01"]
    assert "Begun with own shares" in run("odds", "jones", *FEW)
    run("learn", "--forget", *FEW)
    again = facts(run, "odds", "jones")
    assert again["shares"] == "shares as shipped"
    assert {cause["id"]: cause["chance"] for cause in again["causes"]} == before
    assert "no file" in run("learn", "--forget", *FEW, code=2)


def test_a_broken_or_old_file_never_stops_a_diagnosis(closed: Any, tmp_path: Path) -> None:
    run, path = closed, tmp_path / "data" / "learned.json"
    facts(run, "learn")
    for content in (b"{", path.read_bytes().replace(b'"shipped":"', b'"shipped":"0')):
        path.write_bytes(content)
        page = facts(run, "odds", "smith")
        assert page["shares"].startswith("shares as shipped; what was learned could not be used")
        assert page["causes"]


def test_honesty_and_week_of_one_call(closed: Any, tmp_path: Path) -> None:
    run, curve, weeks, sheet = closed, tmp_path / "curve.svg", tmp_path / "weeks.svg", tmp_path / "week.csv"
    page = facts(run, "honesty", "--svg", str(curve))
    assert (page["calls"], page["right"], page["alarm"]["rings"]) == (1, 1, False)
    assert [one["name"] for one in page["families"]] == [WASHER]
    # Read after the repair too, C04 is a check of the call
    assert {one["name"] for one in page["checks"]} == {"C14", "C04"}
    (band,) = page["bands"]
    assert band["found"] == 1 and band["low"] < 0.5 and band["from"] <= band["stated"] <= band["to"]
    page = facts(run, "week", "--svg", str(weeks), "--csv", str(sheet))
    figures = {one["name"]: one for one in page["figures"]}
    fixed = figures["first-visit fix"]
    assert (fixed["value"], fixed["calls"]) == (1.0, 1) and fixed["low"] < 0.25
    # A call of today cannot have been quiet for 30 days
    assert figures["callbacks in 30 days"]["value"] is None
    rows = list(csv.DictReader(sheet.read_text().splitlines()))
    assert [row["name"] for row in rows] == [one["name"] for one in page["figures"]]
    for drawing in (curve, weeks):
        root = ElementTree.parse(drawing).getroot()
        assert root.tag.endswith("svg") and "nan" not in drawing.read_text()
    assert "first-visit fix" in run("week", *FEW) and "1 proven calls" in run("honesty", *FEW)


def test_nothing_closed_and_nothing_known_are_refused_with_the_cure(run: Any) -> None:
    assert "close a call first" in run("learn", *FEW, code=2)
    assert "no call has both" in run("honesty", *FEW)
    assert "No call was closed" in run("week", *FEW)
    assert "allowed: duckdb" in run("honesty", "--engine", "abacus", *FEW, code=2)
    assert "write year, month and day" in run("week", "--until", "tomorrow", *FEW, code=2)


def test_counts_of_few_calls_do_not_leave(closed: Any, tmp_path: Path) -> None:
    run, file = closed, tmp_path / "counts.json"
    assert facts(run, "share", "export", str(file))["cells"] == 0
    assert "smith" not in file.read_text()
    assert run("share", "export", str(file), "--least", "1", *FEW, code=2)


def test_counts_of_others_come_below_ones_own(closed: Any, tmp_path: Path) -> None:
    run, file = closed, tmp_path / "counts.json"
    cell = {
        "family": WASHER, "complaint": "NOFILL", "age": None, "told": "", "cause": "S01", "calls": 400, "weight": 390.0,
    }  # fmt: skip
    gift = {"form": 1, "least": 5, "shipped": {WASHER: "0"}, "causes": [cell], "repairs": []}
    file.write_text(json.dumps(gift))
    alone = facts(run, "learn", "--try")
    assert facts(run, "share", "import", str(file))["new"]
    assert not facts(run, "share", "import", str(file))["new"]
    page = facts(run, "learn")
    assert page["shops"] == 2

    def share(found: Any) -> float:
        return next(move["after"] for move in found["families"][0]["shares"] if move["cause"] == "S01")

    assert share(page) > share(alone) + 0.1
    gift["causes"][0]["calls"] = 2
    file.write_text(json.dumps(gift))
    assert "fewer calls than 5" in run("share", "import", str(file), *FEW, code=2)


def test_a_customers_words_propose_a_class_and_open_nothing(run: Any) -> None:
    page = facts(run, "open", WASHER, "--said", "there is water on the floor")
    assert page["meant"][0]["complaint"] == "LEAK" and page["danger"] == []
    assert json.loads(run("calls", "--json")) == []
    asked = facts(run, "ask", "--family", WASHER, "--said", "it does not drain, and I smell burning")
    assert asked["meant"][0]["complaint"] == "NODRAIN" and asked["danger"] and asked["questions"]
    assert "read the likeliest back" in run("open", WASHER, "--said", "loud", *FEW)
    assert "name the class" in run("open", WASHER, "--said", "zzz", *FEW)
    assert "saw no class of complaint" in run("open", WASHER, *FEW, code=2)
    # With its class the call is opened, and the words are kept in it
    run("open", WASHER, "--complaint", "NOFILL", "--said", "no water comes in", "--name", "smith", *FEW)
    assert len(json.loads(run("calls", "--json"))) == 1
    assert json.loads(run("ask", "smith", "--json", *FEW))["complaint"] == "NOFILL"
