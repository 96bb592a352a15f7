"""The parts that families' repairs need, and what each costs to have along for a day."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from tundish.appliance.records import Description, Fault
from tundish.plan.demands import domain_of
from tundish.plan.shop import Shop
from tundish.van.part import Part, PartKey, shared


@dataclass(frozen=True)
class Carrying:
    """What it costs to have parts.

    yearly : share of its price that a piece costs in a year for capital, shrink and ageing, [-]: 20-30 %, of which 5-10 % shrink
    and dead stock; common practice, no source. days : working days in a year, common practice, no source.
    send_back : share of the price lost on a piece bought for the day and sent back, [-]: 15-25 %, common practice, no source; the
    shelf takes back what is usual stock at no loss. handling : minutes to fetch a special part and to put it away, our choice.
    """

    yearly: float = 0.25
    days: float = 220.0
    send_back: float = 0.20
    handling: float = 2.0


def part_of(description: Description, fault: Fault, currency: str) -> PartKey | None:
    """The part that the repair of a fault may need; None where nothing is fitted or another trade fits it.

    A price range that begins at 0 counts as a part: the visit on which it is wanted after all is the dear one.
    """
    away = bool(domain_of(fault)) or "house" in fault.access
    free = sum(fault.price.get(currency, (0.0, 0.0))) <= 0
    return None if away or free or fault.kind == "normal" else shared(description.family, fault.part)


def catalogue(
    descriptions: Iterable[Description],
    shop: Shop,
    *,
    carrying: Carrying = Carrying(),
    sizes: Mapping[PartKey, float] | None = None,
) -> dict[PartKey, Part]:
    """Every part of some families. sizes : room of a piece, 1 where nothing is said.

    Where a part's faults have several prices the dearest counts. What `Shop.on_van` carries is usual stock; the rest is special.
    """
    prices: dict[PartKey, float] = {}
    usual: set[PartKey] = set()
    for description in descriptions:
        for fault in description.faults.values():
            key = part_of(description, fault, shop.currency)
            if key is not None:
                prices[key] = max(prices.get(key, 0.0), shop.price(fault))
                usual |= {key} if shop.on_van(description, fault) else set()
    room = sizes or {}
    return {
        key: priced(key, price, shop, carrying=carrying, usual=key in usual, space=room.get(key, 1.0))
        for key, price in sorted(prices.items())
    }


def priced(
    key: PartKey, price: float, shop: Shop, *, carrying: Carrying, usual: bool, space: float = 1.0
) -> Part:
    """A part with its cost of one day along, money of the shop."""
    # Usual stock lies on the van for months and costs its day; a special part is fetched and put away for this one
    day = price * carrying.yearly / carrying.days
    if usual:
        return Part(key, day, 0.0, space, price)
    handling = carrying.handling * shop.rate
    return Part(key, day + handling, carrying.send_back * price, space, price)
