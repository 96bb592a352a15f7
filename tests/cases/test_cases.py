"""Whole calls that must come out right: the true cause leads with at least 0.6, is among the first three after two readings, and every
"must" and "must not" of the call holds. The calls are invented; their readings come from handbook models, rounded as an instrument shows
them (common practice, no source)."""

from pathlib import Path

import pytest

from tundish.call.casefile import read_case
from tundish.call.entry import check_named, reading_of
from tundish.documents.judge import judge
from tundish.store.desk import Matter, diagnose
from tundish.store.library import load

HERE = Path(__file__).parent
FILES = sorted(HERE.glob("*.yaml"))
DEMO = HERE.parents[1] / "tundish" / "cli" / "demo.yaml"
MACHINES = 20_000


def played(file, shelf, machines=MACHINES):
    case = read_case(file.read_text(encoding="utf-8"), file.name)
    description = load(case.family)
    readings = tuple(reading_of(check_named(description, t.check), t.typed) for t in case.readings)
    matter = Matter(case.family, case.market, case.complaint, case.age, case.told)
    return case, diagnose(matter, readings, shelf, size=machines)


@pytest.mark.parametrize("file", [*FILES, DEMO], ids=lambda f: f.stem)
def test_case_ends_as_it_must(file, shelf):
    case, found = played(file, shelf)
    missed = [f"line {v.line}: {v.demand}: {v.found}" for v in judge(case, found, "metric") if not v.met]
    assert not missed


def test_a_case_demands_what_its_title_is_about():
    """No case file may be empty of demands, or it could not fail."""
    for file in FILES:
        assert read_case(file.read_text(encoding="utf-8"), file.name).expect


def test_the_same_events_give_the_same_odds_to_the_last_digit(tmp_path, shelf):
    """From a fresh cache and from a used one, regrowing included."""
    file = HERE / "slow_lever_tap.yaml"
    _, used = played(file, shelf)
    _, fresh = played(file, tmp_path)
    assert fresh.now.odds.causes == used.now.odds.causes
    assert any(step.regrown for step in fresh.steps)
