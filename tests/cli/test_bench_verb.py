"""What-if: a middle machine healthy and with a fault, and the staircase of one setup, against the trade's worked tables.

Trade table: common practice, no source: fill of a front-load washer at 350 kPa static with its screen 90 % blocked: 4.9 L/min, tap
340+ and machine's end of the hose 335+ kPa (the trade's line loses less than the middle one here), bucket normal, static full.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner

from tundish.cli.main import main
from tundish.store.library import load

WASHER = "front-load washer"
# The trade's own chain of its worked table, house line 0.06 kPa/(L/min)2 without droop (common practice and from memory).
CHAIN = ("house_droop=0 kPa", "filter_loss=0 kPa/(L/min)2", "tap_kind=globe", "tap_open_cold=1", "hose_length=1.5 m",
         "hose_bore=9.5 mm", "hose_open_cold=1", "hose_device_cold=1.5", "washer_cold=8 L/min", "tray_head=8 kPa",
         "house_loss=0.06 kPa/(L/min)2", "static_cold=350 kPa")  # fmt: skip
BLOCKED = ("--fault", "S04", "--severity", "screen_blocked_cold=90 %")
SVG = "{http://www.w3.org/2000/svg}"
L_MIN = 60_000.0


@pytest.fixture(autouse=True, scope="module")
def read_once() -> Iterator[None]:
    """Each family's file is read once for all tests here."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("tundish.cli.bench.load", cache(load))
        yield


@cache
def said(family: str, *words: str, code: int = 0) -> str:
    """What the verb prints; it keeps nothing on the disk, so a question asked twice is run once."""
    result = CliRunner().invoke(main, ["bench", family, *words])
    assert result.exit_code == code, result.output
    return result.output


def facts(family: str, *words: str) -> Any:
    return json.loads(said(family, *words, "--json"))


def at_350(*words: str) -> tuple[str, ...]:
    return (*words, "--set", "static_cold=350 kPa")


def values(page: Any, which: str) -> dict[str, float]:
    return {c["check"]: c[which]["value"] for c in page["checks"]}


def test_a_blocked_screen_reads_as_the_trade_says() -> None:
    page = facts(WASHER, *at_350(*BLOCKED))
    healthy, found = values(page, "healthy"), values(page, "what_if")
    assert found["C04"] * L_MIN == pytest.approx(4.9, rel=0.03)
    # Static is full, the bucket is as before, and both gauges stand high while it fills: the blockage is behind them.
    assert found["C07.cold"] == pytest.approx(350e3, rel=0.01)
    assert found["C09"] == pytest.approx(healthy["C09"], rel=1e-6)
    assert found["C05.cold"] > healthy["C05.cold"] + 20e3
    assert found["C06.cold"] > healthy["C06.cold"] + 20e3
    tells = {c["check"] for c in page["checks"] if c["tells"]}
    assert {"C04", "C03", "C12.cold"} <= tells
    assert not {"C07.cold", "C09", "C04.hot"} & tells


@pytest.mark.parametrize(("blocked", "flow"), [("0.8", 8.1), ("0.9", 4.9), ("0.95", 2.5)])
def test_the_trades_own_chain_gives_its_table(blocked: str, flow: float) -> None:
    given = [word for each in CHAIN for word in ("--set", each)]
    page = facts(WASHER, "--fault", "S04", "--severity", f"screen_blocked_cold={blocked}", *given)
    assert values(page, "what_if")["C04"] * L_MIN == pytest.approx(flow, rel=0.03)


def test_the_staircase_falls_from_the_street_to_the_tub_and_names_the_screen() -> None:
    stairs = facts(WASHER, *at_350(*BLOCKED))["staircase"]
    nodes = stairs["nodes"]
    assert stairs["setup"] == "fill_cold" and stairs["grown"] == "screen"
    assert [nodes[0]["node"], nodes[-1]["node"]] == ["main", "air"]
    for which in ("healthy", "what_if"):
        levels = [n[which] for n in nodes]
        assert levels[0] == pytest.approx(350e3) and levels[-1] == 0.0
        assert all(upper >= lower for upper, lower in pairwise(levels))
        assert sum(s[which] for s in stairs["steps"]) == pytest.approx(350e3)
    assert stairs["flow"]["what_if"] * L_MIN == pytest.approx(4.9, rel=0.03)


