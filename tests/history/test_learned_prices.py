"""What parts cost the shop: on top of the shipped range, whatever was mistyped, and one price for one part."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tundish.history.amounts import learned_amount, shipped
from tundish.history.learned import Learned, Provenance, applied
from tundish.history.paid import PRICE_STEP, prices_of, robust
from tundish.history.teach import taught
from tundish.plan.remedies import remedies
from tundish.plan.shop import shop_for
from tundish.store.library import load

FAMILY = load("front-load washer")


def rows_of(fault: str, paid: np.ndarray) -> list[dict]:
    """The rows an engine makes of prices."""
    steps = np.floor(np.log(paid) / PRICE_STEP + 0.5).astype(int)
    head = {"family": FAMILY.family, "fault": fault, "currency": "EUR"}
    return [{**head, "step": int(s), "calls": int((steps == s).sum()), "log": float(np.log(paid[steps == s]).sum())} for s in set(steps)]


def test_the_true_price_is_found_though_some_are_mistyped() -> None:
    rng = np.random.default_rng(2)
    hits, plain = [], []
    for _ in range(300):
        low, high = 40.0, 90.0
        truth = (low * high) ** 0.5 * rng.lognormal(0, 0.2)
        paid = truth * rng.lognormal(0, 0.12, 40)
        # Three in forty lack the point between euros and cents
        paid[:3] *= 100
        known = robust(shipped(low, high), paid, np.ones(40))
        hits.append(abs(np.log(known.median / truth)) < 0.1)
        plain.append(abs(np.log(learned_amount(shipped(low, high), paid).median / truth)) < 0.1)
    assert np.mean(hits) > 0.95
    assert np.mean(plain) < 0.2


def test_few_prices_move_little_and_none_nothing() -> None:
    low, high = FAMILY.faults["F12"].price["EUR"]
    one = prices_of(rows_of("F12", np.array([high * 2])), FAMILY)["EUR"]["F12"]
    # One price of twice the highest: the middle moves by less than a quarter, and the range is the wider for it
    assert (low * high) ** 0.5 < (one[0] * one[1]) ** 0.5 < 1.25 * (low * high) ** 0.5
    assert one[1] / one[0] > high / low
    assert prices_of([], FAMILY) == {}
    # A hose laid straight costs nothing, and another currency is not this one's
    free = next(f.id for f in FAMILY.faults.values() if f.price.get("EUR") == (0.0, 0.0))
    assert prices_of(rows_of(free, np.array([5.0])), FAMILY) == {}
    assert prices_of([{**row, "currency": "XXX"} for row in rows_of("F12", np.array([50.0]))], FAMILY) == {}


def test_one_part_keeps_one_price() -> None:
    """The valve's faults are cured by one new valve: learned from one of them, it must stay one remedy."""
    shop = shop_for(FAMILY.markets["EU"])
    shared = next(r.faults for r in remedies(FAMILY, shop, set(FAMILY.faults)) if len(r.faults) > 1 and r.price > 0)
    low, high = FAMILY.faults[shared[0]].price["EUR"]
    prices = prices_of(rows_of(shared[0], np.full(30, 2 * high)), FAMILY)
    assert set(shared) <= set(prices["EUR"])
    learned = replace(taught([], FAMILY), prices=prices)
    mine = applied(FAMILY, Learned({FAMILY.family: learned}, Provenance(30, "", "", 1, "")))
    (after,) = [r for r in remedies(mine, shop, set(mine.faults)) if shared[0] in r.faults]
    assert after.faults == shared
    assert after.price == pytest.approx(2 * high, rel=0.15) and after.price > (low + high) / 2
