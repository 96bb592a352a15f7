"""What a visit would be billed at, and the bill of every kind of machine. Money is a plain float here: estimates, not invoices."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tundish.appliance.records import Description
from tundish.plan.change import Floats
from tundish.plan.remedies import HAND_OVER, Remedy, remedies
from tundish.plan.shop import Shop


@dataclass(frozen=True, kw_only=True)
class Tariff:
    """How a shop bills, money in the shop's currency, before tax unless `tax` is given.

    call_out : the visit with its diagnosis. rate : money a minute of repair. step : minutes that labour is billed by.
    included : minutes of repair that the call-out holds. markup, board_markup : factors on parts below and from `board` money at
    the trade counter. tax : rate on everything, [-].

    Labour by the half hour, parts x1.3-2.0 and boards x1.15-1.35: common practice, no source; we take the middles.
    From 80 money a part is taken for a board: our choice. The first half hour within the call-out: our choice, since the trade's
    typical totals come out so.
    """

    call_out: float
    rate: float
    step: float = 30.0
    included: float = 30.0
    markup: float = 1.65
    board_markup: float = 1.25
    board: float = 80.0
    tax: float = 0.0

    def labour(self, minutes: float) -> float:
        """Money of labour beyond what is included, in whole steps.

        >>> Tariff(call_out=80, rate=1.5).labour(65), Tariff(call_out=80, rate=1.5).labour(20)
        (90.0, 0.0)
        """
        return math.ceil(max(minutes - self.included, 0.0) / self.step) * self.step * self.rate

    def part(self, counter: float) -> float:
        """What a part is billed at.

        >>> Tariff(call_out=80, rate=1.5).part(20), Tariff(call_out=80, rate=1.5).part(100)
        (33.0, 125.0)
        """
        return counter * (self.board_markup if counter >= self.board else self.markup)


def tariff_of(shop: Shop) -> Tariff:
    """A shop's call-out and rate with the usual marks on parts."""
    return Tariff(call_out=shop.call_out, rate=shop.rate)


@dataclass(frozen=True, eq=False)
class Bills:
    """The bill of each kind of machine, something not described last: even from low to high, (n,) each.

    away : (n,) whether another trade bills beside ours, for work of its own.
    """

    low: Floats
    high: Floats
    away: Floats


def bills(description: Description, shop: Shop, tariff: Tariff, *, kinds: Sequence[frozenset[str]]) -> Bills:
    """The bills of kinds, by what is wrong with each; one more for something not described.

    What another trade mends is billed as the visit alone, and so is a machine that is well. Something not described may cost
    anything from the visit to the dearest kind.
    """
    rows = [_bill(description, shop, tariff, wanted=remedies(description, shop, kind)) for kind in kinds]
    dearest = max((high for _, high, _ in rows), default=tariff.call_out * (1 + tariff.tax))
    low, high, away = np.array([*rows, (tariff.call_out * (1 + tariff.tax), dearest, 0.0)]).T
    return Bills(low, high, away)


def _bill(
    description: Description, shop: Shop, tariff: Tariff, *, wanted: Sequence[Remedy]
) -> tuple[float, float, float]:
    # What another trade mends is on that trade's bill
    ours = [r for r in wanted if r.kind != HAND_OVER]
    ranges = [_parts(tariff, description, r, currency=shop.currency) for r in ours]
    # Minutes of all repairs are added before they are rounded to whole steps
    if ours:
        short, long = (sum(_minutes(description, r)[end] for r in ours) for end in (0, 1))
        ranges.append((tariff.labour(short), tariff.labour(long)))
    middle, half = together(ranges)
    times = 1 + tariff.tax
    low, high = tariff.call_out + middle - half, tariff.call_out + middle + half
    return low * times, high * times, float(len(ours) < len(wanted))


def _parts(tariff: Tariff, description: Description, remedy: Remedy, *, currency: str) -> tuple[float, float]:
    # The faults of a remedy share one part, at one price
    low, high = description.faults[remedy.faults[0]].price.get(currency, (0.0, 0.0))
    return tariff.part(low), tariff.part(high)


def _minutes(description: Description, remedy: Remedy) -> tuple[float, float]:
    """Labour of one remedy; faults cured by one new part take the time of the longest."""
    each = [description.faults[f].minutes for f in remedy.faults]
    return max(m[0] for m in each), max(m[1] for m in each)


def together(ranges: Sequence[tuple[float, float]]) -> tuple[float, float]:
    """Middle and half width of an even spread with the mean and the variance of a sum of independent even spreads.

    >>> together([(10.0, 16.0), (5.0, 13.0)])
    (22.0, 5.0)
    """
    middle = sum((low + high) / 2 for low, high in ranges)
    return middle, math.sqrt(sum(((high - low) / 2) ** 2 for low, high in ranges))
