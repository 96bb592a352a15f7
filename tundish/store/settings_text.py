"""One setting as a person writes it in a cell or after a verb, and back to its plain value. Sums never become floats."""

from __future__ import annotations

import re
from collections.abc import Mapping
from decimal import Context, Decimal
from typing import Any

from tundish.prices.money import Money
from tundish.prices.settings import Settings
from tundish.prices.settings_plain import DECIMALS
from tundish.prices.settings_rules import ANY, MONEY, RULES
from tundish.prices.tax import KINDS, Tax
from tundish.store.errors import StoreError

# The key of one family's price of a new machine: `replacement.dishwasher`.
FAMILY = "replacement."
# Settings that are a sum for each of something.
EACH = {"labour": "/h"}
NUMBER = re.compile(r"-?[0-9]+(?:[.,][0-9]+)?", re.ASCII)
AMBIGUOUS = re.compile(r"-?[1-9][0-9]{0,2},[0-9]{3}", re.ASCII)
TAX = re.compile(rf"(\S+) ?% (.+) on ((?:{'|'.join(KINDS)})(?:, (?:{'|'.join(KINDS)}))*)")
YES_NO = {"yes": True, "no": False}
# More digits than any rate has, so that a shift of the point loses none.
EXACT = Context(prec=200)


def keys(settings: Settings) -> tuple[str, ...]:
    """The keys of all settings in order, the prices of new machines one by one."""
    families = [FAMILY + family for family in settings.replacement]
    return tuple(key for name in RULES for key in (families if name == "replacement" else [name]))


def check_key(key: str) -> None:
    """StoreError when a key is no setting."""
    if (key not in RULES or key == "replacement") and not key.startswith(FAMILY):
        known = [name for name in RULES if name != "replacement"]
        raise StoreError(
            seen=f"setting {key!r}",
            allowed=", ".join([*known, FAMILY + ANY, FAMILY + "FAMILY"]),
            do="use one of these names",
        )


def unit_of(key: str, currency: str) -> str:
    """The unit a setting is written in; empty for words.

    >>> unit_of("labour", "EUR"), unit_of("van_space", "EUR"), unit_of("replacement.any", "USD")
    ('EUR/h', 'L', 'USD')
    """
    if is_sum(key):
        return currency + EACH.get(key, "")
    return RULES[key].unit.removeprefix("-") if key in RULES else ""


def is_sum(key: str) -> bool:
    """Whether a key stands for a sum of money."""
    return key.startswith(FAMILY) or RULES.get(key) is MONEY


def written(settings: Settings, key: str) -> str:
    """A setting as text; `read_value` reads it back to the same."""
    if is_sum(key):
        minor = settings.replacement[key[len(FAMILY) :]] if key.startswith(FAMILY) else getattr(settings, key)
        return str(Money(minor, settings.currency)).split()[0]
    value = getattr(settings, key)
    if key == "taxes":
        return "\n".join(map(_tax_text, value))
    if key == "letterhead":
        return "\n".join(value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    # By way of text: the shortest digits that mean this float, and no exponent
    return f"{Decimal(str(value)):f}" if isinstance(value, Decimal | int | float) else str(value)


def read_value(key: str, text: str, unit: str, settings: Settings) -> Any:
    """The plain value of a text. unit : as the table gives it, empty for the usual one.

    settings : those it goes into; their currency is what sums are in. StoreError when it cannot be read.
    """
    check_key(key)
    unit = unit.strip()
    if is_sum(key):
        amount = _sum_text(key, text, unit, settings.currency)
        return Money.of(amount, settings.currency).minor
    if unit not in ("", "-", "%", unit_of(key, settings.currency)):
        raise StoreError(
            seen=f"{key} in {unit!r}", allowed=f"unit {unit_of(key, '')!r}", do="convert the value"
        )
    if key == "letterhead":
        return text.split("\n") if text else []
    if key == "taxes":
        return [_tax(line) for line in text.split("\n") if line.strip()]
    return _single(key, text, unit, getattr(settings, key))


def merged(values: Mapping[str, Any], settings: Settings) -> dict[str, Any]:
    """Values by key as values by setting: prices of new machines join those that are there."""
    plain = {key: value for key, value in values.items() if not key.startswith(FAMILY)}
    prices = {key[len(FAMILY) :]: value for key, value in values.items() if key.startswith(FAMILY)}
    return {**plain, "replacement": {**settings.replacement, **prices}} if prices else plain


def _single(key: str, text: str, unit: str, now: object) -> Any:
    """The plain value of one word or number. now : the value there is, which tells the kind."""
    if isinstance(now, bool):
        if text.strip().lower() not in YES_NO:
            raise StoreError(seen=f"{key} {text!r}", allowed="yes or no", do=f"set {key} again")
        return YES_NO[text.strip().lower()]
    if isinstance(now, str):
        return text if key == "name" else text.strip()
    share, text = (Decimal("0.01"), text.strip().removesuffix("%")) if "%" in text + unit else (None, text)
    number = _number(key, text)
    if share is not None:
        if RULES[key].unit not in ("-", "1/year"):
            raise StoreError(
                seen=f"{key} {text!r} %", allowed=f"unit {RULES[key].unit!r}", do="leave out the %"
            )
        number = EXACT.multiply(number, share)
    if key in DECIMALS:
        return f"{number:f}"
    # A count stays whole; a fraction is left for the rule to refuse
    return int(number) if isinstance(now, int) and number == int(number) else float(number)


def _number(key: str, text: str) -> Decimal:
    bare = text.strip()
    if not NUMBER.fullmatch(bare) or AMBIGUOUS.fullmatch(bare):
        allowed = RULES[key].allowed if key in RULES else MONEY.allowed
        cure = "write it with a point and no thousands marks"
        raise StoreError(seen=f"{key} {text!r}", allowed=f"{allowed}, that reads in one way", do=cure)
    return Decimal(bare.replace(",", "."))


def _sum_text(key: str, text: str, unit: str, currency: str) -> str:
    amount, _, after = text.strip().partition(" ")
    said = [word for word in (unit, after.strip()) if word]
    if any(word not in (currency, currency + EACH.get(key, "")) for word in said):
        raise StoreError(
            seen=f"{key} {text!r} {unit}".rstrip(),
            allowed=f"a sum in {unit_of(key, currency)}",
            do="convert the sum, or set all sums with the new currency in one table",
        )
    return f"{_number(key, amount):f}"


def _tax_text(tax: Tax) -> str:
    return f"{tax.rate.scaleb(2, EXACT):f} % {tax.name} on {', '.join(tax.on)}"


def _tax(line: str) -> dict[str, Any]:
    found = TAX.fullmatch(line.strip()) or TAX.fullmatch(f"{line.strip()} on {', '.join(KINDS)}")
    if not found:
        raise StoreError(
            seen=f"tax {line!r}", allowed=f"'21 % VAT on {', '.join(KINDS)}', a line a tax", do="write it so"
        )
    rate = _number("taxes", found[1]).scaleb(-2, EXACT)
    return {"name": found[2], "rate": f"{rate:f}", "on": found[3].split(", ")}
