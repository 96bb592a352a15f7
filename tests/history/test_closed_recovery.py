"""A world whose shares, cure chances and mistakes of looks differ from the shipped ones: 20,000 closed calls of it, through tables and
engine, and what is learned covers the truth as often as it says."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from closed_world import UNTIL, World, calls, other_shares

from tundish.history.cells import counted_causes
from tundish.history.counted import cures, taught_by
from tundish.history.looks import look_errors
from tundish.history.looks_spread import rate_intervals
from tundish.history.mistakes import answer_chances, sightings
from tundish.history.shares_spread import share_intervals
from tundish.history.teach import worth_of
from tundish.store.closed import outcomes_rows
from tundish.store.engines import duckdb
from tundish.store.learning import count
from tundish.store.library import load
from tundish.store.shelved import Shelf, files, put_in

pytest.importorskip("ibis")
LEVEL, CALLS = 0.9, 20_000
COMPLAINTS = ("SLOW", "NOFILL", "NODRAIN", "OVER")


def covers(hits: list[bool]) -> None:
    """Fail when coverage is off by more than chance explains."""
    n = len(hits)
    assert abs(np.mean(hits) - LEVEL) < 3.3 * (LEVEL * (1 - LEVEL) / n) ** 0.5, f"{np.mean(hits):.3f} of {n}"


@pytest.fixture(scope="module")
def shipped():
    return load("front-load washer")


@pytest.fixture(scope="module")
def world(shipped):
    rng = np.random.default_rng(70)
    looks, truths = {}, {}
    erring = [one for one in shipped.checks.values() if one.is_look and all(sum(w.values()) > 0 for w in one.mistakes.values())]
    for check in erring[:8]:
        names = [answer.name for answer in check.answers]
        k = len(names)
        mixed = (1 - check.misdone) * answer_chances(check.mistakes, names) + check.misdone / k
        looks[check.id] = np.array([rng.dirichlet(50 * row) for row in mixed])
        for cause in shipped.faults:
            truths[check.id, cause] = rng.dirichlet(np.full(k, 0.3))
    return World(other_shares(shipped, rng, worth=40), COMPLAINTS, looks, truths, proven=1.0)


@pytest.fixture(scope="module")
def counted(world, tmp_path_factory):
    folder, shelf = Path(tmp_path_factory.mktemp("closed")), Shelf()
    put_in(folder, shelf, outcomes_rows(calls(world, CALLS, np.random.default_rng(71))))
    engine = duckdb(files(folder, shelf))
    found = count(engine.tables, UNTIL)
    engine.close()
    assert found.calls == CALLS
    return found


def test_shares(world, shipped, counted) -> None:
    by_complaint = counted_causes(counted.rows.causes, shipped)
    worth, hits = worth_of(by_complaint, shipped), []
    taught = taught_by(counted.rows, shipped)
    before = after = 0.0
    for name, one in by_complaint.items():
        share = np.array([taught.shares[name][cause] for cause in one.causes])
        truth = np.array([world.described.complaints[name].shares[cause] for cause in one.causes])
        base = np.array([shipped.complaints[name].shares[cause] for cause in one.causes])
        low, high = share_intervals(one, share, worth.mean, LEVEL)
        # The curvature at the peak says little of a cause hardly ever seen
        many = one.counts.sum(axis=0) >= 20
        hits += ((low <= truth) & (truth <= high))[many].tolist()
        before, after = before + ((base / base.sum() - truth) ** 2).sum(), after + ((share - truth) ** 2).sum()
    assert len(hits) > 25
    covers(hits)
    assert after < 0.05 * before


def test_cure_chances(world, shipped, counted) -> None:
    hits = []
    for fault, known in cures(counted.rows.returns, shipped).items():
        low, high = known.interval(LEVEL)
        truth = world.described.faults[fault].cure
        hits.append(bool(low <= truth <= high))
    covers(hits)


def test_mistakes_of_looks(world, shipped, counted) -> None:
    hits = []
    for name, true in world.looks.items():
        check, answers = shipped.checks[name], [answer.name for answer in shipped.checks[name].answers]
        causes = sorted({row["proven"] for row in counted.looks if row["check"] == name})
        counts, proof = np.zeros((len(causes), len(answers))), np.zeros(len(causes))
        for row in counted.looks:
            if row["check"] == name:
                counts[causes.index(row["proven"]), answers.index(row["answer"])] += row["calls"]
                proof[causes.index(row["proven"])] += row["proof"]
        truth = np.array([world.truths[name, cause] for cause in causes])
        seen, believed = sightings(check, counts, truth, proof=proof / counts.sum(axis=1))
        low, high = rate_intervals(look_errors(seen, believed), seen, believed, level=LEVEL)
        off = ~np.eye(len(answers), dtype=bool)
        hits += ((low[0] <= true) & (true <= high[0]))[off].tolist()
    assert len(hits) > 12
    covers(hits)
