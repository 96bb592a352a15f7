"""What is learned covers the truth as often as it says, on worlds that are drawn; the limit is 3.3 binomial standard errors.

Where the prior is the world's own, coverage is exact. Where a method is large-sample, the sample is as large as it asks for.
"""

from __future__ import annotations

from itertools import product

import numpy as np
import pytest
from scipy.optimize import minimize
from scipy.stats import binom, dirichlet_multinomial

from tundish.history.amounts import Amount, learned_amount
from tundish.history.counting import jeffreys, wilson
from tundish.history.looks import Believed, Sightings, look_errors
from tundish.history.looks_spread import rate_intervals
from tundish.history.noisy import CallbackRates, cure_chance, held_up
from tundish.history.partial import (
    SHIPPED,
    SHIPPED_FACTOR,
    centres,
    pooled_shares,
    rate_pool,
    shares_log_likelihood,
    trust,
)
from tundish.history.tilted import base_shares
from tundish.history.week import ratio_interval

LEVEL = 0.9


def covers(hits: list[bool], level: float = LEVEL) -> None:
    """Fail when coverage is off by more than chance explains."""
    n, error = len(hits), (level * (1 - level) / len(hits)) ** 0.5
    assert abs(np.mean(hits) - level) < 3.3 * error, f"{np.mean(hits):.3f} of {n} covered"


def test_shares_of_complaints() -> None:
    rng = np.random.default_rng(1)
    hits, worths = [], []
    for _ in range(300):
        c = SHIPPED * SHIPPED_FACTOR ** rng.standard_normal()
        centre = rng.dirichlet(np.full(5, 2.0), size=6)
        truth = np.array([rng.dirichlet(c * row) for row in centre])
        counts = np.array([rng.multinomial(rng.integers(0, 120), row) for row in truth])
        worth = trust(counts, centre)
        low, high = worth.interval(LEVEL)
        worths.append(low <= c <= high)
        # One share of each world: those of one world hang together
        found = pooled_shares(counts, centre, worth, level=LEVEL)
        g, k = rng.integers(6), rng.integers(5)
        hits.append(bool(found.low[g, k] <= truth[g, k] <= found.high[g, k]))
    covers(hits)
    covers(worths)


def test_shares_learned_are_nearer_to_the_truth_than_shipped_and_raw() -> None:
    rng = np.random.default_rng(2)
    errors = np.zeros(3)
    for _ in range(60):
        centre = rng.dirichlet(np.full(6, 2.0), size=5)
        truth = np.array([rng.dirichlet(40 * row) for row in centre])
        counts = np.array([rng.multinomial(25, row) for row in truth])
        learned = pooled_shares(counts, centre, trust(counts, centre)).mean
        for place, guess in enumerate((learned, centre, counts / 25)):
            errors[place] += ((guess - truth) ** 2).sum()
    assert errors[0] < 0.8 * errors[1]
    assert errors[0] < 0.8 * errors[2]


def test_age_bands_lean_on_each_other() -> None:
    """Bands that share a centre far from what shipped: the others' calls must bring a band with few calls nearer to the truth."""
    rng = np.random.default_rng(3)
    shipped, errors, hits = np.array([0.5, 0.3, 0.2]), np.zeros(2), []
    for _ in range(300):
        bands = np.array([rng.dirichlet(60 * np.array([0.2, 0.3, 0.5])) for _ in range(4)])
        counts = np.array(
            [rng.multinomial(n, band) for n, band in zip((4, 150, 150, 150), bands, strict=True)]
        )
        middle = centres(counts, shipped)
        found = pooled_shares(counts, middle, trust(counts, middle), level=LEVEL)
        alone = pooled_shares(counts[:1], shipped, trust(counts[:1], shipped)).mean
        errors += ((found.mean[0] - bands[0]) ** 2).sum(), ((alone[0] - bands[0]) ** 2).sum()
        k = rng.integers(3)
        hits.append(bool(found.low[0, k] <= bands[0, k] <= found.high[0, k]))
    assert errors[0] < 0.3 * errors[1]
    # The middle is taken as known, so the interval is a little short: not below 85 %
    assert np.mean(hits) > 0.85 - 3.3 * (0.85 * 0.15 / 300) ** 0.5


