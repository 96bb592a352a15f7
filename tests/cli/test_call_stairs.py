"""The staircase of a call: bands of sound machines and of those that fit, and readings as dots where they belong to a node.

Trade: a screen blocked by nine tenths fills slowly while tap and hose end stand high; a blocked duct has high static at the collar (35 ft
of clean duct 163 Pa, hood a tenth open 389 Pa); a lost second leg is fed back, 119 V to neutral (common practice, no source).
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from conftest import FEW, WASHER, Run

SVG = "{http://www.w3.org/2000/svg}"


def opened(run: Run, family: str, complaint: str, market: str, **readings: str) -> str:
    """The id of a new call with readings, check names with _ for the dot."""
    words = ("--complaint", complaint, "--market", market, *FEW, "--json")
    call = str(json.loads(run("open", family, *words))["call"])
    for check, value in readings.items():
        run("reading", call, check.replace("_", "."), *value.split(), *FEW)
    return call


def bands(run: Run, call: str, *words: str) -> Any:
    return json.loads(run("bench", "--call", call, *words, *FEW, "--json"))


def at(page: Any, node: str) -> Any:
    return next(n for n in page["nodes"] if n["node"] == node)


@pytest.fixture
def water(run: Run) -> tuple[Run, str]:
    readings = {"C04": "4.9 L/min", "C05_cold": "335 kPa", "C06_cold": "330 kPa", "C07_cold": "350 kPa"}
    return run, opened(run, WASHER, "SLOW", "EU", **readings)


def test_readings_stand_at_their_nodes_and_this_machine_is_narrower_than_the_market(water: tuple[Run, str]) -> None:
    run, call = water
    page = bands(run, call)
    assert page["setup"] == "fill_cold" and page["over"] == "air"
    dots = {n["node"]: [r["check"] for r in n["readings"]] for n in page["nodes"] if n["readings"]}
    # Static with nothing drawing is another setup, and a flow is no potential.
    assert dots == {"tap_tee": ["C05.cold"], "hose_end": ["C06.cold"]}
    assert at(page, "tap_tee")["readings"][0]["value"] == pytest.approx(335e3, rel=1e-3)
    for node in ("main", "tap_tee", "hose_end"):
        sound, now = at(page, node)["healthy"], at(page, node)["now"]
        assert now["high"] - now["low"] < 0.5 * (sound["high"] - sound["low"])
    # The reading lies in the band of the machines that it has chosen, and behind it the potential may have fallen.
    now = at(page, "hose_end")["now"]
    assert now["low"] < 330e3 < now["high"]
    assert at(page, "washer")["now"]["low"] < 0.5 * at(page, "washer")["healthy"]["low"]
    for node in page["nodes"]:
        for which in ("healthy", "now"):
            assert node[which]["low"] <= node[which]["middle"] <= node[which]["high"]


def test_static_at_the_collar_of_a_blocked_duct(run: Run) -> None:
    page = bands(run, opened(run, "dryer", "LONG", "NA", DC2="1.4 inH2O"))
    assert (page["setup"], page["unit"]) == ("drying", "inH2O")
    collar = at(page, "collar")
    assert [r["check"] for r in collar["readings"]] == ["DC2"]
    # 0.65 in at the code's longest duct; the blower cannot make more than 400 Pa, 1.6 in.
    assert collar["healthy"]["high"] < 0.7 * 249.09 < collar["now"]["low"] < collar["now"]["high"] < 1.7 * 249.09
    # Between blower and room it sucks.
    assert at(page, "wheel")["healthy"]["high"] < 0


def test_volts_along_a_string_are_told_over_the_neutral_when_they_were_read_so(run: Run) -> None:
    page = bands(run, opened(run, "dryer", "NOHEAT240", "NA", C2_2n="119.5 V"))
    assert (page["setup"], page["dimension"], page["over"]) == ("heating", "voltage", "n")
    assert at(page, "t2")["readings"][0]["value"] == pytest.approx(119.5, abs=1)
    assert at(page, "l1")["healthy"]["middle"] == pytest.approx(120, rel=0.05)


def test_a_bound_is_no_dot_and_without_readings_the_water_is_drawn(run: Run) -> None:
    call = opened(run, WASHER, "SLOW", "EU", C05_cold="> 100 kPa")
    assert not any(n["readings"] for n in bands(run, call)["nodes"])
    assert bands(run, opened(run, WASHER, "SLOW", "EU"))["setup"] == "fill_cold"


def test_the_drawing_holds_two_bars_a_node_and_a_dot_a_reading_inside_the_chart(water: tuple[Run, str], tmp_path: Path) -> None:
    run, call = water
    file = tmp_path / "bands.svg"
    page = bands(run, call, "--svg", str(file))
    drawing = ElementTree.fromstring(file.read_text(encoding="utf-8"))
    width, height = float(drawing.attrib["width"]), float(drawing.attrib["height"])
    dashed = [b for b in drawing.iter(f"{SVG}rect") if "stroke-dasharray" in b.attrib]
    hatched = [b for b in drawing.iter(f"{SVG}rect") if b.attrib["fill"] == "url(#hatch)"]
    dots = list(drawing.iter(f"{SVG}circle"))
    # One of each stands in the key.
    assert (len(dashed), len(hatched), len(dots)) == (len(page["nodes"]) + 1, len(page["nodes"]) + 1, 3)
    for bar in (*dashed, *hatched):
        x, y, wide, tall = (float(bar.attrib[k]) for k in ("x", "y", "width", "height"))
        assert x >= 0 and x + wide <= width and y >= 0 and y + tall <= height and tall >= 3
    # Side by side: no open bar reaches into a hatched one.
    for one in dashed[1:]:
        for other in hatched[1:]:
            left, right = sorted((one, other), key=lambda b: float(b.attrib["x"]))
            assert float(left.attrib["x"]) + float(left.attrib["width"]) <= float(right.attrib["x"]) + 1e-6
    words = ["".join(t.itertext()) for t in drawing.iter(f"{SVG}text")]
    assert {n["node"] for n in page["nodes"]} <= set(words)
    assert {"335", "330"} <= set(words)
    paints = {e.attrib.get(k, "none") for e in drawing.iter() for k in ("stroke", "fill")}
    assert paints <= {"black", "white", "none", "url(#hatch)"}


def test_the_terminal_says_the_same_as_the_json(water: tuple[Run, str]) -> None:
    run, call = water
    page, text = bands(run, call), run("bench", "--call", call, *FEW)
    for node in page["nodes"]:
        assert node["node"] in text and node["now"]["high_says"] in text
    assert "C05.cold 335 kPa" in text


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ((), ("saw nothing", "--call CALL")),
        (("--fault", "S04"), ("saw S04", "FAMILY")),
        ((WASHER, "--call", "CALL"), (WASHER, "leave it out")),
        (("--call", "CALL", "--fault", "S04"), ("saw S04", "leave it out")),
        (("--call", "CALL", "--setup", "fil_cold"), ("fil_cold", "fill_cold")),
    ],
)
def test_what_cannot_be_drawn_is_refused(run: Run, words: tuple[str, ...], says: tuple[str, ...]) -> None:
    call = opened(run, WASHER, "SLOW", "EU")
    message = run("bench", *(call if w == "CALL" else w for w in words), *FEW, code=2)
    assert all(word in message for word in says)
