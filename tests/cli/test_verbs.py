"""The verbs as a technician uses them, in a folder of their own."""

import json

import pytest
from click.testing import CliRunner

from tundish.cli.main import main

WASHER = "front-load washer"
FEW = ("--machines", "4000")


@pytest.fixture
def run(tmp_path, monkeypatch, tmp_path_factory):
    """Runs a verb; data in a fresh folder, the cache shared by this file."""
    monkeypatch.setenv("TUNDISH_DATA", str(tmp_path / "data"))
    monkeypatch.setenv("TUNDISH_CACHE", str(tmp_path_factory.getbasetemp() / "cli-cache"))

    def verb(*words, code=0):
        result = CliRunner().invoke(main, words)
        assert result.exit_code == code, result.output
        return result.output

    return verb


@pytest.fixture
def opened(run):
    """A call named smith."""
    run("open", WASHER, "--complaint", "slow", "--age", "9", "--since", "House Move", "--name", "smith", *FEW)
    return run


def test_families_lists_complaints_and_circumstances(run):
    facts = json.loads(run("families", "--json"))
    washer = next(f for f in facts if f["family"] == WASHER)
    assert {"SLOW", "NOFILL", "TRIP", "LEAK"} <= set(washer["complaints"])
    assert "house move" in washer["circumstances"]
    assert WASHER in run("families")


def test_handbook_shows_healthy_readings_in_both_unit_systems(run):
    metric = json.loads(run("handbook", WASHER, "--json", "--market", "EU"))
    coil = next(c for c in metric["checks"] if c["check"] == "W01.cold")
    # 3.3-4.5 kohm for 230 V (common practice, no source)
    assert 3_300 <= coil["healthy"]["low"] <= coil["healthy"]["high"] <= 4_500
    text = run("handbook", WASHER, "--market", "NA")
    assert "psi" in text
    assert "gpm" in text
    assert "Local codes and licensed practice come first" in text


def test_a_call_from_complaint_to_prediction(opened):
    before = json.loads(opened("odds", "smith", "--json", *FEW))
    opened("reading", "smith", "C05.cold", "50", "psi", *FEW)
    after = json.loads(opened("reading", "smith", "C06.cold", "6", "psi", "--json", *FEW))
    chance = lambda facts: {c["id"]: c["chance"] for c in facts["causes"]}  # noqa: E731
    assert chance(after)["S06"] > 0.9 > chance(before)["S06"]  # pressure at the tap, none at the machine: the hose
    assert after["readings"][0]["shows"] == "345 kPa"
    why = json.loads(opened("why", "smith", "s06", "--json", *FEW))
    assert [i["check"] for i in why["influences"]] == ["C05.cold", "C06.cold"]
    assert why["influences"][1]["decibans"] > 5
    row = json.loads(opened("expect", "smith", "C06.cold", "--repaired", "S06", "--json", *FEW))[0]
    assert row["now"]["high"] < row["after"]["low"]
    assert "kinked" in opened("odds", "smith", *FEW)


def test_a_reading_is_withdrawn_by_a_correction_not_erased(opened):
    first = json.loads(opened("odds", "smith", "--json", *FEW))
    opened("reading", "smith", "C07.cold", "3.6 bar", *FEW)
    back = json.loads(opened("withdraw", "smith", "C07.cold", "--because", "wrong tap", "--json", *FEW))
    assert back["causes"] == first["causes"]
    assert json.loads(opened("calls", "--json"))[0]["events"] == 3


def test_a_circumstance_told_later_counts(opened):
    first = json.loads(opened("odds", "smith", "--json", *FEW))
    later = json.loads(opened("told", "smith", "main works", "--json", *FEW))
    chance = lambda facts: {c["id"]: c["chance"] for c in facts["causes"]}  # noqa: E731
    assert chance(later)["S04"] > chance(first)["S04"]


