"""When to order a part again, how many, and what to order now for tomorrow."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import ceil, isfinite, sqrt

from scipy.special import pdtr

from tundish.van.errors import VanError
from tundish.van.part import PartKey
from tundish.van.stock import Level, Levels

TOMORROW, MINIMUM, COUNT = "for tomorrow", "below the minimum", "count it: the ledger is short"


@dataclass(frozen=True)
class Rule:
    """Order `quantity` pieces when those there and coming have fallen to `point`; `served` : chance that this lasts, [-]."""

    point: int
    quantity: int
    served: float


@dataclass(frozen=True)
class Order:
    """What to order now, and why."""

    part: PartKey
    pieces: int
    why: str


def lasting(mean: float, level: float) -> int:
    """The fewest pieces that last through a time with a wanted chance, when calls come by chance (Poisson).

    mean : pieces wanted on average in that time, [-]. level : chance of lasting, [-], from 0 to below 1.
    Raises VanError outside.

    References
    ----------
    Poisson distribution: NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.6.19, https://doi.org/10.18434/M32189

    >>> lasting(2.0, 0.95), lasting(0.1, 0.9), lasting(0.0, 0.99)
    (5, 0, 0)
    """
    if not (isfinite(mean) and mean >= 0 and 0 <= level < 1):
        raise VanError(
            seen=f"{mean} pieces on average, level {level}",
            allowed="0 or more pieces, a level from 0 to below 1",
            do="correct the rate, the lead time or the level",
        )
    pieces = 0
    while pdtr(pieces, mean) < level:
        pieces += 1
    return pieces


def economic(rate: float, *, per_order: float, holding: float) -> int:
    """The whole number of pieces that costs least to order at a time.

    rate : pieces wanted a day. per_order : cost of an order, money. holding : cost of a piece a day, money.
    The cost a day rate per_order / Q + holding (Q + 1) / 2 is least at the least Q with Q (Q + 1) holding >= 2 rate per_order.

    Raises VanError unless holding is above 0 and the others 0 or more.

    References
    ----------
    Harris 1913, How many parts to make at once, reprinted https://doi.org/10.1287/opre.38.6.947 ; whole numbers: ours, by differences

    >>> economic(0.1, per_order=8.0, holding=0.05)
    6
    """
    if not (holding > 0 and rate >= 0 and per_order >= 0 and isfinite(rate * per_order / holding)):
        raise VanError(
            seen=f"rate {rate}, order cost {per_order}, holding {holding}",
            allowed="0 or more, 0 or more, above 0",
            do="correct the part's figures",
        )
    twice = 2 * rate * per_order / holding
    # Q (Q + 1) >= twice solved for Q; the square root may miss a whole number by rounding
    least = max(ceil(sqrt(twice + 0.25) - 0.5) - 1, 1)
    return next(q for q in (least, least + 1, least + 2) if q * (q + 1) >= twice * (1 - 1e-12))


def rule(rate: float, lead: float, *, level: float, per_order: float, holding: float) -> Rule:
    """When and how many to order: `rate` pieces a day, `lead` days from order to van, `level` chance that what is left lasts.

    >>> found = rule(0.2, 3.0, level=0.95, per_order=8.0, holding=0.05)
    >>> found.point, found.quantity, round(found.served, 5)
    (2, 8, 0.97688)
    """
    if not (isfinite(lead) and lead >= 0):
        raise VanError(
            seen=f"lead time {lead} d", allowed="0 d or more", do="give the days from order to van"
        )
    point = lasting(rate * lead, level)
    return Rule(
        point,
        economic(rate, per_order=per_order, holding=holding),
        float(pdtr(point, rate * lead)),
    )


def orders(load: Mapping[PartKey, int], levels: Levels) -> tuple[Order, ...]:
    """What to order now: what tomorrow's load lacks, then what brings each part up to its minimum.

    Pieces on order do not count for tomorrow, for nobody knows whether they come in time; they count for the minimum.
    A part whose ledger is short comes as a count of 0 pieces: nothing is known of it.

    >>> pump = PartKey("dishwasher", "drain pump")
    >>> [(o.pieces, o.why) for o in orders({pump: 2}, {pump: Level(1, 0, 4)})]
    [(1, 'for tomorrow'), (2, 'below the minimum')]
    """
    found: list[Order] = []
    for part in sorted({*load, *levels}):
        level = levels.get(part, Level())
        # What will be ordered for tomorrow counts as coming when the minimum is looked at
        lacking = max(load.get(part, 0) - level.on_van, 0)
        refill = max(level.minimum - level.position - lacking, 0)
        found += [Order(part, 0, COUNT)] if level.short else []
        found += [Order(part, lacking, TOMORROW)] if lacking else []
        found += [Order(part, refill, MINIMUM)] if refill else []
    return tuple(found)
