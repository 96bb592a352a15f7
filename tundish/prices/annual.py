"""Equivalent annual cost: what a machine costs a year if kept for 1, 2, 3 ... years, and when to part with it.

P price now, S_n what it is sold for after n years, O_n running cost of year n (paid at its end), i interest [1/year].
References: any book on engineering economy (from memory); the tables it is held against are named in its test.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from tundish.prices.errors import PriceError

Years = NDArray[np.float64]


def annual_costs(price: float, salvage: Sequence[float], running: Sequence[float], *, rate: float) -> Years:
    """Equivalent annual cost (years,) of keeping for 1, 2 ... years. Raises PriceError.

    >>> annual_costs(25e3, [16e3, 13e3, 11e3], [5e3, 8e3, 11e3], rate=0.08).round(0).tolist()
    [16000.0, 14212.0, 14159.0]
    """
    sold, run = _table(price, salvage, running, rate)
    discount = (1 + rate) ** -np.arange(1.0, len(sold) + 1)
    # Worth now of all that is paid if it goes after year n; running costs pile up, the sale comes once
    now = price - sold * discount + np.cumsum(run * discount)
    return np.asarray(now / np.cumsum(discount), dtype=float)


def marginal_costs(price: float, salvage: Sequence[float], running: Sequence[float], *, rate: float) -> Years:
    """Cost (years,) of keeping it one more year: the fall of its worth, the interest on it, and the year's running.

    >>> marginal_costs(25e3, [16e3, 13e3, 11e3], [5e3, 8e3, 11e3], rate=0.08).round(6).tolist()
    [16000.0, 12280.0, 14040.0]
    """
    sold, run = _table(price, salvage, running, rate)
    # What it could have been sold for a year earlier, with interest on that
    before = np.concatenate(([price], sold[:-1]))
    return np.asarray(before * (1 + rate) - sold + run, dtype=float)


def economic_life(costs: Sequence[float] | Years) -> int:
    """The year count of least equivalent annual cost, [year]; of equal ones the first."""
    return int(np.argmin(costs)) + 1


def years_to_keep(marginal: Sequence[float] | Years, challenger: float) -> int:
    """Years to keep on: each further year is worth it while it costs less than a year of the best other machine.

    Right where marginal cost does not fall below the challenger again later; with such a dip compare annual costs.

    >>> years_to_keep([16000, 12280, 14040, 15880, 18300], 16500)
    4
    """
    # The first year that costs as much as the challenger is the one not to begin
    above = np.flatnonzero(np.asarray(marginal) >= challenger)
    return int(above[0]) if above.size else len(marginal)


def _table(
    price: float, salvage: Sequence[float], running: Sequence[float], rate: float
) -> tuple[Years, Years]:
    sold, run = np.asarray(salvage, dtype=float), np.asarray(running, dtype=float)
    if sold.ndim != 1 or sold.shape != run.shape or not sold.size:
        raise PriceError(
            seen=f"{sold.size} years of salvage and {run.size} of running cost",
            allowed="the same number of years, at least one",
            do="give both for every year",
        )
    if not (
        # A rate of -1 or less would make next year's money worthless or negative
        np.isfinite([price, rate]).all() and np.isfinite(sold).all() and np.isfinite(run).all() and rate > -1
    ):
        raise PriceError(
            seen=f"price {price}, rate {rate}, salvage {sold.tolist()}, running {run.tolist()}",
            allowed="finite numbers, a rate above -1",
            do="mend the figure that is none",
        )
    return sold, run
