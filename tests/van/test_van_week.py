"""Weeks played through: the plan keeps what it promises, and beats the usual stock."""

import numpy as np
import pytest
from van_days import key, pick, plain, random_day

from tundish.van.errors import VanError
from tundish.van.kit import valued
from tundish.van.need import CallNeed
from tundish.van.part import Part
from tundish.van.tour import tour
from tundish.van.week import by_plan, by_price, drawn, mixed, simulate

# Standard errors; a right promise goes farther once in 16,000 times.
FAR = 4.0


@pytest.fixture(scope="module")
def pool():
    calls, parts = random_day(np.random.default_rng(7), calls=12, parts=25, sets=10)
    priced = {
        k: Part(k, p.holding / 4, 0.0, 1.0, price=20 * (i % 5)) for i, (k, p) in enumerate(parts.items())
    }
    return calls, priced


def test_the_promised_rate_is_the_one_met(pool):
    calls, parts = pool
    rng = np.random.default_rng(8)
    days = mixed(calls, np.ones(len(calls)), rng, days=120, calls=6)
    load = by_plan(parts)
    kits = [valued(tour(day, parts), load(day)) for day in days]
    met = simulate(days, parts, load, rng)
    assert met.calls == 720
    assert abs(met.rate - np.mean([k.fill for k in kits])) < FAR * met.error
    spread = np.std([k.cost for k in kits]) + 100.0
    assert met.cost == pytest.approx(np.mean([k.cost for k in kits]), abs=FAR * spread / np.sqrt(120))


def test_the_plan_costs_less_than_habit_at_the_same_calls(pool):
    calls, parts = pool
    days = mixed(calls, np.ones(len(calls)), np.random.default_rng(9), days=100, calls=6)
    plan, usual, nothing = (
        simulate(days, parts, way, np.random.default_rng(10))
        for way in (by_plan(parts), by_price(parts, 40.0), by_price(parts, -1.0))
    )
    assert plan.cost < usual.cost
    assert plan.rate > usual.rate > nothing.rate
    tight = simulate(days, parts, by_plan(parts, space=usual.space), np.random.default_rng(10))
    assert tight.space <= usual.space
    assert tight.rate > usual.rate


def test_needs_are_drawn_with_their_chances():
    call, rng = CallNeed("a", {pick(1): 0.3, pick(1, 2): 0.2}, 10.0, unknown=0.1), np.random.default_rng(11)
    seen = [drawn(call, rng) for _ in range(4_000)]
    for needed, chance in ((pick(1), 0.3), (pick(1, 2), 0.2), (None, 0.1), (frozenset(), 0.4)):
        assert abs(seen.count(needed) / 4_000 - chance) < FAR * np.sqrt(chance * (1 - chance) / 4_000)


def test_a_week_without_calls():
    empty = simulate([[], []], plain([1.0]), by_price(plain([1.0]), 1.0), np.random.default_rng(0))
    assert (empty.calls, empty.rate, empty.error, empty.cost) == (0, 1.0, 0.0, 1.0)
    assert by_price(plain([1.0]), 1.0)([]) == {key(1): 1}


def test_one_share_for_each_call():
    with pytest.raises(VanError, match="2 calls"):
        mixed([CallNeed("a", {}, 1.0)] * 2, [1.0], np.random.default_rng(0), days=1, calls=1)
