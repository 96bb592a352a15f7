"""Money is whole minor units of one currency; whatever is multiplied is exact until it is rounded once."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tundish.prices.errors import PriceError
from tundish.prices.money import DIGITS, MOST, Money, total
from tundish.prices.rounding import apportion, half_up

MINORS = st.integers(-(10**12), 10**12)
CURRENCIES = st.sampled_from(sorted(DIGITS))


@given(MINORS, CURRENCIES)
def test_what_is_written_reads_back(minor: int, currency: str) -> None:
    money = Money(minor, currency)
    written, code = str(money).split()
    assert (Money.of(written, code), code) == (money, currency)


@given(MINORS, st.decimals(-1000, 1000, places=4))
def test_a_product_is_rounded_as_the_standard_library_rounds(minor: int, factor: Decimal) -> None:
    # Referee: decimal's ROUND_HALF_UP, which also takes a half away from zero
    expected = (Decimal(minor) * factor).quantize(Decimal(1), ROUND_HALF_UP)
    assert Money(minor, "EUR").times(factor).minor == int(expected)


@given(MINORS, MINORS)
def test_adding_and_taking_away(one: int, two: int) -> None:
    a, b = Money(one, "USD"), Money(two, "USD")
    assert a + b - b == a
    assert a + (-a) == Money(0, "USD")
    assert (a < b, a <= b, a > b) == (one < two, one <= two, one > two)
    assert total([a, b, a], "USD") == 2 * a + b


@pytest.mark.parametrize(
    "minor", [12.5, 12.0, True, "12", np.int64(12), Decimal(12), None, MOST + 1, -MOST - 1]
)
def test_only_a_whole_number_in_bounds_is_money(minor: object) -> None:
    with pytest.raises(PriceError, match="whole number"):
        Money(minor, "EUR")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "written", ["12,50", "1e3", "12.505", " 1", "1.", ".5", "+1", "NaN", "", "1 000", "١", 12.5, None]
)
def test_sloppy_amounts_are_refused(written: object) -> None:
    with pytest.raises(PriceError, match="allowed"):
        Money.of(written, "EUR")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("written", "currency", "minor"),
    [("12.5", "EUR", 1250), ("-0.05", "USD", -5), ("1250", "JPY", 1250), ("1.234", "KWD", 1234)],
)
def test_decimals_follow_the_currency(written: str, currency: str, minor: int) -> None:
    assert Money.of(written, currency).minor == minor


def test_a_yen_has_no_decimals() -> None:
    with pytest.raises(PriceError, match="at most 0 decimals"):
        Money.of("12.5", "JPY")


@pytest.mark.parametrize("factor", [0.19, True, float("nan"), "nan", "a", Decimal("Infinity"), None])
def test_a_factor_is_never_a_float(factor: object) -> None:
    with pytest.raises(PriceError, match="factor"):
        Money(100, "EUR").times(factor)  # type: ignore[arg-type]


def test_currencies_do_not_mix() -> None:
    one, other = Money(1, "EUR"), Money(1, "USD")
    for act in (lambda: one + other, lambda: one - other, lambda: one < other, lambda: total([one], "USD")):
        with pytest.raises(PriceError, match="one currency"):
            act()
    with pytest.raises(PriceError, match="ISO 4217"):
        Money(1, "eur")
    with pytest.raises(PriceError, match="times"):
        one * 1.5  # type: ignore[operator]


# A float holds 0.285 as 0.28499999999999998; its shortest text, which people typed, is what is rounded.
@pytest.mark.parametrize(("estimate", "minor"), [(0.285, 29), (17.5, 1750), (1e-9, 0), (-2.675, -268)])
def test_an_estimate_becomes_money_by_its_shortest_text(estimate: float, minor: int) -> None:
    assert Money.about(estimate, "EUR").minor == minor


def test_an_estimate_that_is_no_number_is_refused() -> None:
    with pytest.raises(PriceError, match="nan"):
        Money.about(float("nan"), "EUR")


@given(st.lists(st.fractions(-1000, 1000, max_denominator=1000), max_size=12))
def test_shares_add_up_and_stay_near(shares: list[Fraction]) -> None:
    whole = half_up(sum(shares, Fraction(0)))
    parts = apportion(whole, shares)
    assert sum(parts) == whole
    assert all(abs(part - share) < 1 for part, share in zip(parts, shares, strict=True))


def test_a_wrong_whole_is_not_shared_out() -> None:
    with pytest.raises(PriceError, match="rounded sum"):
        apportion(3, [Fraction(1, 2), Fraction(3, 4)])
