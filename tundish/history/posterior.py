"""What is known of one number after the data: chances on a grid of its values, and quantiles of mixtures of betas."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import betainc, betaincinv

Floats = npt.NDArray[np.float64]
# Cells this much less likely than the best one are left out of a grid, natural logarithm; e^-16 is 1e-7.
NEGLIGIBLE = 16.0
# Halvings of [0, 1] when a quantile is sought: 2^-30 is 1e-9.
HALVINGS = 30


@dataclass(frozen=True)
class Posterior:
    """A number known up to chances on a grid. values : (m,) rising. chance : (m,) of each cell, summing to 1."""

    values: Floats
    chance: Floats

    @property
    def mean(self) -> float:
        """Its expected value."""
        return float(self.values @ self.chance)

    def interval(self, level: float = 0.9) -> tuple[float, float]:
        """The interval that leaves the same chance below and above. level : chance inside, [-]."""
        # The chance of a cell lies half before and half after its value
        below = np.cumsum(self.chance) - self.chance / 2
        low, high = np.interp([(1 - level) / 2, (1 + level) / 2], below, self.values)
        return float(low), float(high)


def normalised(log_weight: Floats) -> Floats:
    """(m,) chances summing to 1 from logarithms of weights.

    >>> normalised(np.log([1.0, 3.0])).round(12).tolist()
    [0.25, 0.75]
    """
    # Against the best cell, so that long data do not underflow
    weight: Floats = np.exp(log_weight - log_weight.max())
    return np.asarray(weight / weight.sum())


def posterior(values: Floats, log_weight: Floats) -> Posterior:
    """The posterior on a grid whose cells are alike in width, from the logarithm of prior times likelihood."""
    return Posterior(values, normalised(log_weight))


def beta_mixture(a: Floats, b: Floats, chance: Floats, *, level: float = 0.9) -> tuple[Floats, Floats]:
    """Equal-tailed interval of a mixture of beta distributions.

    a, b : (m, ...) of each part. chance : (m,) of the parts, summing to 1. Returns low and high, each (...).

    >>> low, high = beta_mixture(np.ones((1, 1)), np.ones((1, 1)), np.ones(1))
    >>> low.round(8).item(), high.round(8).item()
    (0.05, 0.95)
    """
    return _quantile(a, b, chance, q=(1 - level) / 2), _quantile(a, b, chance, q=(1 + level) / 2)


def _quantile(a: Floats, b: Floats, chance: Floats, *, q: float) -> Floats:
    if len(chance) == 1:
        return np.asarray(betaincinv(a[0], b[0], q), dtype=float)
    # The cumulative chance rises, so halving cannot fail
    low, high = np.zeros(a.shape[1:]), np.ones(a.shape[1:])
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        is_below = np.tensordot(chance, betainc(a, b, middle), axes=1) < q
        low, high = np.where(is_below, middle, low), np.where(is_below, high, middle)
    return (low + high) / 2
