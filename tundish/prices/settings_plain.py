"""Settings as plain values for JSON and tables, and back; decimals as text, so that none becomes a float."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields, replace
from decimal import Decimal, InvalidOperation

from tundish.prices.errors import PriceError
from tundish.prices.settings import Settings
from tundish.prices.tax import Tax

DECIMALS = ("mark_up_cheap", "mark_up_dear", "over_run", "discount_rate")
TAX_KEYS = {"name", "rate", "on"}


def plain(settings: Settings) -> dict[str, object]:
    """Every setting as text, whole number, number, yes/no, list or mapping, in the record's order."""
    return {field.name: _plain(getattr(settings, field.name)) for field in fields(settings)}


def changed(settings: Settings, values: Mapping[str, object]) -> Settings:
    """The settings with some replaced by plain values. Raises PriceError naming the setting.

    >>> from tundish.prices.settings_usual import usual
    >>> changed(usual("EUR"), {"over_run": "0.10"}).over_run
    Decimal('0.10')
    """
    # A setting this version does not know must not be lost in silence
    known = [field.name for field in fields(settings)]
    for name in values:
        if name not in known:
            raise PriceError(
                seen=f"the setting {name!r}", allowed=", ".join(known), do="use one of these names"
            )
    return replace(settings, **{name: _made(name, value) for name, value in values.items()})  # type: ignore[arg-type]


def _plain(value: object) -> object:
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, Tax):
        return {"name": value.name, "rate": str(value.rate), "on": list(value.on)}
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    return dict(value) if isinstance(value, Mapping) else value


def _made(name: str, value: object) -> object:
    # From text only: 0.1 read from JSON as a number is a float already
    if name in DECIMALS:
        return _decimal(name, value)
    if name == "letterhead" and isinstance(value, list):
        return tuple(value)
    if name == "taxes" and isinstance(value, list):
        return tuple(map(_tax, value))
    # What is left is checked by the record's rules
    return dict(value) if isinstance(value, Mapping) else value


def _tax(value: object) -> Tax:
    if not isinstance(value, Mapping) or set(value) != TAX_KEYS or not isinstance(value["on"], list):
        raise PriceError(
            seen=f"the tax {value!r}",
            allowed='{"name": ..., "rate": "0.19", "on": ["labour", "part"]}',
            do="give these three",
        )
    return Tax(str(value["name"]), _decimal("taxes", value["rate"]), tuple(map(str, value["on"])))


def _decimal(name: str, value: object) -> Decimal:
    try:
        if isinstance(value, str):
            return Decimal(value)
    except InvalidOperation:
        pass
    raise PriceError(
        seen=f"{value!r} in the setting {name}", allowed='decimal text such as "0.15"', do=f"set {name} again"
    )
