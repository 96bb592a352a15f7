"""The van for a day: the parts that its calls may need, from their own machines, against the stock."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from tundish.appliance.records import Description
from tundish.call.fold import CallState, fold
from tundish.call.handle import handles
from tundish.plan.shop import Shop
from tundish.prices.settings import Settings
from tundish.store.counsel import Counsel
from tundish.store.errors import StoreError
from tundish.store.events import EventFile
from tundish.van.catalogue import catalogue
from tundish.van.choice import OneOfTwo, Worth, one_of_two, worths
from tundish.van.kit import Kit, best, valued
from tundish.van.need import CallNeed, need
from tundish.van.part import Part, PartKey
from tundish.van.reorder import Order, orders
from tundish.van.stock import Levels
from tundish.van.tour import Tour, tour


@dataclass(frozen=True, eq=False)
class Load:
    """A day's load.

    needs : of each call. tour : the problem. kit : the best load. bare : the day with what is on the van now. worths : of the
    load's parts. choice : the closest decision, take one of the two; None where there is none. orders : to place now.
    """

    needs: tuple[CallNeed, ...]
    tour: Tour
    parts: dict[PartKey, Part]
    kit: Kit
    bare: Kit
    worths: tuple[Worth, ...]
    choice: OneOfTwo | None
    orders: tuple[Order, ...]


def booked(file: EventFile, day: date) -> tuple[str, ...]:
    """Open calls whose visit is booked for a day, in the order of their opening."""
    states = (fold(file.events_of(head.call)) for head in file.calls())
    return tuple(s.call for s in states if s.ended is None and _on(s, day))


def named(file: EventFile, calls: Sequence[str], day: date) -> tuple[str, ...]:
    """The calls of a day: those named, else those booked for it. StoreError when there is none."""
    found = tuple(dict.fromkeys(file.resolve(call) for call in calls)) or booked(file, day)
    if not found:
        raise StoreError(
            seen=f"no open call booked for {day.isoformat()}",
            allowed="calls named, or booked for that day",
            do="name the calls, or book them: tundish book CALL DATE",
        )
    return found


def load_for(
    asked: Sequence[Counsel], file: EventFile, settings: Settings, levels: Levels, *, space: float | None = None
) -> Load:  # fmt: skip
    """The best load for some calls, in the order of the visits. space : pieces that fit, else the shop's own room for parts."""
    shop = one_shop(asked)
    short = handles(file.calls())
    needs = tuple(need(one.found.place, one.cloud, one.shop, call=short[one.state.call]) for one in asked)
    parts = catalogue(_families(asked), shop)
    problem = tour(needs, parts)
    kit = best(problem, settings.van_space if space is None else space)
    held = {key: level.on_van for key, level in levels.items() if key in parts}
    return Load(
        needs, problem, parts, kit, valued(problem, held), worths(problem, kit), _choice(problem, kit, needs), orders(kit.load, levels)
    )  # fmt: skip


def one_shop(asked: Sequence[Counsel]) -> Shop:
    """The shop of the day. StoreError for calls in two currencies."""
    currencies = sorted({one.shop.currency for one in asked})
    if len(currencies) != 1:
        raise StoreError(
            seen=f"calls in {', '.join(currencies)}", allowed="one currency a day", do="plan them apart"
        )
    return asked[0].shop


def _families(asked: Iterable[Counsel]) -> list[Description]:
    return list({one.found.description.family: one.found.description for one in asked}.values())


def _choice(problem: Tour, kit: Kit, needs: Sequence[CallNeed]) -> OneOfTwo | None:
    """The part that is loaded for the least gain against the likeliest one that stays at home."""
    home = [part for part in {piece.part for piece in problem.pieces} if part not in kit.load]
    if not kit.load or not home:
        return None
    least = worths(problem, kit)[-1].part
    left = max(sorted(home), key=lambda part: sum(one.chance(part) for one in needs))
    return one_of_two(problem, kit.load, least, left)


def _on(state: CallState, day: date) -> bool:
    told = state.job.follow_up
    return told is not None and told.body.date == day.isoformat()
