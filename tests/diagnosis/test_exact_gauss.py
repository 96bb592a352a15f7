"""Six causes, three Gaussian readings with tolerance and noise: the exact posterior is a closed form.

Threshold: the mean log score within 0.005 nat of the exact posterior's (a noise error of 20 % costs 0.02 to 0.05).
"""

import numpy as np
import pytest
from scipy import stats

from tundish.appliance.records import Check, Instrument
from tundish.diagnosis.odds import odds, start, weigh
from tundish.diagnosis.reading import Reading
from tundish.population.build import Population
from tundish.population.hypotheses import Hypothesis

CAUSES, READINGS, TOLERANCE, NOISE, EACH = 6, 3, 0.7, 0.7, 10_000
PRIOR = np.array([0.4, 0.25, 0.15, 0.1, 0.07, 0.03])
INSTRUMENT = Instrument("meter", "number", NOISE, 0.0, 0.0, 0.0, -1e9, 1e9)


@pytest.fixture(scope="module")
def problem():
    rng = np.random.default_rng(8)
    means = rng.normal(0.0, 1.5, (CAUSES, READINGS))
    checks = {
        f"R{i}": Check(
            f"R{i}", "", f"R{i}", "-", INSTRUMENT, (), {}, 0.0, 0.0, 1.0, "NONE", (), False, "", "", ()
        )
        for i in range(READINGS)
    }
    stratum = np.repeat(np.arange(CAUSES, dtype=np.int16), EACH)
    shown = (means[stratum] + TOLERANCE * rng.standard_normal((len(stratum), READINGS))).T.astype(np.float32)
    kept = tuple(Hypothesis("root", (f"F{i}",)) for i in range(CAUSES))
    held = Population(
        "", "", tuple(checks), kept, stratum, np.zeros((len(stratum), 0), np.float32), np.ones((len(stratum), 1), bool), shown,
        np.zeros((READINGS, 0), np.float32), np.ones(CAUSES), tuple((h.roots[0],) for h in kept), 0,
    )  # fmt: skip
    return means, checks, held


def test_odds_score_like_the_exact_posterior(problem):
    means, checks, held = problem
    rng, sigma = np.random.default_rng(9), np.hypot(TOLERANCE, NOISE)
    ours, exact = [], []
    for _ in range(400):
        cause = rng.choice(CAUSES, p=PRIOR)
        read = means[cause] + sigma * rng.standard_normal(READINGS)
        posterior = PRIOR * stats.norm.pdf(read, means, sigma).prod(axis=1)
        posterior /= posterior.sum()
        known = odds(
            weigh(start(held, PRIOR), checks, [Reading(f"R{i}", float(v)) for i, v in enumerate(read)])
        )
        ours.append(-np.log(known.chance[cause]))
        exact.append(-np.log(posterior[cause]))
    assert abs(np.mean(ours) - np.mean(exact)) < 0.005


def test_a_wrong_noise_would_be_noticed(problem):
    """The threshold has teeth: the same odds with the noise 40 % too small miss it."""
    means, checks, held = problem
    rng, sigma = np.random.default_rng(9), np.hypot(TOLERANCE, NOISE)
    wrong = np.hypot(TOLERANCE, 0.6 * NOISE)
    ours, exact = [], []
    for _ in range(400):
        cause = rng.choice(CAUSES, p=PRIOR)
        read = means[cause] + sigma * rng.standard_normal(READINGS)
        for scale, into in ((wrong, ours), (sigma, exact)):
            posterior = PRIOR * stats.norm.pdf(read, means, scale).prod(axis=1)
            into.append(-np.log(posterior[cause] / posterior.sum()))
    assert abs(np.mean(ours) - np.mean(exact)) > 0.005
