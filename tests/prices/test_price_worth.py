"""Life, annual cost and worth against plain sums, quadrature, simulation and facts that must hold."""

from __future__ import annotations

from dataclasses import replace
from math import exp, inf, log1p

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from tundish.prices.age_replacement import best_replacement, cost_rate, lived
from tundish.prices.annual import annual_costs, economic_life, marginal_costs, years_to_keep
from tundish.prices.errors import PriceError
from tundish.prices.life import LARGE, Life, usual_life
from tundish.prices.worth import Case, break_even, keep_or_replace, new_a_year

SHAPES = st.floats(0.7, 6)
AGES = st.floats(0, 40)
CASE = Case(new_price=585, life=Life.of_mean(14, 2.5), age=8, rate=0.05)


@given(SHAPES, AGES, st.floats(0.3, 3))
def test_remaining_life_is_the_integral_of_survival(shape: float, age: float, use: float) -> None:
    life = Life(13, shape)
    expected, _ = quad(
        lambda t: life.outlives(age * use, t * use), 0, inf, epsabs=1e-12, epsrel=1e-10, limit=400
    )
    assert life.remaining(age, use=use) == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize("shape", [0.5, 1.0, 1.7, 2.5, 6.0])
def test_the_two_formulas_of_remaining_life_meet(shape: float) -> None:
    life = Life(13, shape)
    ages = [13 * (LARGE * k) ** (1 / shape) for k in (1 - 1e-9, 1 + 1e-9)]
    below, above = map(life.remaining, ages)
    assert below == pytest.approx(above, rel=1e-7)
    # Far beyond any machine it is still a number
    assert 0 < life.remaining(1e4 * 13 if shape < 2 else 1e3) < inf


@given(SHAPES, AGES)
def test_wear_shortens_what_is_left(shape: float, age: float) -> None:
    life = Life(13, shape)
    later, now = life.remaining(age + 1), life.remaining(age)
    if shape > 1.001:
        assert later < now
    elif shape < 0.999:
        assert later > now


def test_twice_the_use_is_twice_the_age_and_half_the_time() -> None:
    life = Life(13, 2)
    assert life.remaining(5, use=2) == pytest.approx(life.remaining(10) / 2, rel=1e-12)


def test_discounted_life_of_a_memoryless_machine() -> None:
    # Closed form: 1 / (hazard + force of interest)
    for rate in (0.01, 0.05, 0.3):
        assert Life(10, 1).discounted(7, rate) == pytest.approx(1 / (0.1 + log1p(rate)), rel=1e-9)


@given(st.floats(1.2, 5), st.floats(0, 25), st.floats(0.001, 0.3))
def test_discounting_lies_between_its_bounds(shape: float, age: float, rate: float) -> None:
    life = Life(13, shape)
    worth, left, force = life.discounted(age, rate), life.remaining(age), log1p(rate)
    # Jensen: a certain end at the mean is worth more than an uncertain one
    assert worth <= (1 - exp(-force * left)) / force * (1 + 1e-9)
    assert life.discounted(age, rate * 2) < worth < left


def test_renewal_by_simulation() -> None:
    """A chain of machines, each bought when the last one dies, costs price / discounted life a year for ever."""
    rng, life, rate = np.random.default_rng([7, 3]), Life(14, 2.5), 0.06
    ends = np.cumsum(life.scale * rng.weibull(life.shape, (40_000, 60)), axis=1)
    starts = np.hstack([np.zeros((len(ends), 1)), ends[:, :-1]])
    spent = 585 * np.exp(-log1p(rate) * starts).sum(axis=1)
    a_year = spent * log1p(rate)
    expected = new_a_year(Case(new_price=585, life=life, age=0, rate=rate))
    assert abs(a_year.mean() - expected) < 4 * a_year.std() / np.sqrt(len(ends))


def test_break_even_by_living_through_it() -> None:
    """At the break-even price, repairing and replacing cost the same over simulated futures, failed repairs included."""
    rng, rate = np.random.default_rng([7, 4]), 0.05
    case = replace(CASE, chance_cures=0.8, running_old=60, running_new=25)
    force, life, many = log1p(rate), case.life, 400_000
    # Years left given that it has reached its age: the inverse of the conditional survival
    left = (
        life.scale * ((case.age / life.scale) ** life.shape - np.log(rng.random(many))) ** (1 / life.shape)
        - case.age
    )
    cured = rng.random(many) < case.chance_cures
    left = np.where(cured, left, 0.0)
    after = new_a_year(case) / force * np.exp(-force * left)
    repair = break_even(case) + case.running_old * -np.expm1(-force * left) / force + after
    replaced = new_a_year(case) / force
    assert abs(repair.mean() - replaced) < 4 * repair.std() / np.sqrt(many)


def test_as_good_as_new_is_worth_a_new_one() -> None:
    assert break_even(replace(CASE, age=0.0)) == pytest.approx(585)
    assert break_even(replace(CASE, age=0.0, chance_cures=0.5)) == pytest.approx(292.5)


