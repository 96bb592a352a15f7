"""Exact money: a whole number of minor units with its currency."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from tundish.prices.errors import PriceError
from tundish.prices.rounding import Exact, exact, half_up

# Digits of the minor unit: ISO 4217, list one (currency and funds codes), from memory.
DIGITS = {
    "EUR": 2, "USD": 2, "GBP": 2, "CHF": 2, "CAD": 2, "AUD": 2, "NZD": 2, "SEK": 2, "NOK": 2, "DKK": 2, "PLN": 2,
    "CZK": 2, "JPY": 0, "ISK": 0, "KWD": 3, "TND": 3,
}  # fmt: skip
# Beyond this, programs that read JSON may lose the last digit: RFC 8259, section 6.
MOST = 2**53 - 1
_WRITTEN = re.compile(r"-?[0-9]+(?:\.([0-9]+))?", re.ASCII)


@dataclass(frozen=True)
class Money:
    """`minor` minor units (cents) of `currency`. Never a float. Raises PriceError for anything else.

    >>> Money.of("12.50", "EUR") + Money(50, "EUR")
    Money(minor=1300, currency='EUR')
    >>> str(Money(-5, "USD") * 3), str(Money(1250, "JPY"))
    ('-0.15 USD', '1250 JPY')
    """

    minor: int
    currency: str

    def __post_init__(self) -> None:
        digits_of(self.currency)
        # A bool, a float and numpy's integers all behave like an int until they are written down
        if type(self.minor) is not int or abs(self.minor) > MOST:
            raise PriceError(
                seen=f"{self.minor!r} minor units ({type(self.minor).__name__})",
                allowed=f"a whole number from {-MOST} to {MOST}",
                do="give cents as an int, or use Money.of with text",
            )

    @classmethod
    def of(cls, written: str, currency: str) -> Money:
        """Money from decimal text with a point, no thousands marks, no more decimals than the currency has."""
        digits = digits_of(currency)
        found = _WRITTEN.fullmatch(written) if isinstance(written, str) else None
        if not found or len(found[1] or "") > digits:
            raise PriceError(
                seen=f"the amount {written!r}",
                allowed=f"digits with a point and at most {digits} decimals",
                do='write it like "12.50", without signs of currency or thousands',
            )
        return cls(int(Decimal(written).scaleb(digits)), currency)

    @classmethod
    def about(cls, estimate: float, currency: str) -> Money:
        """Money from an estimate of the planner in whole units of currency; the one door from floats, half up."""
        # The shortest text that gives this float is what was typed: 0.285, not 0.28499999999999998
        return cls(half_up(exact(repr(float(estimate))) * 10 ** digits_of(currency)), currency)

    def estimate(self) -> float:
        """Units of currency for the planner's estimates; never to be turned into a bill."""
        return float(Decimal(self.minor).scaleb(-digits_of(self.currency)))

    def times(self, factor: Exact | str) -> Money:
        """The product, computed exactly and rounded once, half up.

        >>> Money(8501, "EUR").times("0.5")
        Money(minor=4251, currency='EUR')
        """
        # The one rounding of a product
        return Money(half_up(self.minor * exact(factor)), self.currency)

    def __add__(self, other: Money) -> Money:
        return Money(self.minor + self._same(other), self.currency)

    def __sub__(self, other: Money) -> Money:
        return Money(self.minor - self._same(other), self.currency)

    def __mul__(self, count: int) -> Money:
        # Half of a sum is a rounding, so it must be asked for by name
        if type(count) is not int:
            raise PriceError(
                seen=f"money times {count!r}", allowed="a whole number", do="use times() for a decimal factor"
            )
        return Money(self.minor * count, self.currency)

    __rmul__ = __mul__

    def __neg__(self) -> Money:
        return Money(-self.minor, self.currency)

    def __lt__(self, other: Money) -> bool:
        return self.minor < self._same(other)

    def __le__(self, other: Money) -> bool:
        return self.minor <= self._same(other)

    def __str__(self) -> str:
        digits = digits_of(self.currency)
        return f"{Decimal(self.minor).scaleb(-digits):.{digits}f} {self.currency}"

    def _same(self, other: Money) -> int:
        if not isinstance(other, Money) or other.currency != self.currency:
            raise PriceError(
                seen=f"{self} together with {other}",
                allowed="money of one currency",
                do="keep a paper in one currency",
            )
        return other.minor


def digits_of(currency: str) -> int:
    """Decimals of a currency. Raises PriceError for a code not in the table.

    >>> digits_of("EUR"), digits_of("JPY")
    (2, 0)
    """
    if currency not in DIGITS:
        raise PriceError(
            seen=f"the currency {currency!r}", allowed=", ".join(DIGITS), do="use its ISO 4217 code"
        )
    return DIGITS[currency]


def total(moneys: Iterable[Money], currency: str) -> Money:
    """The sum, zero of `currency` if there is none. Raises PriceError if one is of another currency.

    >>> total([], "USD")
    Money(minor=0, currency='USD')
    """
    result = Money(0, currency)
    for money in moneys:
        result += money
    return result