def test_rates_of_shops() -> None:
    """Twenty shops, as the published groups: rates from Beta(2.4, 14.3)."""
    rng = np.random.default_rng(4)
    hits = []
    for _ in range(300):
        truth, totals = rng.beta(2.4, 14.3, 20), rng.integers(5, 60, 20).astype(float)
        found = rng.binomial(totals.astype(int), truth).astype(float)
        pool = rate_pool(found, totals)
        low, high = pool.intervals(found[:1], totals[:1], LEVEL)
        hits.append(bool(low[0] <= truth[0] <= high[0]))
    covers(hits)


def test_concentration_is_that_of_scipy() -> None:
    counts, centre = np.array([[3.0, 1, 0], [0, 4, 2]]), np.array([[0.5, 0.3, 0.2]] * 2)
    ours = shares_log_likelihood(counts, centre, np.array([2.0, 30.0]))
    # scipy's holds the number of orders, which does not depend on c
    theirs = [
        sum(dirichlet_multinomial.logpmf(row.astype(int), c * centre[0], int(row.sum())) for row in counts)
        for c in (2.0, 30.0)
    ]
    assert ours[1] - ours[0] == pytest.approx(theirs[1] - theirs[0], rel=1e-10)


def test_cure_chances_from_callbacks_of_young_and_old_calls() -> None:
    rng = np.random.default_rng(5)
    rates, hits = CallbackRates(right=0.04, wrong=0.55), []
    for _ in range(500):
        cure = rng.beta(40.0, 10.0)
        days = rng.uniform(0, 60, 300)
        chance = np.where(rng.random(300) < cure, rates.right, rates.wrong) * rates.watched(days)
        back = rng.random(300) < chance
        known = cure_chance(held_up(int(back.sum()), days[~back], rates), expected=0.8, calls=50.0)
        low, high = known.interval(LEVEL)
        hits.append(low <= cure <= high)
    covers(hits)


def test_young_calls_left_at_full_weight_would_be_noticed() -> None:
    """The same calls with every quiet one taken as watched for a month: cure chances come out too high."""
    rng = np.random.default_rng(6)
    rates, hits = CallbackRates(), []
    for _ in range(200):
        cure, days = rng.beta(40.0, 10.0), rng.uniform(0, 15, 600)
        chance = np.where(rng.random(600) < cure, rates.right, rates.wrong) * rates.watched(days)
        back = rng.random(600) < chance
        quiet = np.full(int((~back).sum()), 30.0)
        low, high = cure_chance(held_up(int(back.sum()), quiet, rates), expected=0.8).interval(LEVEL)
        hits.append(low <= cure <= high)
    assert np.mean(hits) < 0.7


ROWS = np.array(list(product([0, 1], repeat=3)))


def drawn_looks(rng: np.random.Generator, rates: np.ndarray, share: float, items: int) -> np.ndarray:
    """(8,) how often each pattern of three yes-no answers came."""
    by_class = [np.prod([rates[r, j, ROWS[:, r]] for r in range(3)], axis=0) for j in (0, 1)]
    return rng.multinomial(items, share * by_class[0] + (1 - share) * by_class[1]).astype(float)


def test_errors_of_looks_without_proof() -> None:
    rng = np.random.default_rng(7)
    hits, off = [], []
    for _ in range(300):
        right = rng.uniform(0.75, 0.95, (3, 2))
        rates = np.stack(
            [np.stack([right[:, 0], 1 - right[:, 0]], 1), np.stack([1 - right[:, 1], right[:, 1]], 1)], 1
        )
        times = drawn_looks(rng, rates, rng.uniform(0.35, 0.65), 1500)
        seen, weak = Sightings(np.eye(2)[ROWS], times=times), Believed(rates=0.5)
        found = look_errors(seen, weak, until=1e-7)
        low, high = rate_intervals(found, seen, weak, level=LEVEL)
        r, j = rng.integers(3), rng.integers(2)
        hits.append(bool(low[r, j, 0] <= rates[r, j, 0] <= high[r, j, 0]))
        off.append(found.rates[r, j, 0] - rates[r, j, 0])
    covers(hits)
    assert abs(np.mean(off)) < 3.3 * np.std(off) / len(off) ** 0.5 + 0.005


