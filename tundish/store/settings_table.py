"""The settings as a table, one row a setting: out to a spreadsheet or JSON, and back in."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

from tundish.prices.settings import Settings
from tundish.prices.settings_plain import changed, plain
from tundish.prices.settings_usual import OWN, USUAL, usual
from tundish.store import cells, given
from tundish.store.settings import (
    CURRENCY,
    Own,
    change,
    from_json,
    full_json,
    read_own,
    settings_of,
    with_values,
)
from tundish.store.settings_text import FAMILY, keys, merged, read_value, unit_of, written
from tundish.store.whole import written_whole

COLUMNS = ("key", "value", "unit", "source")
# Mark-ups between which any other lies.
ROOM: Mapping[str, Any] = {"mark_up_cheap": Decimal(5), "mark_up_dear": Decimal(1)}


def table_rows(own: Own) -> list[tuple[str, str, str, str]]:
    """Key, value, unit and source of every setting."""
    settings = settings_of(own)
    return [
        (key, written(settings, key), unit_of(key, settings.currency), own.source(_name(key), settings))
        for key in keys(settings)
    ]


def settings_facts(own: Own, path: str) -> dict[str, Any]:
    """Every setting with its value as text, as in a table, and as in the file; and what is kept without being understood."""
    settings = settings_of(own)
    values = plain(settings)
    return {
        "file": path,
        "currency_chosen": own.currency is not None,
        "settings": [
            {"key": key, "value": _plain_value(values, key), "shows": shows, "unit": unit, "source": source}
            for key, shows, unit, source in table_rows(own)
        ],
        "not_understood": sorted(own.unknown),
    }


def to_csv(own: Own) -> str:
    """The settings as a table for a spreadsheet. What only a newer version knows is not in it."""
    return cells.to_csv(COLUMNS, table_rows(own))


def export_settings(path: Path, to: Path) -> int:
    """Write all settings as .csv or .json and return how many. The path holds all of it, or what it held before."""
    end, own = given.format_of(to), read_own(path)
    text = to_csv(own) if end == ".csv" else full_json(own)
    with written_whole(to) as out:
        out.write(text)
    return len(table_rows(own))


def import_settings(path: Path, source: Path) -> Own:
    """Set what a table or a settings file says; what it does not name stays. All of it, or nothing.

    StoreError naming every row at fault. A broken settings file is replaced, with a copy of it kept.
    """
    end, text = given.format_of(source), given.read_text(source)

    def step(own: Own) -> Own:
        return from_table(text, own, str(source)) if end == ".csv" else _joined(text, own, str(source))

    return change(path, step, over_broken=True)


def from_table(text: str, own: Own, name: str) -> Own:
    """The settings with the rows of a table set."""
    rows = [(f"row {row.number}", row.cells) for row in cells.from_csv(text, COLUMNS, ("key", "value"))]
    rows = [(where, {**cell, "key": cell["key"].strip()}) for where, cell in rows]
    given.refuse(list(given.twins((where, cell["key"]) for where, cell in rows)), name)
    # The currency first: it says what the sums of the other rows are in, and what is usual
    before = _in_currency(own, {cell["key"]: cell["value"] for _, cell in rows}.get("currency"))
    read = given.each(rows, lambda cell: (cell, _value(cell, before)), name)
    values = {cell["key"]: value for _, (cell, value) in read}
    sources = {_name(cell["key"]): cell.get("source", "").strip() for _, (cell, _) in read}
    return _updated(own, merged(values, before), sources, before)


def _value(cell: Mapping[str, str], settings: Settings) -> Any:
    value = read_value(cell["key"], cell["value"], cell.get("unit", ""), settings)
    # Tried alone, so that a value out of bounds is told with its row; how the mark-ups go together is seen later
    changed(replace(settings, **ROOM), merged({cell["key"]: value}, settings))
    return value


def _joined(text: str, own: Own, name: str) -> Own:
    new = from_json(text, name)
    before = _in_currency(own, new.values.get("currency"))
    joined = _updated(own, new.values, new.sources, before)
    unknown = {**own.unknown, **new.unknown}
    return replace(joined, kept={**own.kept, **new.kept, **({"settings": unknown} if unknown else {})})


def _in_currency(own: Own, said: str | None) -> Settings:
    """Settings before a table is taken in, in the currency that it says; as they are where it says none."""
    currency = own.currency if said is None else said.strip()
    if currency is None or currency == own.currency:
        return settings_of(own)
    # Without usual figures any will do: every sum must be in the table
    return usual(currency) if currency in USUAL else changed(usual(CURRENCY), {"currency": currency})


def _updated(own: Own, values: Mapping[str, Any], sources: Mapping[str, str], before: Settings) -> Own:
    """The settings with values set, without those that only say again what is usual."""
    there = plain(before) if before.currency in USUAL else {}

    def fresh(name: str) -> bool:
        told = sources.get(name, "") not in ("", own.source(name, before))
        return name == "currency" or name in own.values or there.get(name) != values[name] or told

    new = {name: value for name, value in values.items() if fresh(name)}
    return with_values(own, new, {n: s for n, s in sources.items() if n in new and s not in ("", OWN)})


def _plain_value(values: Mapping[str, Any], key: str) -> Any:
    return values["replacement"][key[len(FAMILY) :]] if key.startswith(FAMILY) else values[key]


def _name(key: str) -> str:
    return "replacement" if key.startswith(FAMILY) else key