def test_a_fault_acts_at_its_middle_severity_and_a_mode_can_be_chosen() -> None:
    # Middle of the beta of S04: (a - 1/3) / (a + b - 2/3) for 16 and 2, within 1 %; Kerman 2011, arXiv:1111.0433
    plain = facts(WASHER, "--fault", "S04")
    assert values(plain, "what_if")["C12.cold"] == pytest.approx((16 - 1 / 3) / (18 - 2 / 3), rel=0.01)
    cold, hot = (facts(WASHER, "--fault", f"S06={mode}") for mode in ("cold", "Hot"))
    assert (cold["faults"][0]["mode"], hot["faults"][0]["mode"]) == ("cold", "hot")
    low = [
        values(page, "what_if")["C06.cold"] < 0.5 * values(page, "healthy")["C06.cold"]
        for page in (cold, hot)
    ]
    assert low == [True, False]


def test_nothing_asked_leaves_both_machines_alike() -> None:
    for family in ("dryer", "oven and hob"):
        page = facts(family)
        assert all(c["healthy"] == c["what_if"] and not c["tells"] for c in page["checks"])
        assert page["staircase"]["grown"] is None


def test_volts_along_a_string_and_static_along_a_duct() -> None:
    string = facts("dryer", "--market", "NA", "--setup", "heating")["staircase"]
    assert string["dimension"] == "voltage"
    # Between the legs of a 120/240 V service: 240 V within 5 % (ANSI C84.1, range A)
    assert string["nodes"][0]["healthy"] == pytest.approx(240, rel=0.05)
    duct = facts("dryer", "--fault", "D12=hose crushed")["staircase"]
    assert duct["setup"] == "drying" and duct["grown"] == "hose"
    assert duct["flow"]["what_if"] < 0.6 * duct["flow"]["healthy"]
    # The blower lifts: its step goes up.
    assert next(s for s in duct["steps"] if s["link"] == "blower")["healthy"] < 0


def test_the_drawing_is_well_formed_and_holds_every_node_and_drop(tmp_path: Path) -> None:
    file = tmp_path / "stairs.svg"
    stairs = facts(WASHER, *at_350(*BLOCKED), "--svg", str(file))["staircase"]
    drawing = ElementTree.fromstring(file.read_text(encoding="utf-8"))
    words = ["".join(t.itertext()) for t in drawing.iter(f"{SVG}text")]
    assert float(drawing.attrib["width"]) == 360
    assert {n["node"] for n in stairs["nodes"]} <= set(words)
    assert all(s["what_if_says"].split(" ")[0] in words for s in stairs["steps"])
    dashed = [line for line in drawing.iter(f"{SVG}polyline") if "stroke-dasharray" in line.attrib]
    # Its stroke in the key and the line itself: the other line is whole, so no colour is needed.
    assert len(dashed) == 2
    assert {e.attrib.get("stroke", "black") for e in drawing.iter()} == {"black"}


def test_the_terminal_says_the_same_as_the_json() -> None:
    page, text = facts(WASHER, *at_350(*BLOCKED)), said(WASHER, *at_350(*BLOCKED))
    for check in page["checks"]:
        assert check["check"] in text and check["what_if"]["says"] in text
    assert "grown most" in text and "S04" in text
    assert "gpm" in said(WASHER, "--units", "US")


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("--fault", "S99"), ("saw 'S99'", "S04")),
        (("--fault", "S06=cld"), ("mode of S06", "cold, hot")),
        (("--fault", "S04", "--fault", "s04"), ("S04, S04", "different")),
        (
            ("--severity", "screen_blocked_cld=1"),
            ("screen_blocked_cld", 'did you mean "screen_blocked_cold"'),
        ),
        (("--severity", "static_cold"), ("PARAM=VALUE",)),
        (("--severity", "screen_blocked_cold=5 kPa"), ("pressure",)),
        (("--severity", "screen_blocked_cold=> 0.5"), ("one number",)),
        (("--severity", "screen_blocked_cold=3"), ("screen_blocked_cold: saw 3", "physical range", "at least 0 and at most 1")),
        (("--set", "hose_open_cold=120 %"), ("hose_open_cold: saw 1.2", "at most 1")),
        # No law takes it directly, but it is never drawn below 0.
        (("--severity", "heat_share=-1"), ("heat_share: saw -1", "at least 0")),
        (("--set", "tap_kind=levr"), ("lever, globe, gate",)),
        (("--setup", "fil_cold"), ("fil_cold", "fill_cold")),
        (("--setup", "coil_hot_out"), ("coil_hot_out", "fill_cold")),
        (("--market", "XX"), ("EU, NA",)),
    ],
)
def test_what_cannot_be_is_refused_with_what_can(words: tuple[str, ...], says: tuple[str, ...]) -> None:
    message = said(WASHER, *words, code=2)
    assert all(word in message for word in says)
