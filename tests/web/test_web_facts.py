"""What a page is told is what the verb of the command line prints with `--json`, for the same calls."""

from __future__ import annotations

import json
import time
from typing import Any

import pytest
from bench_maker import FEW, WASHER, Bench, Browser
from click.testing import CliRunner

from tundish.cli.main import main

MANY = ("--machines", str(FEW))


def verb(*words: str) -> Any:
    """What a verb prints as JSON."""
    result = CliRunner().invoke(main, [*words, "--json", *MANY])
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


@pytest.fixture
def read(home: Browser, call: str) -> str:
    """A call with two readings."""
    for check, typed in (("C05.cold", "43 psi"), ("C04", "3.1 L/min")):
        home.tell(f"/api/calls/{call}/reading", {"check": check, "typed": typed})
    return call


SAME = {
    "/api/calls": ("calls",),
    "/api/families": ("families",),
    "/api/calls/smith/odds": ("odds", "smith"),
    "/api/calls/smith/next": ("next", "smith"),
    "/api/calls/smith/plan?depth=2": ("plan", "smith", "--depth", "2"),
    "/api/calls/smith/why/s04": ("why", "smith", "S04"),
    "/api/calls/smith/expect?check=C03&check=C05.cold&repaired=S04": ("expect", "smith", "C03", "C05.cold", "--repaired", "S04"),
    "/api/calls/smith/odds?units=US": ("odds", "smith", "--units", "US"),
    "/api/calls/smith/state": ("state", "smith"),
    "/api/calls/smith/safe": ("state", "smith"),
    "/api/calls/smith/prove?repaired=S04": ("prove", "smith", "--repaired", "S04"),
    f"/api/handbook/{WASHER}?market=NA": ("handbook", WASHER, "--market", "NA"),
    f"/api/bench/{WASHER}?fault=S04": ("bench", WASHER, "--fault", "S04"),
    "/api/settings": ("settings",),
    "/api/stock": ("stock",),
}  # fmt: skip


@pytest.mark.parametrize("path", SAME)
def test_a_page_and_its_verb_say_the_same(home: Browser, read: str, path: str) -> None:
    assert home.facts(path) == verb(*SAME[path])


def test_one_weighing_gives_all_of_find(home: Browser, read: str) -> None:
    page = home.facts(f"/api/calls/{read}/find")
    assert page["next"] == verb("next", "smith") and page["state"] == verb("state", "smith")
    assert page["odds"] == verb("odds", "smith")


def test_what_a_page_writes_the_verb_reads_and_the_other_way_round(home: Browser, read: str) -> None:
    before = home.facts("/api/calls/smith/odds")
    verb("reading", "smith", "C03", "40", "s")
    after = home.facts("/api/calls/smith/odds")
    assert [one["check"] for one in after["readings"]] == ["C05.cold", "C04", "C03"] and after != before
    home.tell("/api/calls/smith/withdraw", {"check": "C03", "why": "wrong tap"})
    assert verb("odds", "smith")["causes"] == before["causes"]
    home.tell("/api/calls/smith/told", {"circumstance": "hard water", "denied": True})
    # A sum means nothing without its currency, and the page is told so
    home.tell("/api/settings", {"key": "labour", "value": "92.50"}, 400)
    home.tell("/api/settings", {"key": "currency", "value": "EUR"})
    home.tell("/api/settings", {"key": "labour", "value": "92.50"})
    assert verb("settings", "labour")["settings"][0]["shows"] == "92.50"


def test_money_pages_hang_together(home: Browser, read: str) -> None:
    quote = home.facts("/api/calls/smith/agree?fault=S04")
    assert [fault["id"] for fault in quote["faults"]] == ["S04"]
    assert quote["gross"] == quote["net"] + quote["tax"] == sum(line["gross"] for line in quote["lines"])
    ask = home.facts("/api/calls/smith/ask")
    assert ask["questions"] and ask["bracket"]
    fix = home.facts("/api/calls/smith/fix?fault=S04")
    assert fix["repairs"][0]["consent"] and fix["repairs"][0]["steps"]
    assert {one["as"] for one in home.facts("/api/calls/smith/close")["endings"]} >= {"proven", "unproven", "refused"}
    assert home.facts("/api/van?call=smith&day=2026-12-01")["calls"]


def test_an_illegal_move_is_refused_with_its_cure(home: Browser, call: str) -> None:
    for path, body, words in (
        ("do", {"action": "S04"}, "agree"),
        ("do", {"action": "end proven"}, ""),
        ("fit", {"fault": "S04"}, "agree"),
        ("record", {"kind": "paid", "body": {"minor": 1, "currency": "EUR", "means": "card"}}, ""),
        ("record", {"kind": "call ended", "body": {"as_": "proven", "why": ""}}, ""),
    ):
        refused = home.tell(f"/api/calls/{call}/{path}", body, 409)["error"]
        assert refused["do"] and words in refused["do"] + refused["allowed"]
    assert home.get(f"/api/calls/{call}/events").json()["events"][1:] == []


@pytest.mark.parametrize(("path", "status"), [
    ("/api/calls/nobody", 404), ("/api/calls/smith/why/S99", 400), ("/api/calls/smith/odds?units=furlong", 400),
    ("/api/calls/smith/odds?machines=1e9", 400), ("/api/calls/smith/odds?what=1", 400), ("/api/handbook/toaster", 400),
    ("/api/calls/smith/odds?units=US&units=metric", 400), ("/api/van?day=tomorrow", 400), ("/api/nothing", 404),
    ("/api/calls/smith/plan?depth=99", 400),
])  # fmt: skip
def test_a_wrong_question_is_told_what_is_allowed(home: Browser, call: str, path: str, status: int) -> None:
    answer = home.get(path)
    assert answer.status_code == status
    assert all(answer.json()["error"][part] for part in ("seen", "allowed", "do"))


def test_long_work_is_asked_for_again(bench: Bench, home: Browser, call: str) -> None:
    path, shares = f"/api/calls/{call}/odds?machines=9000", []
    while (answer := home.get(path)).status_code == 202:
        shares.append(answer.json()["waiting"]["share"])
        time.sleep(0.02)
    assert answer.json()["causes"] and shares and all(0 <= share <= 1 for share in shares)
    # Asked again, it is there at once
    begun = time.monotonic()
    assert home.get(path).status_code == 200 and time.monotonic() - begun < 1.0


def test_work_that_waits_has_an_end(bench: Bench, home: Browser, call: str) -> None:
    answers = [home.get(f"/api/calls/{call}/odds?machines={number}").status_code for number in range(1500, 1530)]
    assert set(answers) <= {200, 202, 503} and 503 in answers


def test_families_say_what_a_market_can_have(home: Browser) -> None:
    dryer = next(one for one in home.facts("/api/families") if one["family"] == "dryer")
    assert dryer["currencies"] == {"NA": "USD", "EU": "EUR"}
    # Two legs of 240 V are of one part of the world, one of 230 V of the other
    assert "NOHEAT230" not in dryer["complaints_in"]["NA"] and "NOHEAT240" in dryer["complaints_in"]["NA"]
    assert "NOHEAT240" not in dryer["complaints_in"]["EU"] and "NOHEAT230" in dryer["complaints_in"]["EU"]


def test_the_door_tells_the_shops_money(home: Browser) -> None:
    assert home.facts("/api/me")["currency"] == ""
    home.tell("/api/settings", {"key": "currency", "value": "EUR"})
    assert home.facts("/api/me")["currency"] == "EUR"
