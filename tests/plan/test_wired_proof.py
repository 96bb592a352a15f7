"""The machine as left after a repair, and what proves it, held against sums by hand."""

from dataclasses import replace

import numpy as np
import pytest

from tundish.diagnosis.odds import Cloud, odds, start, weigh
from tundish.diagnosis.reading import Reading
from tundish.plan.proof import as_left, predicted_after, prove
from tundish.plan.samples import faults_of
from tundish.plan.shop import shop_for
from tundish.plan.standing import Standing
from tundish.population.build import build
from tundish.population.hypotheses import priors, shares


@pytest.fixture(scope="module")
def alone(place, toy):
    """Machines with S04 alone, F01 alone or nothing wrong; and the chance of each."""
    held = build(place, "SLOW", 2_000, 41)
    record = toy.complaints["SLOW"]
    cloud = start(held, priors(held.hypotheses, record, shares(toy, record, None, ())))
    kinds = faults_of(place, held, np.arange(held.size))
    keep = np.array([len(f) < 2 for f in kinds])
    weight = np.where(keep, cloud.log_weight, -np.inf)
    chance = {
        n: np.exp(weight[[f == s for f in kinds]]).sum()
        for n, s in (("S04", {"S04"}), ("F01", {"F01"}), ("", set()))
    }
    total = sum(chance.values())
    return Cloud(held, weight, -np.inf), {n: c / total for n, c in chance.items()}


def test_after_a_failed_repair_the_odds_are_those_of_bayes(place, toy, alone):
    cloud, chance = alone
    rng, got = np.random.default_rng(1), []
    for _ in range(6):
        got.append(odds(as_left(place, cloud, ["S04"], rng, works=False)))
    # It fails when S04 was not cured; when F01 acts at the test; always when nothing was wrong
    cure, acts = toy.faults["S04"].cure, toy.faults["F01"].acts
    fails = {"S04": chance["S04"] * (1 - cure), "F01": chance["F01"] * acts, "": chance[""]}
    for fault in ("S04", "F01"):
        mean = float(np.mean([g.causes[fault] for g in got]))
        assert mean == pytest.approx(fails[fault] / sum(fails.values()), abs=0.05)


def test_after_a_repair_that_works_only_a_sleeping_fault_is_left(place, toy, alone):
    cloud, chance = alone
    after = odds(as_left(place, cloud, ["S04"], np.random.default_rng(2), works=True))
    works = {
        "S04": chance["S04"] * toy.faults["S04"].cure,
        "F01": chance["F01"] * (1 - toy.faults["F01"].acts),
    }
    assert after.causes["S04"] == pytest.approx(0.0, abs=1e-9)
    assert after.causes["F01"] == pytest.approx(works["F01"] / sum(works.values()), abs=0.06)


def test_readings_as_left_show_the_cured_machine(place, toy, alone):
    """A cleaned screen lets through what a healthy machine does: the look at the jet must not show what it showed."""
    cloud, _ = alone
    after = as_left(place, cloud, ["S04"], np.random.default_rng(3), works=True)
    names = [a.name for a in toy.checks["L03"].answers]
    strong = (after.population.row("L03") == names.index("strong"))[np.isfinite(after.log_weight)]
    sick = cloud.population.row("L03")[np.isfinite(cloud.log_weight)] == names.index("strong")
    assert strong.mean() > sick.mean() + 0.3


def test_a_proof_leaves_less_than_before_and_needs_a_check_that_shows_the_fault(place, toy, alone):
    cloud, _ = alone
    shop = shop_for(toy.markets["EU"])
    after = as_left(place, cloud, ["S04"], np.random.default_rng(4), works=True)
    found = prove(place, after, shop, Standing(), ["S04"], np.random.default_rng(5))
    assert found.left <= found.before + 1e-9
    # Only looks and readings taken as used: nothing isolated, nothing pulled out
    assert set(found.checks) <= {"T01", "L03"}
    assert "L03" in found.checks
    assert found.predicted["L03"].answers["strong"] > 0.5
    assert found.cost == pytest.approx(found.minutes * shop.rate)
    # A limit nothing can meet leaves it unproven
    assert not prove(
        place, after, replace(shop, limit=0.0), Standing(), ["S04"], np.random.default_rng(5)
    ).proven


def test_a_good_reading_as_left_brings_it_nearer_to_proven_and_a_bad_one_farther(place, toy, alone):
    cloud, _ = alone
    shop = shop_for(toy.markets["EU"])
    after = as_left(place, cloud, ["S04"], np.random.default_rng(6), works=None)

    def left(answer):
        read = weigh(after, toy.checks, [Reading("L03", answer=answer)])
        return prove(
            place, read, shop, Standing(read=frozenset({"L03"})), ["S04"], np.random.default_rng(7)
        ).before

    assert left("strong") < left("weak")


def test_what_is_predicted_before_the_repair_is_what_is_shown_after_it(place, toy, alone):
    cloud, _ = alone
    told = predicted_after(place, cloud, ["S04"], ["L03"], np.random.default_rng(8))["L03"]
    after = as_left(place, cloud, ["S04"], np.random.default_rng(9), works=True)
    names = [a.name for a in toy.checks["L03"].answers]
    kinds = faults_of(place, after.population, np.arange(after.population.size))
    cured = np.array([not f for f in kinds]) & np.isfinite(after.log_weight)
    shown = (after.population.row("L03")[cured] == names.index("strong")).mean()
    assert told.answers["strong"] == pytest.approx(shown, abs=0.15)
