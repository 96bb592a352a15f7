"""Minutes and prices: positive amounts that spread by a factor, learned from few calls on top of what shipped.

Logarithms are normal with unknown mean and variance; the prior is normal-inverse-gamma, so the posterior is exact: Gelman et al.,
Bayesian Data Analysis, 3rd edition, section 3.3 (from memory).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri, stdtrit

from tundish.history.errors import HistoryError
from tundish.history.posterior import Floats

# Calls that a shipped range counts as, for its middle and for its spread: fewer than for shares, because minutes belong to the
# person. Our choice.
MIDDLE, SPREAD = 5.0, 5.0
# A shipped range is read as holding four of five calls: our choice, as brackets elsewhere.
RANGE_LEVEL = 0.8


@dataclass(frozen=True)
class Amount:
    """What is known of an amount: log(amount) ~ Normal(mean, s^2), s^2 ~ scaled inverse chi-square(freedom, square).

    mean : of the logarithm. middle : calls behind it. freedom : calls behind the spread. square : its scale.
    """

    mean: float
    middle: float
    freedom: float
    square: float

    @property
    def median(self) -> float:
        """The middle amount, in the unit that was given."""
        return float(np.exp(self.mean))

    def interval(self, level: float = 0.9) -> tuple[float, float]:
        """Where the true middle amount lies."""
        # The more calls, the narrower
        return self._around(np.sqrt(self.square / self.middle), level)

    def next(self, level: float = RANGE_LEVEL) -> tuple[float, float]:
        """Where the next call's amount will lie."""
        # The call's own spread stays, however many there were
        return self._around(np.sqrt(self.square * (1 + 1 / self.middle)), level)

    def _around(self, scale: float, level: float) -> tuple[float, float]:
        # Student's t, because the spread is learned too
        half = float(stdtrit(self.freedom, (1 + level) / 2)) * scale
        return float(np.exp(self.mean - half)), float(np.exp(self.mean + half))


def shipped(low: float, high: float, *, middle: float = MIDDLE, spread: float = SPREAD) -> Amount:
    """What a shipped range says. middle, spread : calls it counts as.

    >>> round(shipped(20, 45).median)
    30
    """
    if not 0 < low < high:
        raise HistoryError(
            seen=f"a range from {low:g} to {high:g}",
            allowed="two amounts above 0, the first one less",
            do="leave out what costs or takes nothing; widen a range of one number",
        )
    # The middle of a range of factors is its geometric mean
    scale = np.log(high / low) / 2 / float(ndtri((1 + RANGE_LEVEL) / 2))
    return Amount(float(np.log(low * high) / 2), middle, spread, float(scale**2))


def learned_amount(before: Amount, amounts: Floats, weights: Floats | None = None) -> Amount:
    """What is known after more calls. amounts : (n,), above 0. weights : (n,) 0 to 1, all 1 when left out.

    >>> after = learned_amount(shipped(20, 45), np.array([60.0, 62, 58, 61, 59]))
    >>> round(after.median, 1)
    42.4
    """
    amounts = np.asarray(amounts, float)
    if not (amounts > 0).all():
        raise HistoryError(
            seen=f"an amount of {amounts.min():g}",
            allowed="amounts above 0",
            do="leave out what was not measured",
        )
    weights = np.ones_like(amounts) if weights is None else np.asarray(weights, float)
    n = float(weights.sum())
    if n == 0:
        return before
    logs = np.log(amounts)
    found = float(weights @ logs) / n
    inner = float(weights @ (logs - found) ** 2)
    middle, freedom = before.middle + n, before.freedom + n
    # What lies between the old middle and the new one is spread too
    apart = before.middle * n / middle * (found - before.mean) ** 2
    square = (before.freedom * before.square + inner + apart) / freedom
    return Amount((before.middle * before.mean + n * found) / middle, middle, freedom, square)
