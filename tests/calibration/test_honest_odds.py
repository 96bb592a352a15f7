"""Are the stated odds honest on simulated front-load calls whose cause is known?

Thresholds for n = 2,000: |z| of the top cause's hits under 3, of every hypothesis under 3.5; 50, 80 and 95 % intervals within 3 binomial
standard errors; ranks uniform with p > 0.001 after Bonferroni; no truth at 0; calibration error no larger than honest odds show by chance.
Methods: Talts et al. 2018 (https://arxiv.org/abs/1804.06788), Modrak et al. 2023, data-averaged posterior.
"""

import numpy as np
import pytest

from bench.calibration import LEVELS, honesty
from tundish.population.build import build, world
from tundish.population.hypotheses import priors, shares
from tundish.store.library import load

CALLS, MACHINES, TAKEN = 2_000, 16_000, 3
WATCHED = ("C05.cold", "C09", "C07.cold")


@pytest.fixture(scope="module")
def washer():
    """Populations for the odds and for the truth, with other random numbers."""
    place = world(load("front-load washer"), "EU")
    record = place.description.complaints["SLOW"]
    ours, truth = (build(place, "SLOW", MACHINES, seed) for seed in (1, 2))
    return place, ours, truth, priors(ours.hypotheses, record, shares(place.description, record, None, ()))


@pytest.fixture(scope="module")
def found(washer):
    place, ours, truth, prior = washer
    return honesty(ours, truth, prior, place.description.checks, n=CALLS, taken=TAKEN, seed=3, watched=WATCHED)


def test_as_many_are_right_as_was_said(found):
    assert abs(found.z_top) < 3.0


def test_every_cause_is_as_frequent_as_was_said(found):
    assert found.z_worst < 3.5


def test_calibration_error_is_that_of_honest_odds(found):
    assert found.ece < found.ece_limit


def test_intervals_hold_as_many_as_they_say(found):
    # each call watches three checks or fewer, and these are not independent within a call: the calls count
    for level, share in zip(LEVELS, found.coverage, strict=True):
        assert share == pytest.approx(level, abs=3.0 * np.sqrt(level * (1 - level) / found.n))


def test_ranks_are_uniform(found):
    assert set(found.ranks) == {*WATCHED, "joint likelihood"}
    assert min(found.ranks.values()) > 0.001 / len(found.ranks)


def test_the_true_cause_is_never_ruled_out_for_good(found):
    assert found.zero == 0


def test_dishonest_odds_would_be_noticed(washer):
    """The same readings weighed from shares turned upside down must fail the test above by far."""
    place, ours, truth, prior = washer
    wrong = np.asarray(prior)[::-1]
    mixed = honesty(ours, truth, prior, place.description.checks, n=400, taken=TAKEN, seed=3, believed=list(wrong))
    assert mixed.z_worst > 3.5


def test_shares_of_the_complaint_are_what_the_machines_weigh(washer):
    """Before any reading the population must give back the shares of the trade's table, pairs aside."""
    place, ours, _, prior = washer
    record = place.description.complaints["SLOW"]
    total = sum(record.shares.values())
    single = {h.roots[0]: p for h, p in zip(ours.hypotheses, prior, strict=True) if len(h.roots) == 1}
    kept = sum(single.values())
    for fault, share in record.shares.items():
        assert single[fault] / kept == pytest.approx(share / total, rel=1e-9)
