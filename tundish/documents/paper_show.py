"""From the plain facts of a paper to the texts that are printed: money, dates and chances in words, readings as gauges."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal, InvalidOperation
from typing import Any

from tundish.documents.numbers import percent
from tundish.documents.paper_clean import clean
from tundish.documents.paper_errors import PaperError
from tundish.documents.paper_gauge import gauge
from tundish.documents.paper_signature import signature_svg
from tundish.documents.paper_sound import CHANCES, DATES, moment
from tundish.prices.money import Money
from tundish.quantity.show import rounded

Labels = Mapping[str, Any]
MONEY = ("each", "net", "tax", "gross", "minor", "due", "owed_if_refused")


def printed(plain: Mapping[str, Any], labels: Labels) -> dict[str, Any]:
    """The facts with every value as it is printed; what is None is left for the template to pass over.

    plain : checked facts as dicts and lists. Money is grouped, without its currency.

    >>> printed({"currency": "USD", "due": 123450}, {"thousands": ",", "decimal": "."})["due"]
    '1,234.50'
    """
    currency = plain.get("currency", "")
    shown: dict[str, Any] = _shown(plain, "", (currency, labels))
    return shown


def _shown(held: Any, name: str, how: tuple[str, Labels]) -> Any:
    if isinstance(held, Mapping):
        return {key: _shown(one, key, how) for key, one in held.items()} | _drawn(held)
    # Points are drawn, not printed
    if name == "strokes":
        return []
    if isinstance(held, (list, tuple)):
        return [_shown(one, name, how) for one in held]
    return held if held is None or isinstance(held, bool) else _leaf(held, name, how)


def _leaf(value: str | float, name: str, how: tuple[str, Labels]) -> Any:
    currency, labels = how
    if name in DATES:
        return date_text(str(value), labels) if value else ""
    if name in MONEY:
        return money_text(Money(int(value), currency), labels)
    if name in CHANCES:
        # What cures nothing has no chance to print
        return percent(float(value)) if value or name != "chance_cures" else None
    if name in ("rate", "tax_rate"):
        return rate_text(value)
    if name == "age":
        return rounded(float(value))
    # Quantities of a line are printed as they were given
    return clean(value) if isinstance(value, str) else str(value) if name == "quantity" else value


def _drawn(held: Mapping[str, Any]) -> dict[str, Any]:
    """What is drawn beside the words: a gauge beside a reading, a bar beside a cause, a signature beside a name, whether all is paid."""
    drawn: dict[str, Any] = {}
    if "before" in held and "healthy" in held:
        drawn["gauge"] = gauge(held)
    if "chance" in held:
        drawn["bar"] = held["chance"]
    if "due" in held:
        drawn["settled"] = held["due"] == 0
    if held.get("strokes"):
        drawn["drawn"] = signature_svg(held["strokes"])
    return drawn


def money_text(money: Money, labels: Labels) -> str:
    """An amount in groups of three, without its currency.

    >>> money_text(Money(-123456789, "EUR"), {"thousands": ",", "decimal": "."})
    '-1,234,567.89'
    """
    whole, _, parts = str(money).split(" ")[0].partition(".")
    grouped = f"{abs(int(whole)):,}".replace(",", labels["thousands"])
    return ("-" if money.minor < 0 else "") + grouped + (labels["decimal"] + parts if parts else "")


def rate_text(rate: str | float) -> str:
    """A tax rate in percent, with all its decimals. Raises PaperError.

    >>> rate_text("0.19"), rate_text("0.08875"), rate_text(0)
    ('19 %', '8.875 %', '0 %')
    """
    try:
        share = Decimal(str(rate))
        if 0 <= share <= 1:
            return f"{(100 * share).normalize():f} %"
    except InvalidOperation:
        pass
    raise PaperError(seen=f'"{rate}" as a tax rate', allowed="a share from 0 to 1", do='write 19 % as "0.19"')


def date_text(text: str, labels: Labels) -> str:
    """A day with its month in letters, which no reader takes for another; its time if it has one.

    >>> months = ["January", "February", "March"]
    >>> date_text("2026-03-14", {"months": months}), date_text("2026-03-14T16:20", {"months": months})
    ('14 March 2026', '14 March 2026, 16:20')
    """
    when = moment(text, "date")
    day = f"{when.day} {labels['months'][when.month - 1]} {when.year}"
    return f"{day}, {when:%H:%M}" if "T" in text or " " in text else day
