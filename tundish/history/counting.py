"""Intervals for a count of few calls: 9 of 10 is 60 to 98 %, never a bare 90."""

from __future__ import annotations

import numpy as np
from scipy.special import betaincinv, chdtri, ndtri

from tundish.history.errors import HistoryError


def wilson(hits: float, total: float, level: float = 0.95) -> tuple[float, float]:
    """Interval of a share by the score test, [-].

    Wilson 1927, https://doi.org/10.1080/01621459.1927.10502953 ; its mean coverage is near nominal for small counts too
    (Brown, Cai and DasGupta 2001, https://doi.org/10.1214/ss/1009213286 ).

    >>> [round(end, 2) for end in wilson(9, 10)]
    [0.6, 0.98]
    """
    check_count(hits, total)
    # The ends are the shares that a test would just not refuse
    z = float(ndtri((1 + level) / 2))
    middle = (hits + z * z / 2) / (total + z * z)
    half = z / (total + z * z) * np.sqrt(hits * (total - hits) / total + z * z / 4)
    return float(max(middle - half, 0.0)), float(min(middle + half, 1.0))


def jeffreys(hits: float, total: float, level: float = 0.95) -> tuple[float, float]:
    """Interval of a share from the prior Beta(1/2, 1/2), [-]; takes weighted counts. 0 of n begins at 0, n of n ends at 1.

    Brown, Cai and DasGupta 2001, section 4.3, https://doi.org/10.1214/ss/1009213286 .

    >>> [round(end, 3) for end in jeffreys(0, 10)]
    [0.0, 0.217]
    """
    check_count(hits, total)
    # At the edges the one-sided answer is the honest one
    tail = (1 - level) / 2
    low = 0.0 if hits == 0 else float(betaincinv(hits + 0.5, total - hits + 0.5, tail))
    high = 1.0 if hits == total else float(betaincinv(hits + 0.5, total - hits + 0.5, 1 - tail))
    return low, high


def per_unit(count: int, units: float, level: float = 0.95) -> tuple[float, float]:
    """Interval of a rate of events that come by chance, per unit: exact for Poisson counts (Garwood 1936,
    https://doi.org/10.1093/biomet/28.3-4.437 ).

    >>> [round(end, 2) for end in per_unit(10, 1.0)]
    [4.8, 18.39]
    """
    if count < 0 or not units > 0:
        raise HistoryError(
            seen=f"{count} events in {units} units",
            allowed="a count of 0 or more in more than 0",
            do="give the days or hours in which they were counted",
        )
    tail = (1 - level) / 2
    # chdtri asks for the chance above
    low = 0.0 if count == 0 else float(chdtri(2 * count, 1 - tail)) / 2
    return low / units, float(chdtri(2 * count + 2, tail)) / 2 / units


def check_count(hits: float, total: float) -> None:
    """Refuse what is no part of a whole."""
    if not (0 <= hits <= total and total > 0):
        raise HistoryError(
            seen=f"{hits:g} of {total:g}",
            allowed="0 or more, of a total that is above 0 and no less",
            do="count the calls again; with none there is no share",
        )
