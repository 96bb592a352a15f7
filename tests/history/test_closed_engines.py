"""One expression a figure, whatever the engine: against the arithmetic on single calls, and engine against engine."""

from __future__ import annotations

import os
from dataclasses import asdict, replace
from datetime import datetime
from pathlib import Path

import numpy as np
import pytest
from closed_world import UNTIL, World, calls, seen_at

from tundish.history import asked
from tundish.history.amounts import learned_amount, shipped
from tundish.history.counted import Rows, amount, banded, blamed, taught_by, z_of
from tundish.history.honesty import bands, blame, z_of_causes, z_of_hits
from tundish.history.tables import microseconds, moment_of, outcome_of
from tundish.history.teach import taught
from tundish.history.week import Around, shares
from tundish.store.closed import outcomes_rows
from tundish.store.engines import duckdb, needed, open_engine, rows
from tundish.store.errors import StoreError
from tundish.store.library import load
from tundish.store.shelved import Shelf, files, put_in

pytest.importorskip("ibis")
EXACT = 1e-9
# Some calls ended later, some callbacks came later: neither is known yet
EARLY = UNTIL - 60 * asked.DAY


@pytest.fixture(scope="module")
def family():
    return load("front-load washer")


@pytest.fixture(scope="module")
def world(family):
    looks = [one for one in family.checks.values() if one.is_look][:2]
    k = [len(one.answers) for one in looks]
    sharp = {one.id: np.full((n, n), 0.1 / n) + 0.9 * np.eye(n) for one, n in zip(looks, k, strict=True)}
    flat = {(one.id, cause): np.full(n, 1 / n) for one, n in zip(looks, k, strict=True) for cause in family.faults}
    return World(family, ("SLOW", "NOFILL"), sharp, flat)


@pytest.fixture(scope="module")
def made(world):
    return list(calls(world, 3_000, np.random.default_rng(5)))


@pytest.fixture(scope="module")
def stored(made, tmp_path_factory):
    folder, shelf = Path(tmp_path_factory.mktemp("closed")), Shelf()
    half = len(made) // 2
    for some in (made[:half], made[half:]):
        put_in(folder, shelf, outcomes_rows(some))
    return files(folder, shelf)


@pytest.fixture(scope="module")
def engine(stored):
    opened = duckdb(stored)
    yield opened
    opened.close()


@pytest.fixture(scope="module")
def known(made):
    """The calls as single records, as they were known at that moment."""
    return [seen_at(pair, EARLY) for pair in made if microseconds(pair[0].ended_at) <= EARLY]


def figures(tables):
    """Every figure as sorted rows."""
    found = {
        "causes": asked.causes(tables["causes"], EARLY),
        "returns": asked.returns(tables["repairs"], EARLY),
        "minutes": asked.minutes(tables["repairs"], EARLY),
        "prices": asked.prices(tables["parts"], EARLY),
        "looks": asked.looks(tables["checks"], EARLY),
        "bands": asked.bands(tables["calls"], EARLY),
        "family": asked.said_by(tables["calls"], EARLY, "family"),
        "check": asked.said_by(tables["checks"], EARLY, "check"),
        "stated": asked.said_of_causes(tables["stated"], EARLY),
        "said": asked.said(tables["calls"], EARLY),
        "weeks": asked.weeks(tables["calls"], EARLY),
        "between": asked.between(tables["calls"], EARLY - 7 * asked.DAY, EARLY),
    }
    return {name: sorted(rows(one), key=keyed) for name, one in found.items()}


def keyed(row):
    """Order by what tells rows apart: words, whole numbers, ages and days; not by sums."""
    return [str(row[name]) for name in row if isinstance(row[name], str | int) or name == "age"]


def alike(found, expected):
    assert found.keys() == expected.keys()
    for name, held in expected.items():
        assert len(found[name]) == len(held) > 0, name
        for one, other in zip(found[name], held, strict=True):
            assert one.keys() == other.keys()
            for column, value in other.items():
                if isinstance(value, datetime):
                    # Spark gives UTC without saying so
                    assert microseconds(one[column]) == microseconds(value)
                    continue
                exact = isinstance(value, float) and one[column] is not None
                assert one[column] == (pytest.approx(value, rel=EXACT) if exact else value), (name, column)


def flat(thing, at=()):
    """Every number of nested mappings and tuples, by its place."""
    if isinstance(thing, dict):
        thing = list(thing.items())
    elif isinstance(thing, list | tuple):
        thing = list(enumerate(thing))
    else:
        return {at: thing}
    return {place: value for key, held in thing for place, value in flat(held, (*at, key)).items()}


def test_what_is_taught_is_that_of_single_calls(engine, known, family) -> None:
    found = figures(engine.tables)
    ours = flat(asdict(taught_by(Rows(found["causes"], found["returns"], found["minutes"]), family)))
    theirs = flat(asdict(taught(known, family)))
    assert ours.keys() == theirs.keys() and len(ours) > 80
    for place, value in theirs.items():
        assert ours[place] == (value if isinstance(value, str) else pytest.approx(value, rel=EXACT)), place