def test_a_dirty_screen_that_explains_nothing_is_said_so(run):
    """Common practice, no source: at 68 psi static a regulated fill does not mind a screen with a fifth of its area blocked."""
    run("open", WASHER, "--complaint", "SLOW", "--market", "NA", "--name", "jones", *FEW)
    run("reading", "jones", "C07.cold", "68 psi", *FEW)
    facts = json.loads(run("reading", "jones", "C12.cold", "20 %", "--json", *FEW))
    gone = {r["id"]: r for r in facts["ruled_out"]}
    assert gone["S04"]["by"] == "C12.cold"
    assert not facts["misfit"]["alarm"]  # 68 psi is on the high side but harmless
    assert not [n for n in facts["notices"] if n["name"] == "house pressure"]
    assert "S04 does not explain it" in run("odds", "jones", *FEW)
    cleaned = json.loads(run("expect", "jones", "C04", "--repaired", "S04", "--json", *FEW))[0]
    healthy, after = cleaned["healthy"], cleaned["after"]
    # what the flow meter will read once it is cleaned is told, beside the healthy band
    assert after["middle"] is not None
    assert healthy["middle"] == pytest.approx(8.4e-3 / 60, rel=0.05)


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("reading", "smith", "C05.cold", "900", "psi"), ("saw", "900 psi", "allowed")),
        (("reading", "smith", "C05.cold", "9", "V"), ("voltage", "allowed", "pressure")),
        (("reading", "smith", "C05.cold", "-40", "psi"), ("saw", "-40 psi", "allowed")),
        (("reading", "smith", "C99", "1 bar"), ("saw 'C99'", "allowed: a check of the front-load washer", "did you mean")),
        (("reading", "smith", "C02", "bent"), ("saw 'bent'", "allowed: flat spot, smooth")),
        (("reading", "nobody", "C02", "smooth"), ("nobody", "allowed")),
        (("why", "smith", "S99"), ("saw 'S99'", "allowed")),
        (("expect", "smith", "C5"), ("saw 'C5'", "did you mean")),
        (("withdraw", "smith", "C05.cold"), ("saw check 'C05.cold'", "none was read yet")),
        (("told", "smith", "full moon"), ("saw 'full moon'", "allowed")),
        (("open", "kettle", "--complaint", "SLOW"), ("kettle", "allowed")),
        (("open", WASHER, "--complaint", "BLUE"), ("saw 'BLUE'", "allowed")),
        (("open", WASHER, "--complaint", "SLOW", "--market", "MARS"), ("saw 'MARS'", "allowed: EU, NA")),
        (("open", WASHER, "--complaint", "SLOW", "--age", "-3"), ("age", "0 years or more")),
    ],
)
def test_wrong_words_are_refused_with_what_is_allowed(opened, words, says):
    output = opened(*words, *FEW, code=2)
    for part in says:
        assert part in output


def test_a_refused_reading_changes_nothing(opened):
    before = opened("odds", "smith", "--json", *FEW)
    opened("reading", "smith", "C05.cold", "900 psi", *FEW, code=2)
    assert opened("odds", "smith", "--json", *FEW) == before


def test_a_case_that_ends_otherwise_exits_with_one(run, tmp_path):
    file = tmp_path / "case.yaml"
    head = "title: t\nfamily: front-load washer\nmarket: EU\ncomplaint: SLOW\nreadings: [{C07.cold: 3 bar}]\n"
    text = head + "expect:\n  - {cause: S06, %s}\n"
    file.write_text(text % "at_least: 0.9")
    assert "NOT MET" in run("case", str(file), *FEW, code=1)
    file.write_text(text % "at_most: 0.9")
    assert "NOT MET" not in run("case", str(file), *FEW)
    file.write_text(text % "at_lest: 0.9")
    assert 'case.yaml:7: expect[0].at_lest: saw the key "at_lest"' in run("case", str(file), *FEW, code=2)


def test_the_example_in_the_readme_is_what_the_demo_prints(tmp_path, monkeypatch, capsys):
    """Line by line, figures aside: another processor may round a chance or a bar otherwise. `tools/readme_example.py` renews it."""
    import re
    from pathlib import Path

    from tundish.cli import demo

    monkeypatch.setenv("TUNDISH_CACHE", str(tmp_path))
    demo.main()

    def shape(line):
        return re.sub(r"\W+", " ", re.sub(r"under|over|[0-9.]+|[█▏▎▍▌▋▊▉]+", "", line)).strip()

    printed = {shape(line) for line in capsys.readouterr().out.splitlines()}
    page = (Path(__file__).parents[2] / "README.md").read_text(encoding="utf-8")
    example = page[page.index("## One call") : page.index("## In the browser")].splitlines()
    shown = [line for line in example if line.startswith("    ")]
    assert len(shown) > 40
    assert [line for line in shown if shape(line) and shape(line) not in printed] == []