def test_proof_of_some_calls_narrows_the_errors() -> None:
    rng = np.random.default_rng(8)
    rates = np.array([[[0.9, 0.1], [0.2, 0.8]]] * 2)
    truth = rng.random(400) < 0.5
    said = np.array([[rng.random() < rates[r, int(t), 1] for r in range(2)] for t in truth]).astype(int)
    proven = np.full((400, 2), 1.0)
    proven[:200] = np.eye(2)[truth[:200].astype(int)]
    answers = np.eye(2)[said]
    with_proof = Sightings(answers, proven=proven)
    found = look_errors(with_proof)
    # Two readers in one population cannot be told apart from their own answers; proof does it
    assert found.rates == pytest.approx(rates, abs=0.08)
    low, high = rate_intervals(found, with_proof)
    without = Sightings(answers)
    blind = rate_intervals(look_errors(without, Believed(rates=0.5)), without, Believed(rates=0.5))
    assert (high - low).mean() < 0.5 * (blind[1] - blind[0]).mean()


def test_minutes() -> None:
    rng = np.random.default_rng(9)
    before, hits, to_come = Amount(np.log(40.0), 5.0, 8.0, 0.3**2), [], []
    for _ in range(500):
        variance = before.freedom * before.square / rng.chisquare(before.freedom)
        mean = rng.normal(before.mean, (variance / before.middle) ** 0.5)
        after = learned_amount(before, np.exp(rng.normal(mean, variance**0.5, rng.integers(0, 15))))
        low, high = after.interval(LEVEL)
        hits.append(low <= np.exp(mean) <= high)
        low, high = after.next(0.8)
        to_come.append(bool(low <= np.exp(rng.normal(mean, variance**0.5)) <= high))
    covers(hits)
    covers(to_come, 0.8)


def test_revenue_an_hour() -> None:
    rng = np.random.default_rng(10)
    truth = (60 * np.exp(0.08 + 0.045) + np.exp(3 + 0.125)) / np.exp(0.08)
    for calls in (6, 25):
        hits = []
        for _ in range(500):
            hours = rng.lognormal(0, 0.4, calls)
            money = hours * 60 * rng.lognormal(0, 0.3, calls) + rng.lognormal(3, 0.5, calls)
            low, high = ratio_interval(money, hours, rng, level=LEVEL, rounds=500)
            hits.append(low <= truth <= high)
        covers(hits)


@pytest.mark.parametrize("interval", [wilson, jeffreys])
def test_shares_of_few_calls_exactly(interval) -> None:
    """Coverage summed over all counts, no drawing: its mean over true shares is near nominal, though single shares differ."""
    truths = np.linspace(0.05, 0.95, 181)
    for n in (5, 10, 30):
        ends = np.array([interval(hit, n, 0.95) for hit in range(n + 1)])
        inside = (ends[:, :1] <= truths) & (truths <= ends[:, 1:])
        cover = (binom.pmf(np.arange(n + 1)[:, None], n, truths) * inside).sum(axis=0)
        assert cover.mean() == pytest.approx(0.95, abs=0.015)
        assert cover.min() > 0.8


def test_base_shares_behind_circumstances() -> None:
    rng = np.random.default_rng(11)
    truth = np.array([0.5, 0.3, 0.15, 0.05])
    factors = np.array([[1.0, 1, 1, 1], [0.3, 0.3, 2, 2], [1, 8, 1, 1]])
    counts = np.array([rng.multinomial(20_000, f * truth / (f @ truth)) for f in factors]).astype(float)
    found = base_shares(counts, factors, 50 * np.full(4, 0.25))
    assert found == pytest.approx(truth, abs=0.01)
    # Counting straight would be off by far
    straight = counts.sum(axis=0) / counts.sum()
    assert np.abs(straight - truth).max() > 0.1


def test_base_shares_are_where_the_posterior_is_highest() -> None:
    counts, factors = np.array([[3.0, 5, 2], [4, 1, 9]]), np.array([[1.0, 2, 0.5], [0.2, 1, 3]])
    before = np.array([4.0, 3, 3])

    def loss(free: np.ndarray) -> float:
        share = np.exp(np.append(free, 0.0))
        share /= share.sum()
        tilted = factors * share / (factors @ share)[:, None]
        return -float((counts * np.log(tilted)).sum() + before @ np.log(share))

    best = minimize(loss, np.zeros(2), tol=1e-12).x
    share = np.exp(np.append(best, 0.0))
    assert base_shares(counts, factors, before) == pytest.approx(share / share.sum(), abs=1e-5)
