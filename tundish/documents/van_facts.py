"""A day's load as plain facts: what to take and why, what each part saves, one of two, what to order now."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tundish.documents.numbers import percent
from tundish.store.counsel import Counsel
from tundish.store.loading import Load
from tundish.van.need import CallNeed
from tundish.van.stock import Level, Levels

Facts = dict[str, Any]
# Sets of parts told of a call, the likeliest first. Our choice.
SETS = 5


def van_facts(asked: Sequence[Counsel], found: Load, levels: Levels, *, day: str) -> Facts:
    """The load of a day. Money is expected cost, in units of the currency."""
    return {
        "day": day,
        "currency": asked[0].shop.currency,
        "calls": [_call(one, need) for one, need in zip(asked, found.needs, strict=True)],
        "load": [
            {
                "part": str(w.part),
                "pieces": w.pieces,
                "on_van": levels.get(w.part, Level()).on_van,
                "fetch": max(w.pieces - levels.get(w.part, Level()).on_van, 0),
                "price": found.parts[w.part].price,
                "chance": 1.0 - _nobody(found.needs, w.part),
                "saves": w.loses,
                "fill_without": w.fill_without,
            }
            for w in found.worths
        ],
        "space": found.kit.space,
        "holding": found.kit.holding,
        "trips": found.kit.trips,
        "cost": found.kit.cost,
        "fill": found.kit.fill,
        "with_stock_as_it_is": {"cost": found.bare.cost, "fill": found.bare.fill},
        "one_of_two": _choice(found),
        "says": _says(asked[0].shop.currency, found),
        "order_now": [{"part": str(o.part), "pieces": o.pieces, "why": o.why} for o in found.orders],
    }


def _says(currency: str, found: Load) -> list[str]:
    """The day in sentences: what the load costs and saves, what is there, the closest decision."""
    kit, bare, two = found.kit, found.bare, found.choice
    said = [
        f"With this load the day is expected to cost {kit.cost:.2f} {currency}, and {percent(kit.fill)} of calls need no second trip.",
        f"With what is on the van now: {bare.cost:.2f} {currency}, and {percent(bare.fill)}.",
    ]
    if two is not None:
        # The one that is not taken is the wrong one
        other = two.second if two.take == two.first else two.first
        said.append(f"One of two: {two.take} before {other}; the wrong one costs {two.wrong:.2f} {currency} more.")
    return said


def _call(asked: Counsel, need: CallNeed) -> Facts:
    opened = asked.state.opened
    # A tie is settled by name, so that two runs say the same
    sets = sorted(need.sets.items(), key=lambda item: (-item[1], sorted(item[0])))[:SETS]
    return {
        "call": asked.state.call,
        "handle": need.call,
        "name": opened.body.name if opened else "",
        "family": asked.found.matter.family,
        "complaint": asked.found.matter.complaint,
        "nothing_needed": need.nothing,
        "not_described": need.unknown,
        "sets": [{"parts": sorted(map(str, parts)), "chance": chance} for parts, chance in sets],
    }


def _nobody(needs: Sequence[CallNeed], part: Any) -> float:
    """Chance that no call of the day needs a part."""
    left = 1.0
    for need in needs:
        left *= 1.0 - need.chance(part)
    return left


def _choice(found: Load) -> Facts | None:
    two = found.choice
    if two is None:
        return None
    return {
        "first": str(two.first),
        "second": str(two.second),
        "take": str(two.take),
        "wrong_costs": two.wrong,
        "cost_first": two.cost_first,
        "cost_second": two.cost_second,
        "cost_both": two.cost_both,
        "cost_neither": two.cost_neither,
    }
