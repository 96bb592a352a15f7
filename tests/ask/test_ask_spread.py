"""Quantiles and tails of mixtures, by hand, by simulation, and the law that knowing more never widens on average."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tundish.ask.spread import mean, quantile, reach, tails

EXACT = {"rel": 0, "abs": 1e-9}


def array(*values: float) -> np.ndarray:
    return np.array(values)


def test_two_values_and_an_even_spread_by_hand():
    # 0.8 at 100, 0.2 even from 200 to 300: P90 halfway in the spread; the dearest tenth is its upper half, mean 275.
    mixture = array(0.8, 0.2), array(100.0, 200.0), array(100.0, 300.0)
    assert quantile(*mixture, share=0.9) == pytest.approx(250, **EXACT)
    assert quantile(*mixture, share=0.1) == quantile(*mixture, share=0.8) == 100
    assert tails(*mixture) == pytest.approx((100, 275), **EXACT)
    assert reach(*mixture) == pytest.approx(175, **EXACT)
    assert mean(*mixture) == pytest.approx(0.8 * 100 + 0.2 * 250, **EXACT)


def test_spreads_that_overlap_by_hand():
    # Half even 0-100, half even 50-150. F(x) = x/200 to 50, then 0.25 + (x-50)/100 to 100, then 0.75 + (x-100)/200.
    mixture = array(1.0, 1.0), array(0.0, 50.0), array(100.0, 150.0)
    for share, value in ((0.1, 20), (0.25, 50), (0.5, 75), (0.9, 130)):
        assert quantile(*mixture, share=share) == pytest.approx(value, **EXACT)
    # The dearest tenth is even from 130 to 150, the cheapest from 0 to 20.
    assert tails(*mixture) == pytest.approx((10, 140), **EXACT)


def test_against_draws():
    rng = np.random.default_rng(4)
    weight, low = rng.dirichlet(np.ones(7)), rng.uniform(50, 400, 7)
    high = low + rng.uniform(0, 200, 7) * (rng.random(7) < 0.7)
    kind = rng.choice(7, 400_000, p=weight)
    drawn = np.sort(rng.uniform(low[kind], high[kind]))
    assert quantile(weight, low, high, share=0.9) == pytest.approx(np.quantile(drawn, 0.9), abs=3)
    assert tails(weight, low, high) == pytest.approx((drawn[:40_000].mean(), drawn[-40_000:].mean()), abs=1.5)


shares = st.lists(st.floats(0, 1), min_size=4, max_size=4)
money = st.lists(st.floats(0, 900), min_size=4, max_size=4)


@given(weight=shares, low=money, more=money, split=shares)
def test_an_answer_never_widens_the_reach_on_average(weight, low, more, split):
    w, a, b, s = np.array(weight) + 0.01, np.array(low), np.array(low) + np.array(more), np.array(split)
    yes, no = w * s, w * (1 - s)
    then = sum(row.sum() / w.sum() * reach(row, a, b) for row in (yes, no) if row.sum() > 1e-9)
    assert then <= reach(w, a, b) + 1e-6
