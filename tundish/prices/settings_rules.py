"""What each setting may be: its unit, its bounds in words, and the check."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from math import isfinite

from tundish.prices.money import DIGITS
from tundish.prices.tax import PRICES, ROUNDINGS, Tax

# The family that stands for all not named.
ANY = "any"
UNITS, PAPERS = ("metric", "US"), ("A4", "Letter")
# What a shop may plausibly set; typing errors lie beyond. Our choice.
DEAREST, LONGEST_TEXT, MOST_LINES, MOST_DAYS, MOST_LITRES = 10_000_000, 120, 8, 3650, 20_000

Check = Callable[[object], bool]


@dataclass(frozen=True)
class Rule:
    """`unit` as shown, `allowed` in words, `holds` the check of a value."""

    unit: str
    allowed: str
    holds: Check


def _whole(low: int, high: int) -> Check:
    # type, not isinstance: True is an int to Python
    return lambda value: type(value) is int and low <= value <= high


def _decimal(low: str, high: str) -> Check:
    bounds = Decimal(low), Decimal(high)
    return lambda value: isinstance(value, Decimal) and value.is_finite() and bounds[0] <= value <= bounds[1]


def _number(low: float, high: float) -> Check:
    return lambda value: (
        type(value) in (int, float) and isfinite(float(str(value))) and low <= float(str(value)) <= high
    )


def _text(value: object) -> bool:
    # Printable keeps line ends and control signs out of letterheads
    return isinstance(value, str) and len(value) <= LONGEST_TEXT and (not value or value.isprintable())


def _name(value: object) -> bool:
    return _text(value) and bool(str(value).strip())


def _lines(value: object) -> bool:
    return isinstance(value, tuple) and len(value) <= MOST_LINES and all(map(_text, value))


def _taxes(value: object) -> bool:
    return isinstance(value, tuple) and all(isinstance(tax, Tax) for tax in value)


def _prices_by_family(value: object) -> bool:
    # Any family not named has to have a price as well
    sum_ = _whole(0, DEAREST)
    return isinstance(value, Mapping) and ANY in value and all(_name(f) and sum_(p) for f, p in value.items())


def _choice(*known: str) -> Rule:
    return Rule("", " or ".join(known), lambda value: isinstance(value, str) and value in known)


MONEY = Rule("minor", f"whole minor units (cents) from 0 to {DEAREST}", _whole(0, DEAREST))
FACTOR = Rule("-", "a decimal factor from 1 to 5", _decimal("1", "5"))
DAYS = Rule("day", f"whole days from 1 to {MOST_DAYS}", _whole(1, MOST_DAYS))
TEXT = Rule("", f"one line of text up to {LONGEST_TEXT} characters", _text)

RULES: Mapping[str, Rule] = {
    "name": TEXT,
    "letterhead": Rule("", f"up to {MOST_LINES} lines of up to {LONGEST_TEXT} characters", _lines),
    "market": Rule("", "a market's name, such as EU", _name),
    "currency": _choice(*DIGITS),
    "units": _choice(*UNITS),
    "paper": _choice(*PAPERS),
    "language": Rule(
        "",
        "two small letters of ISO 639-1, such as en",
        lambda v: isinstance(v, str) and bool(re.fullmatch("[a-z]{2}", v)),
    ),
    "labour": MONEY,
    "labour_step": Rule("min", "whole minutes from 1 to 120", _whole(1, 120)),
    "call_out": MONEY,
    "mark_up_cheap": FACTOR,
    "mark_up_dear": FACTOR,
    "mark_up_from": MONEY,
    "taxes": Rule("", "a tuple of Tax", _taxes),
    "rounding": _choice(*ROUNDINGS),
    "prices": _choice(*PRICES),
    "second_trip": MONEY,
    "callback": MONEY,
    "limit": Rule("-", "a chance from 0.001 to 0.5", _number(0.001, 0.5)),
    "qualified": Rule("", "yes or no (True or False)", lambda value: isinstance(value, bool)),
    "over_run": Rule("-", "a decimal share from 0 to 1", _decimal("0", "1")),
    "consent_days": DAYS,
    "warranty_labour_days": DAYS,
    "warranty_part_days": DAYS,
    "replacement": Rule(
        "minor", f'a price from 0 to {DEAREST} for "{ANY}", and for families if wanted', _prices_by_family
    ),
    "removal": MONEY,
    "search_cost": MONEY,
    "discount_rate": Rule("1/year", "a decimal share from 0 to 1", _decimal("0", "1")),
    "carried_limit": MONEY,
    "van_space": Rule("L", f"a number from 0 to {MOST_LITRES}", _number(0, MOST_LITRES)),
    "zone": Rule(
        "",
        "a name of the IANA time zone database, such as Europe/Vienna; nothing for the computer's own",
        lambda v: isinstance(v, str) and bool(re.fullmatch(r"(?:[A-Za-z][\w+-]*(?:/[A-Za-z][\w+-]*)*)?", v)),
    ),
}
