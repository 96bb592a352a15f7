"""What was done, what was paid, and what is still due."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from tundish.prices.errors import PriceError
from tundish.prices.money import Money, total
from tundish.prices.papers import priced
from tundish.prices.tax import Line, Totals, totals


@dataclass(frozen=True)
class Payment:
    """Money received, or given back if negative. means : cash, card, transfer, in words."""

    money: Money
    on: date
    means: str


@dataclass(frozen=True)
class Invoice:
    """Lines and payments in one currency. Raises PriceError for nothing charged or more paid than charged."""

    currency: str
    lines: tuple[Line, ...]
    payments: tuple[Payment, ...] = ()

    def __post_init__(self) -> None:
        if not self.lines:
            raise PriceError(
                seen=f"{len(self.lines)} lines", allowed="at least one", do="put the call-out on a line"
            )
        gross = self.totals.gross
        # Neither more than was charged nor less than nothing; a credit note turns both round
        low, high = sorted((Money(0, self.currency), gross))
        if not low <= self.paid <= high:
            raise PriceError(
                seen=f"{self.paid} paid on {gross}",
                allowed=f"{low} to {high}",
                do="correct the payment, or give back the rest as a negative one",
            )

    @property
    def totals(self) -> Totals:
        """Sums over the lines."""
        return totals(self.lines, self.currency)

    @property
    def paid(self) -> Money:
        """Sum of the payments."""
        return total((payment.money for payment in self.payments), self.currency)

    @property
    def due(self) -> Money:
        """What is still to be paid."""
        return self.totals.gross - self.paid

    def facts(self) -> dict[str, Any]:
        """Plain values: the priced lines with payments and what is due."""
        paid = [{"date": p.on.isoformat(), "minor": p.money.minor, "means": p.means} for p in self.payments]
        return priced(self.lines, self.currency) | {"paid": paid, "due": self.due.minor}
