"""Quantiles and tails of a mixture of even spreads, exact.

Each part of the mixture has a weight and spreads evenly from `low` to `high`; where the two are equal it is one value.
"""

from __future__ import annotations

import numpy as np

from tundish.plan.change import Floats

# The cheapest and the dearest tenth: P10 and P90 are the ends of what a customer is told (common practice, no source).
TAIL = 0.1
# Sums of weights may miss a quantile by their last digits.
_SLACK = 1e-12


def quantile(weight: Floats, low: Floats, high: Floats, *, share: float) -> float:
    """The least value that a share of the mixture does not exceed. weight, low, high : (n,); the weights need not sum to 1.

    >>> two = np.array([0.5, 0.5]), np.array([100.0, 300.0]), np.array([100.0, 300.0])
    >>> quantile(*two, share=0.1), quantile(*two, share=0.9)
    (100.0, 300.0)
    >>> quantile(np.ones(1), np.array([0.0]), np.array([50.0]), share=0.9)
    45.0
    """
    # Kinds that an answer ruled out must not stand as knots
    there = weight > 0
    w, a, b = weight[there] / weight[there].sum(), low[there], high[there]
    knots = np.unique(np.concatenate([a, b]))
    at_most, below = _shares(w, a, b, knots=knots)
    j = min(int(np.searchsorted(at_most, share - _SLACK)), len(knots) - 1)
    # Within a jump, or at the foot of everything
    if j == 0 or below[j] <= share + _SLACK:
        return float(knots[j])
    # Between two knots the share grows evenly
    part = (share - at_most[j - 1]) / (below[j] - at_most[j - 1])
    return float(knots[j - 1] + part * (knots[j] - knots[j - 1]))


def tails(weight: Floats, low: Floats, high: Floats, *, share: float = TAIL) -> tuple[float, float]:
    """Means of the lowest and the highest share of the mixture.

    The tail mean is the quantile and what lies beyond it, over the share (Rockafellar & Uryasev 2000, doi 10.21314/JOR.2000.038,
    from memory).

    >>> three = np.array([0.85, 0.1, 0.05]), np.array([100.0, 200.0, 500.0]), np.array([100.0, 200.0, 500.0])
    >>> bottom, top = tails(*three)  # the dearest tenth is half at 500 and half at 200
    >>> bottom, round(top, 9)
    (100.0, 350.0)
    """
    w = weight / weight.sum()
    first, last = (quantile(weight, low, high, share=p) for p in (share, 1.0 - share))
    # The cheap end is the dear end seen in a mirror
    bottom = first - float(w @ _beyond(-high, -low, -first)) / share
    return bottom, last + float(w @ _beyond(low, high, last)) / share


def reach(weight: Floats, low: Floats, high: Floats) -> float:
    """Mean of the dearest tenth less that of the cheapest: how far apart the ends are.

    Unlike the distance from P10 to P90 it can only fall on average when something is learned: it is the least expected
    score of an interval, which is concave (Gneiting & Raftery 2007, doi 10.1198/016214506000001437, from memory).
    """
    bottom, top = tails(weight, low, high)
    return top - bottom


def mean(weight: Floats, low: Floats, high: Floats) -> float:
    """Mean of the mixture."""
    return float(weight @ (low + high)) / 2 / float(weight.sum())


def _shares(w: Floats, a: Floats, b: Floats, *, knots: Floats) -> tuple[Floats, Floats]:
    """Share of the mixture at most, and below, each knot."""
    # A single value is a jump: it is there at its knot, and not yet below it
    width = np.where(b > a, b - a, 1.0)
    even = np.clip(knots[:, None] - a, 0.0, width) / width
    at_most = np.where(b > a, even, knots[:, None] >= a)
    below = np.where(b > a, even, knots[:, None] > a)
    return at_most @ w, below @ w


def _beyond(a: Floats, b: Floats, edge: float) -> Floats:
    """Mean of what lies above an edge, 0 below it, for even spreads from a to b."""
    width = np.where(b > a, b - a, 1.0)
    # Clipped before it is divided, so that a spread of almost nothing does not overflow
    over = np.clip(b - edge, 0.0, width)
    inside = over * (over / width) / 2
    return np.asarray(np.where(edge <= a, (a + b) / 2 - edge, np.where(b > a, inside, 0.0)))