@given(st.floats(0, 30), st.floats(0.1, 10), st.floats(0, 1))
def test_older_and_less_sure_is_worth_less(age: float, older: float, chance: float) -> None:
    now = break_even(replace(CASE, age=age))
    assert break_even(replace(CASE, age=age + older)) < now
    assert break_even(replace(CASE, age=age, chance_cures=chance)) == pytest.approx(chance * now)
    assert break_even(replace(CASE, age=age, running_old=50)) < now


def test_the_curve_crosses_at_the_break_even() -> None:
    case = replace(CASE, chance_cures=0.9, running_old=40, running_new=30)
    at = break_even(case)
    curve = keep_or_replace(case, [0, at - 1, at, at + 1, 600])
    assert curve.keep[2] == pytest.approx(curve.replace)
    assert curve.keep[1] < curve.replace < curve.keep[3]
    assert curve.break_even == at
    assert curve.remaining == case.life.remaining(8)
    assert sorted(curve.rules_of_thumb.values()) == pytest.approx([0.33 * 585, 0.5 * 585])


def test_a_repair_that_cannot_cure_never_pays() -> None:
    curve = keep_or_replace(replace(CASE, chance_cures=0.0), [0, 50])
    assert curve.keep == (inf, inf)
    assert curve.break_even == 0


@given(
    st.floats(1, 1e4), st.lists(st.tuples(st.floats(0, 1e4), st.floats(0, 1e4)), min_size=1, max_size=10),
    st.floats(0, 0.3),
)  # fmt: skip
def test_annual_cost_is_the_discounted_mean_of_the_marginal(
    price: float, years: list[tuple[float, float]], rate: float
) -> None:
    salvage, running = zip(*years, strict=True)
    costs = annual_costs(price, salvage, running, rate=rate)
    marginal = marginal_costs(price, salvage, running, rate=rate)
    for n in range(1, len(years) + 1):
        weights = [(1 + rate) ** -k for k in range(1, n + 1)]
        mean = sum(w * m for w, m in zip(weights, marginal[:n], strict=True)) / sum(weights)
        assert costs[n - 1] == pytest.approx(mean, rel=1e-9, abs=1e-6)
    assert costs[economic_life(costs) - 1] == costs.min()


def test_keeping_stops_where_a_year_costs_more() -> None:
    assert [years_to_keep([3, 1, 2, 5], c) for c in (0, 3.5, 9)] == [0, 3, 4]


@given(st.floats(1.1, 6), st.floats(1.05, 50))
def test_the_best_age_beats_its_neighbours_and_never(shape: float, failed: float) -> None:
    life = Life(10, shape)
    best = best_replacement(life, planned=1, failed=failed)
    for age in (best.age * 0.9, best.age * 1.1, inf):
        assert cost_rate(life, age, planned=1, failed=failed) >= best.rate * (1 - 1e-9)


def test_the_cost_rate_by_simulation() -> None:
    rng, life, age = np.random.default_rng([7, 5]), Life(10, 2.5), 6.0
    ends = life.scale * rng.weibull(life.shape, 200_000)
    cost, time = np.where(ends < age, 5.0, 1.0), np.minimum(ends, age)
    rate = cost_rate(life, age, planned=1, failed=5)
    spread = (cost - rate * time).std() / np.sqrt(len(ends)) / time.mean()
    assert abs(cost.mean() / time.mean() - rate) < 4 * spread
    assert lived(life, age) == pytest.approx(quad(life.survival, 0, age)[0], rel=1e-10)


def test_a_cheap_failure_is_waited_for() -> None:
    assert best_replacement(Life(10, 3), planned=2, failed=1).age == inf
    assert best_replacement(Life(10, 3), planned=2, failed=1).rate == pytest.approx(1 / Life(10, 3).mean)


BAD = {
    "scale": lambda: Life(0, 2), "shape": lambda: Life(10, float("nan")), "shape of": lambda: Life.of_mean(10, -1),
    "age": lambda: Life(10, 2).remaining(-1), "use": lambda: Life(10, 2).remaining(1, use=0),
    "rate": lambda: Life(10, 2).discounted(1, -0.1), "family": lambda: usual_life("toaster"),
    "chance": lambda: replace(CASE, chance_cures=90), "years": lambda: annual_costs(1, [1, 2], [1], rate=0.1),
    "none": lambda: annual_costs(1, [], [], rate=0.1), "nan": lambda: annual_costs(1, [float("nan")], [1], rate=0.1),
    "at 0": lambda: cost_rate(Life(10, 2), 0, planned=1, failed=2),
    "free": lambda: best_replacement(Life(10, 2), planned=0, failed=2),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_nonsense_is_refused(name: str) -> None:
    with pytest.raises(PriceError, match="saw .*; allowed: "):
        BAD[name]()
