"""The stock as a table, one row a part: out to a spreadsheet or JSON, and back in as counts and orders."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

from tundish.store import cells, given
from tundish.store.clock import Source
from tundish.store.errors import StoreError
from tundish.store.events import EventFile
from tundish.store.stock import Line, Stock, record_moves, stock_of
from tundish.store.whole import written_whole
from tundish.van.part import key_of
from tundish.van.stock import Level, Levels, Movement

FIGURES = ("on_van", "on_order", "minimum")
COLUMNS = ("part", *FIGURES)
PIECES = re.compile(r"[0-9]{1,6}")

Row = dict[str, Any]


def table_rows(levels: Levels) -> list[Row]:
    """A row a part, sorted. on_van is None for a part whose ledger is short: it has to be counted."""
    return [_row(str(part), level) for part, level in sorted(levels.items())]


def stock_facts(stock: Stock) -> Row:
    """The table with what is short and below its minimum, and the kinds of lines that are kept without being understood."""
    levels = [level for _, level in sorted(stock.levels.items())]
    rows = [
        {**row, "short": level.short, "below_minimum": level.position < level.minimum}
        for row, level in zip(table_rows(stock.levels), levels, strict=True)
    ]
    return {"stock": rows, "not_understood": sorted({line.kind for line in stock.unread})}


def export_stock(file: EventFile, path: Path) -> int:
    """Write the stock as .csv or .json and return how many parts. The path holds all of it, or what it held before."""
    end, rows = given.format_of(path), table_rows(stock_of(file).levels)
    with written_whole(path) as out:
        out.write(_csv(rows) if end == ".csv" else _json(rows))
    return len(rows)


def import_stock(file: EventFile, path: Path, source: Source) -> tuple[Line, ...]:
    """Bring the stock to what a table says, by counts, orders, cancellations and minimums; returns these lines.

    An empty cell leaves its figure, and a part that is not named stays. So the same table twice adds nothing.
    StoreError naming every row at fault; then nothing is changed.
    """
    rows = given.each(_numbered(path), _checked, str(path))
    given.refuse(list(given.twins((where, row["part"]) for where, row in rows)), str(path))
    with file.writing():
        levels = stock_of(file).levels
        return record_moves(file, [move for _, row in rows for move in _moves(row, levels)], source)


def _row(part: str, level: Level) -> Row:
    on_van = None if level.short else level.on_van
    return {"part": part, "on_van": on_van, "on_order": level.on_order, "minimum": level.minimum}


def _csv(rows: list[Row]) -> str:
    return cells.to_csv(COLUMNS, [["" if row[c] is None else str(row[c]) for c in COLUMNS] for row in rows])


def _json(rows: list[Row]) -> str:
    return json.dumps({"stock": rows}, indent=1, ensure_ascii=False) + "\n"


def _numbered(path: Path) -> Iterator[tuple[str, Mapping[str, Any]]]:
    end, text = given.format_of(path), given.read_text(path)
    if end == ".csv":
        for row in cells.from_csv(text, COLUMNS, ("part",)):
            yield f"row {row.number}", row.cells
        return
    found = given.read_json(text, str(path)).get("stock")
    if not isinstance(found, list):
        raise StoreError(seen=f"{path}: stock {found!r}", allowed="a list of parts", do="correct the file")
    for number, entry in enumerate(found, start=1):
        yield f"part {number}", entry


def _checked(row: Mapping[str, Any]) -> Row:
    """A row with its figures as numbers, None where nothing is said."""
    if not isinstance(row, dict) or not isinstance(row.get("part"), str) or set(row) - set(COLUMNS):
        raise StoreError(seen=f"{row!r}", allowed=", ".join(COLUMNS), do="correct the names")
    return {"part": str(key_of(row["part"].strip())), **{c: _pieces(c, row.get(c)) for c in FIGURES}}


def _pieces(column: str, said: object) -> int | None:
    text = "" if said is None else str(said).strip()
    if text and (isinstance(said, bool) or not PIECES.fullmatch(text)):
        raise StoreError(
            seen=f"{column} {said!r}", allowed="whole pieces, 0 to 999999, or nothing", do="correct the cell"
        )
    return int(text) if text else None


def _moves(row: Row, levels: Levels) -> Iterator[Movement]:
    part = key_of(row["part"])
    level = levels.get(part, Level())
    # A short ledger is put right by any count, even by the nought it shows
    if row["on_van"] is not None and row["on_van"] != level.balance:
        yield Movement("count", part, row["on_van"])
    more = 0 if row["on_order"] is None else row["on_order"] - level.on_order
    if more:
        yield Movement("order" if more > 0 else "cancel", part, abs(more))
    if row["minimum"] not in (None, level.minimum):
        yield Movement("minimum", part, row["minimum"])
