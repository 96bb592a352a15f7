"""Learning brings the odds nearer to the truth in a region that differs: the small version of `bench.worth`."""

from __future__ import annotations

import numpy as np
import pytest

from bench.worth import BELIEFS, FAMILY, TAKEN, beliefs, log_scores, region
from tundish.store.library import load

COMPLAINT, CALLS, MACHINES = "NODRAIN", 500, 1_000
# Two-sided 95 % of a normal mean.
Z95 = 1.959964


@pytest.fixture(scope="module")
def found():
    return log_scores(COMPLAINT, CALLS, MACHINES)


def apart(one: np.ndarray, other: np.ndarray) -> tuple[float, float]:
    """Ends of the 95 % interval of a mean paired difference."""
    gain = one - other
    half = Z95 * gain.std(ddof=1) / len(gain) ** 0.5
    return float(gain.mean() - half), float(gain.mean() + half)


def test_the_region_differs_as_told() -> None:
    shipped = load(FAMILY)
    there = region(shipped)
    for one in there.complaints.values():
        assert sum(one.shares.values()) == pytest.approx(1)
    before, after = shipped.complaints[COMPLAINT].shares, there.complaints[COMPLAINT].shares
    # Four times as many hoses laid wrongly, four times fewer filters blocked by the user: sixteen against each other
    assert after["S22"] / after["F14"] == pytest.approx(16 * before["S22"] / before["F14"])


@pytest.mark.parametrize("at", [0, TAKEN])
def test_learned_odds_are_better_than_shipped_ones_and_near_to_the_true_ones(found, at: int) -> None:
    low, _ = apart(found["learned", at], found["shipped", at])
    assert low > 0
    # What is lost against the truth is a small part of what was gained
    lost = float((found["known", at] - found["learned", at]).mean())
    assert lost < 0.25 * float((found["learned", at] - found["shipped", at]).mean())


def test_readings_tell_more_than_any_prior(found) -> None:
    for belief in BELIEFS:
        assert apart(found[belief, TAKEN], found[belief, 0])[0] > 0


def test_before_any_reading_the_loss_is_the_divergence_of_the_shares(found) -> None:
    known = beliefs(load(FAMILY), COMPLAINT)
    true, shipped = (np.array(list(known[belief].shares.values())) for belief in ("known", "shipped"))
    true, shipped = true / true.sum(), shipped / shipped.sum()
    divergence = float((true * np.log(true / shipped)).sum())
    low, high = apart(found["known", 0], found["shipped", 0])
    # Pairs of causes lose twice; they are 6 % of the calls
    assert low < divergence * (1 + known["known"].two) and high > divergence
