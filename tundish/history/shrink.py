"""Many means measured alike: each is drawn towards the mean of all, by as much as chance explains their spread.

For the pace of a shop: logarithms of its minutes over the shipped ones, action by action.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from tundish.history.errors import HistoryError
from tundish.history.posterior import Floats


@dataclass(frozen=True)
class Shrunk:
    """values : (g,) shrunk. kept : share of each deviation from the mean that is kept, [-]. mean : of all."""

    values: Floats
    kept: float
    mean: float


def shrunk(values: Floats, variance: float) -> Shrunk:
    """Means drawn towards their own mean. values : (g,), four or more. variance : of each by chance, the same for all.

    kept = 1 - (g - 3) variance / sum of squared deviations, not below 0: Lindley's form of the rule of James and Stein 1961, as
    used by Efron and Morris 1975, https://doi.org/10.1080/01621459.1975.10479864 .

    >>> shrunk(np.array([1.0, 2.0, 3.0, 4.0]), variance=1.0).kept
    0.8
    """
    values = np.asarray(values, float)
    if len(values) < 4 or not variance >= 0:
        raise HistoryError(
            seen=f"{len(values)} means, each with variance {variance:g}",
            allowed="four means or more, a variance of 0 or more",
            do="wait for more actions, or keep them as they are",
        )
    mean = values.mean()
    spread = float(((values - mean) ** 2).sum())
    # All alike: chance explains all of nothing
    kept = max(1 - (len(values) - 3) * variance / spread, 0.0) if spread > 0 else 0.0
    return Shrunk(mean + kept * (values - mean), kept, float(mean))
