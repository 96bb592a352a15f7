"""`tundish settings` as a shop uses it, in a folder of its own."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from conftest import FEW, WASHER

from tundish.plan.shop import Shop

Run = Callable[..., str]


@pytest.fixture
def facts(run: Run) -> Callable[..., dict[str, Any]]:
    """Runs `settings` and gives its facts, settings by key."""

    def asked(*words: str) -> dict[str, Any]:
        page: dict[str, Any] = json.loads(run("settings", *words, "--json"))
        return {**page, "by_key": {row["key"]: row for row in page["settings"]}}

    return asked


def test_before_anything_is_set_all_is_usual_and_no_file_is_made(run: Run, tmp_path: Path) -> None:
    page = json.loads(run("settings", "--json"))
    assert page["currency_chosen"] is False and not (tmp_path / "data").exists()
    labour = next(row for row in page["settings"] if row["key"] == "labour")
    assert (labour["shows"], labour["unit"], labour["value"]) == ("85.00", "EUR/h", 8500)
    assert labour["source"].startswith("common practice, no source")
    assert "85.00" in run("settings")


def test_one_is_set_shown_and_put_back(run: Run, facts: Callable[..., dict[str, Any]]) -> None:
    assert "set the currency, then the sums" in run("settings", "labour", "90", code=2)
    run("settings", "currency", "EUR")
    row = facts("labour", "92,50", "--source", "price list of May")["by_key"]["labour"]
    assert (row["value"], row["shows"], row["source"]) == (9250, "92.50", "price list of May")
    assert list(facts("labour")["by_key"]) == ["labour"]
    assert facts("letterhead", "1 Kettle Row", "Anytown")["by_key"]["letterhead"]["value"] == [
        "1 Kettle Row", "Anytown",
    ]  # fmt: skip
    assert facts("replacement.dishwasher", "480 EUR")["by_key"]["replacement.dishwasher"]["value"] == 48000
    assert facts("labour", "--usual")["by_key"]["labour"]["value"] == 8500


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (["labuor", "90"], "saw setting 'labuor'"),
        (["labuor"], "saw setting 'labuor'"),
        (["paper", "A5"], "the setting paper = 'A5'; allowed: A4 or Letter"),
        (["name", "x", "--usual"], "saw VALUE with --usual"),
        (["name", "--import", "x.csv"], "saw NAME with --import"),
        (["name", "--usual"], "saw setting 'name'"),
        (["--usual"], "saw --usual without NAME"),
        (["--import", "none.csv"], "No such file"),
        (["--export", "x.pdf"], "allowed: .csv or .json"),
    ],
)
def test_what_cannot_be_done_says_so_with_exit_code_2(run: Run, words: list[str], expected: str) -> None:
    assert expected in run("settings", *words, code=2)


def test_export_and_import(run: Run, facts: Callable[..., dict[str, Any]], tmp_path: Path) -> None:
    run("settings", "currency", "USD")
    run("settings", "labour", "120")
    run("settings", "name", '=HYPERLINK("x")')
    before = facts()["by_key"]
    for end in ("csv", "json"):
        out = str(tmp_path / f"s.{end}")
        run("settings", "--export", out)
        (tmp_path / "data" / "settings.json").unlink()
        assert facts("--import", out)["by_key"] == before
    assert "\"'=HYPERLINK" in (tmp_path / "s.csv").read_text()


def test_a_broken_file_is_told_kept_and_replaced_by_an_import(run: Run, tmp_path: Path) -> None:
    run("settings", "currency", "EUR")
    run("settings", "--export", str(tmp_path / "s.csv"))
    (tmp_path / "data" / "settings.json").write_text("{oops")
    for words in (["settings"], ["settings", "name", "x"]):
        told = run(*words, code=2)
        assert "line 1, column 2" in told and "--import FILE keeps the broken file" in told
    assert "it is kept as" in run("settings", "--import", str(tmp_path / "s.csv"))
    assert (tmp_path / "data" / "settings.broken-1.json").read_text() == "{oops"
    run("settings")


def test_the_planner_reckons_with_them(run: Run) -> None:
    run("open", WASHER, "--complaint", "SLOW", "--market", "EU", "--name", "smith", *FEW)
    usual = json.loads(run("next", "smith", "--json", *FEW))
    run("settings", "currency", "EUR")
    same = json.loads(run("next", "smith", "--json", *FEW))
    run("settings", "labour", "200")
    dearer = json.loads(run("next", "smith", "--json", *FEW))
    assert same == usual
    assert dearer["action"]["promise"] > usual["action"]["promise"]
    run("settings", "labour", "--usual")
    run("settings", "currency", "USD")
    told = run("next", "smith", *FEW, code=2)
    assert "settings in USD for the market" in told


def test_who_is_qualified_for_the_shop_is_so_for_every_verb(run: Run) -> None:
    run("open", WASHER, "--complaint", "SLOW", "--market", "EU", "--name", "smith", *FEW)
    run("do", "smith", "pull the plug")
    trained = {step["step"] for step in json.loads(run("state", "smith", "--json"))["open"]}
    flagged = {step["step"] for step in json.loads(run("state", "smith", "--qualified", "--json"))["open"]}
    run("settings", "qualified", "yes")
    assert {step["step"] for step in json.loads(run("state", "smith", "--json"))["open"]} == flagged
    assert trained <= flagged


def test_a_broken_file_does_not_keep_anybody_from_recording(run: Run, tmp_path: Path) -> None:
    run("open", WASHER, "--complaint", "SLOW", "--market", "EU", "--name", "smith", *FEW)
    (tmp_path / "data" / "settings.json").write_text("{oops")
    told = run("do", "smith", "pull the plug")
    assert "taken as not qualified" in told and "line 1, column 2" in told
    # What needs the shop's sums is refused
    assert "line 1, column 2" in run("next", "smith", *FEW, code=2)


def test_a_trial_reckons_with_them(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def shown(place: object, complaint: str, shop: Shop, **rest: object) -> None:
        raise ValueError(f"a call-out of {shop.call_out}")

    # What a trial makes of its shop is tested elsewhere, and takes long
    monkeypatch.setattr("tundish.cli.trial.bench", shown)
    run("settings", "currency", "EUR")
    run("settings", "call_out", "58")
    assert "a call-out of 58.0" in run("trial", WASHER, "--complaint", "SLOW", code=2)
