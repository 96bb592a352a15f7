"""The machine as a repair leaves it, packed: the phone judges the repair as the server does."""

from __future__ import annotations

import json
import shutil
import subprocess
import time
from pathlib import Path
from typing import Any

import pytest
from bench_maker import Browser

from tundish.diagnosis.reading import Reading
from tundish.plan.pocket_kernel import chance_left, opened, weigh

STATIC = Path(__file__).parents[2] / "tundish" / "web" / "static"
SCRIPT = Path(__file__).parent / "vectors" / "proof.mjs"
QUOTED = (
    "currency", "lines", "net", "tax", "gross", "taxes", "chance_cures", "options", "owed_if_refused", "valid_until",
)  # fmt: skip
NODE = shutil.which("node")
# Chance that a cause is left: the phone's machines are rounded and weighed kind by kind where few are left.
NEAR = 0.03


def fetched(home: Browser, call: str, query: str = "") -> bytes:
    """The pack, once it is made."""
    for _ in range(1200):
        answer = home.get(f"/api/calls/{call}/pack{query}")
        if answer.status_code != 202:
            assert answer.status_code == 200, answer.text
            return bytes(answer.content)
        time.sleep(0.05)
    raise AssertionError("it takes too long")


def agreed(home: Browser, call: str) -> None:
    """A hose laid flat is found, and a price to straighten it agreed to."""
    at = f"/api/calls/{call}"
    home.tell(f"{at}/reading", {"check": "C02", "typed": "flat spot"})
    home.tell(f"{at}/reading", {"check": "C03", "typed": "220 s"})
    quote = home.facts(f"{at}/agree?fault=S06")
    body = {name: quote[name] for name in QUOTED} | {"id": "1", "faults": ["S06"]}
    event = home.tell(f"{at}/record", {"kind": "quoted", "body": body}, 201)["event"]
    money = {"minor": quote["gross"], "currency": quote["currency"]}
    consent = {"quote": event, "name": "A. Customer", "how": "spoken", **money}
    home.tell(f"{at}/record", {"kind": "consent given", "body": consent}, 201)


def mended(home: Browser, call: str) -> None:
    home.tell(f"/api/calls/{call}/record", {"kind": "repair done", "body": {"fault": "S06"}}, 201)


def since(home: Browser, call: str) -> list[dict[str, Any]]:
    """Readings of the call's last spell, as the phone has them."""
    events = home.get(f"/api/calls/{call}/events").json()["events"]
    last = max(i for i, e in enumerate(events) if e["kind"] == "repair done")
    return [{**e["body"], "stood": None} for e in events[last:] if e["kind"] == "reading taken"]


def judged_by_the_phone(pack: bytes, folder: Path, asked: dict[str, Any]) -> dict[str, Any]:
    if NODE is None:
        pytest.skip("no node on this computer: the phone's modules are not run")
    (folder / "call.pack").write_bytes(pack)
    done = subprocess.run(
        [NODE, str(SCRIPT), str(STATIC), str(folder / "call.pack")],
        input=json.dumps(asked),
        capture_output=True,
        text=True,
        check=True,
        timeout=120,
    )
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def question(readings: list[dict[str, Any]], works: bool | None = None) -> dict[str, Any]:
    return {"readings": readings, "works": works, "parts": [], "state": "", "unready": False}


@pytest.mark.parametrize("typed", ["98 s", "215 s"])
def test_the_phone_judges_a_repair_as_the_server_does(
    home: Browser, call: str, tmp_path: Path, typed: str
) -> None:
    agreed(home, call)
    mended(home, call)
    pack = fetched(home, call)
    first = home.facts(f"/api/calls/{call}/prove")
    assert judged_by_the_phone(pack, tmp_path, question([]))["proof"]["proven"] is first["proven"] is False
    assert opened(pack).head["proof"]["at_repair"] == pytest.approx(first["left_at_repair"], abs=1e-6)
    home.tell(f"/api/calls/{call}/reading", {"check": "C03", "typed": typed})
    readings, theirs = since(home, call), home.facts(f"/api/calls/{call}/prove")
    weighed = weigh(
        opened(pack), [Reading(r["check"], r["value"], r["answer"], r["bound"]) for r in readings]
    )
    assert chance_left(weighed) == pytest.approx(theirs["left_now"], abs=NEAR)
    mine = judged_by_the_phone(pack, tmp_path, question(readings))["proof"]
    assert mine["left_now"] == pytest.approx(chance_left(weighed), abs=1e-6)
    assert mine["proven"] is theirs["proven"]
    # A sound machine fills in time, one that was not cured does not
    assert (mine["left_now"] < first["left_at_repair"]) is (typed == "98 s")


@pytest.mark.parametrize("works", [True, False])
def test_a_test_weighs_as_on_the_server(home: Browser, call: str, tmp_path: Path, works: bool) -> None:
    agreed(home, call)
    mended(home, call)
    pack = fetched(home, call)
    home.tell(f"/api/calls/{call}/record", {"kind": "tested", "body": {"works": works}}, 201)
    theirs = home.facts(f"/api/calls/{call}/prove")
    assert chance_left(weigh(opened(pack), [], works)) == pytest.approx(theirs["left_now"], abs=NEAR)
    mine = judged_by_the_phone(pack, tmp_path, question([], works))
    assert mine["proof"]["left_now"] == pytest.approx(theirs["left_now"], abs=NEAR)
    assert mine["proof"]["proven"] is theirs["proven"]
    assert ("miss_fails" in [key for key, _ in mine["proof"]["missing"]]) is not works
    assert mine["next"]["options"]
    assert "nothing is wrong" not in [o["name"] for o in mine["next"]["options"]]


def test_a_repair_that_is_planned_is_packed_as_it_would_leave_the_machine(
    home: Browser, call: str, tmp_path: Path
) -> None:
    agreed(home, call)
    planned = fetched(home, call, "?repaired=S06")
    mended(home, call)
    made = fetched(home, call)
    mine, theirs = (judged_by_the_phone(pack, tmp_path, question([])) for pack in (planned, made))
    assert mine["proof"]["repaired"] == theirs["proof"]["repaired"] != []
    assert mine["proof"]["left_now"] == pytest.approx(theirs["proof"]["left_now"], abs=1e-6)
    assert (
        [c["check"] for c in mine["proof"]["checks"]] == [c["check"] for c in theirs["proof"]["checks"]] != []
    )


def test_what_was_read_with_the_machine_open_proves_nothing(home: Browser, call: str, tmp_path: Path) -> None:
    agreed(home, call)
    mended(home, call)
    pack = fetched(home, call)
    home.tell(f"/api/calls/{call}/reading", {"check": "C03", "typed": "98 s"})
    (reading,) = since(home, call)
    pulled = {**reading, "stood": {"off": False, "open": True}}
    mine = judged_by_the_phone(pack, tmp_path, question([pulled]))["proof"]
    assert not mine["proven"]
    assert next(key for key, _ in mine["missing"]) == "miss_place"