def test_honesty_is_that_of_single_calls(engine, known) -> None:
    found = figures(engine.tables)
    proven = sorted((one for one in known if one.named and one.proven), key=lambda one: (one.ended_at, one.call))
    stated = np.array([one.named[1] for one in proven])
    hit = np.array([one.named[0] == one.proven for one in proven])
    assert [row["odds"] for row in found["said"]] and len(proven) > 500
    whole = {"right": hit.sum(), "odds": stated.sum(), "variance": (stated * (1 - stated)).sum()}
    assert z_of(whole) == pytest.approx(z_of_hits(stated, hit), rel=EXACT)
    for one, other in zip(banded(found["bands"]), bands(stated, hit), strict=True):
        assert flat(asdict(one)) == pytest.approx(flat(asdict(other)), rel=EXACT)
    names = sorted({check for one in proven for check, _, _ in one.checks})
    member = np.array([[name in [check for check, _, _ in one.checks] for name in names] for one in proven])
    for one, other in zip(blamed(found["check"], "check"), blame(stated, hit, groups=names, member=member), strict=True):
        assert (one.group, one.calls) == (other.group, other.calls)
        assert (one.z, one.chance) == pytest.approx((other.z, other.chance), rel=EXACT)
    causes = sorted({cause for one in proven for cause in one.stated})
    odds = np.array([[one.stated.get(cause, 0.0) for cause in causes] for one in proven])
    places = np.array([causes.index(one.proven) for one in proven])
    by_cause = {row["cause"]: z_of(row) for row in found["stated"]}
    for cause, z in zip(causes, z_of_causes(odds, places), strict=True):
        # A call that did not name a cause at all never had odds of it
        if all(one.stated.get(cause) for one in proven if one.proven == cause):
            assert by_cause[cause] == pytest.approx(z, rel=EXACT)


def test_the_week_is_that_of_single_calls(engine, known) -> None:
    found = figures(engine.tables)
    first = EARLY - 7 * asked.DAY
    mine = sorted((one for one in known if microseconds(one.ended_at) >= first), key=lambda one: (one.ended_at, one.call))
    back = sorted((outcome_of(row, EARLY) for row in found["between"]), key=lambda one: (one.ended_at, one.call))
    around = Around(now=moment_of(EARLY))
    assert len(mine) == len(back) > 10
    assert [asdict(one) for one in shares(back, around)] == [asdict(one) for one in shares(mine, around)]
    # The same shares over all weeks, from sums that the engine made
    whole = {name: sum(row[name] for row in found["weeks"]) for name in ("first_visit", "repaired", "called_back", "ripe")}
    named = {one.name: one for one in shares(known, around)}
    assert whole["first_visit"] / whole["repaired"] == pytest.approx(named["first-visit fix"].value)
    assert (whole["ripe"], whole["called_back"] / whole["ripe"]) == pytest.approx(
        (named["callbacks in 30 days"].calls, named["callbacks in 30 days"].value)
    )
    # 2025-01-01 was a Wednesday: its week began on 2024-12-30, the 2870th after that of 1970-01-01
    assert min(row["week"] for row in found["weeks"]) == 2870


def test_sums_of_logarithms_teach_what_single_amounts_teach() -> None:
    amounts = np.random.default_rng(3).lognormal(3, 0.5, 40)
    logs = np.log(amounts)
    row = {"calls": 40, "log": logs.sum(), "square": (logs**2).sum()}
    ours, theirs = amount(shipped(20, 45), row), learned_amount(shipped(20, 45), amounts)
    assert asdict(ours) == pytest.approx(asdict(theirs), rel=EXACT)


def test_two_halves_teach_what_the_whole_teaches(made, stored, engine, tmp_path) -> None:
    """Written in two updates or in one, a change between: the same figures."""
    shelf = Shelf()
    wrong = [(replace(one, minutes=1.0, visits=9), beside) for one, beside in made[:50]]
    put_in(tmp_path, shelf, outcomes_rows([*wrong, *made[50:]]))
    put_in(tmp_path, shelf, outcomes_rows(made[:50]), gone=[one.call for one, _ in made[:50]])
    again = duckdb(files(tmp_path, shelf))
    alike(figures(again.tables), figures(engine.tables))
    again.close()


def test_a_package_that_is_missing_is_named_with_the_cure() -> None:
    with pytest.raises(StoreError, match=r"no package no_such_package.*pip install \"tundish\[learn\]\""):
        needed("no_such_package", "learn")
    with pytest.raises(StoreError, match="allowed: duckdb, postgresql"):
        open_engine("abacus", {})


@pytest.mark.engines
def test_postgresql_gives_the_same(stored, engine) -> None:
    pytest.importorskip("psycopg")
    address = os.environ.get("TUNDISH_POSTGRESQL")
    if not address:
        pytest.skip("TUNDISH_POSTGRESQL names no server; see docs/learning.md")
    opened = open_engine(address, stored)
    try:
        alike(figures(opened.tables), figures(engine.tables))
    finally:
        opened.close()


@pytest.mark.engines
@pytest.mark.filterwarnings("ignore::DeprecationWarning", "ignore::FutureWarning", "ignore::ResourceWarning")
def test_spark_gives_the_same(stored, engine) -> None:
    pytest.importorskip("pyspark")
    opened = open_engine("local[2]", stored)
    try:
        alike(figures(opened.tables), figures(engine.tables))
    finally:
        opened.close()
