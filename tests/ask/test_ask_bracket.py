"""Bills and brackets worked by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from by_hand import EVEN, SURE, USELESS, bills_at

from tundish.ask.bracket import bracket_of, narrowing
from tundish.ask.tariff import Tariff, bills
from tundish.plan.shop import shop_for

EXACT = {"rel": 0, "abs": 1e-9}
A, B, C = frozenset({"A"}), frozenset({"B"}), frozenset({"C"})


def test_three_causes_by_hand():
    """85 % at 100, 10 % at 200, 5 % at 500: P90 is 200; without the middle cause 0.05/0.9 < 0.1 are left above 100."""
    found = bracket_of([A, B, C], np.array([0.85, 0.1, 0.05, 0.0]), bills_at(100, 200, 500, 999), visit=80)
    assert (found.low, found.high, found.width, found.visit) == (100, 200, 100, 80)
    assert found.middle == pytest.approx(130, **EXACT)
    assert found.apart == pytest.approx(250, **EXACT)
    # Ruling B out leaves one value; ruling C out leaves 200 for 10.5 %, so the width stays; A out leaves 200-500, wider.
    assert [(r.cause, r.chance, r.low, r.high) for r in found.reasons] == [("B", 0.1, 200, 200)]
    assert found.reasons[0].narrower == pytest.approx(100, **EXACT)


def test_one_sure_cause_has_no_reason():
    found = bracket_of([A], np.array([1.0, 0.0]), bills_at(150, 999), visit=80)
    assert (found.low, found.high, found.reasons) == (150, 150, ())


def test_another_trade_is_told_beside_it():
    billed = bills_at(80, 200, 80, away=(1.0, 0.0, 0.0))
    assert bracket_of([A, B], np.array([0.3, 0.6, 0.1]), billed, visit=80).elsewhere == pytest.approx(0.3)


def test_narrowing_by_hand():
    two = bills_at(100, 300, 200)
    assert narrowing(EVEN, two, SURE) == pytest.approx(200, **EXACT)
    assert narrowing(EVEN, two, USELESS) == pytest.approx(0, **EXACT)
    # Right nine times in ten: after it 0.9 against 0.1, P90 at the cheaper, its dearest tenth all at the dearer: still 200 apart.
    fair = np.array([[0.9, 0.1, 0.5], [0.1, 0.9, 0.5]])
    assert narrowing(EVEN, two, fair) == pytest.approx(0, **EXACT)
    # 19 times in 20: the tail is half the other value, so 100 apart.
    good = np.array([[0.95, 0.05, 0.5], [0.05, 0.95, 0.5]])
    assert narrowing(EVEN, two, good) == pytest.approx(100, **EXACT)


def test_a_sure_answer_never_widens():
    rng = np.random.default_rng(8)
    for _ in range(200):
        n = int(rng.integers(2, 8))
        low = rng.uniform(50, 500, n)
        billed = replace(bills_at(*low), high=low + rng.uniform(0, 300, n))
        weight = rng.dirichlet(np.full(n, 0.4))
        sure = narrowing(weight, billed, np.eye(n))
        part = narrowing(weight, billed, rng.dirichlet(np.ones(3), n).T)
        # Knowing the kind narrows at least as much as any other answer.
        assert sure >= part - 1e-9 >= -1e-9


@pytest.fixture
def shop(toy):
    return replace(shop_for(toy.markets["EU"]), call_out=80.0, rate=1.5)


def test_bills_by_hand(toy, shop):
    """S04 and F01 of the toy family; labour beyond half an hour in half hours at 90 an hour, parts x1.65."""
    toy = replace(toy, faults={**toy.faults, "S04": replace(toy.faults["S04"], kind="wear", access=("OUT",),
        price={"EUR": (10.0, 20.0)}, minutes=(20.0, 70.0)), "F01": replace(toy.faults["F01"], kind="wear",
        access=("TOP",), price={"EUR": (100.0, 140.0)}, minutes=(35.0, 35.0))})  # fmt: skip
    tariff = Tariff(call_out=80, rate=1.5)
    both = frozenset({"S04", "F01"})
    found = bills(toy, shop, tariff, kinds=[frozenset({"S04"}), frozenset({"F01"}), both, frozenset()])
    # S04: labour 0 to 90, part 16.5 to 33: middle 45 + 24.75, half width sqrt(45^2 + 8.25^2).
    half = (45**2 + 8.25**2) ** 0.5
    assert (found.low[0], found.high[0]) == pytest.approx((149.75 - half, 149.75 + half), **EXACT)
    # F01: 5 minutes over, so one half hour, 45; the part is a board, x1.25.
    assert (found.low[1], found.high[1]) == pytest.approx((80 + 45 + 125, 80 + 45 + 175), **EXACT)
    # Both: 55 to 105 minutes, 25 to 75 over, 45 to 135; middle 90 + 24.75 + 150.
    half = (45**2 + 8.25**2 + 25**2) ** 0.5
    assert (found.low[2], found.high[2]) == pytest.approx((344.75 - half, 344.75 + half), **EXACT)
    # Nothing wrong is the visit; something not described anything from it to the dearest.
    assert (found.low[3], found.high[3], found.low[4]) == (80, 80, 80)
    assert found.high[4] == found.high.max() and not found.away.any()


def test_tax_is_on_everything(toy, shop):
    kinds = [frozenset({"S04"}), frozenset()]
    plain, taxed = (bills(toy, shop, Tariff(call_out=80, rate=1.5, tax=t), kinds=kinds) for t in (0.0, 0.2))
    assert taxed.low == pytest.approx(1.2 * plain.low) and taxed.high == pytest.approx(1.2 * plain.high)
