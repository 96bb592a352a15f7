"""Tables for a spreadsheet: no cell can become a formula there, and every cell comes back as it was.

References
----------
RFC 4180, Common Format and MIME Type for CSV Files, https://www.rfc-editor.org/rfc/rfc4180
OWASP, CSV Injection, https://owasp.org/www-community/attacks/CSV_Injection
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from tundish.store.errors import StoreError

# A cell that begins so is taken for a formula by a spreadsheet (OWASP); its full-width forms too.
FORMULA = frozenset("=+-@\t\r\n＝＋－＠")
GUARD = "'"
SEPARATOR = ";"


@dataclass(frozen=True)
class Row:
    """A row of a table. number : its line in the file, from 1. cells : by column, blanks at the ends cut off."""

    number: int
    cells: dict[str, str]


def guarded(cell: str) -> str:
    """A cell that a spreadsheet takes as text.

    >>> guarded("=1+1"), guarded("'=1"), guarded("12.50")
    ("'=1+1", "''=1", '12.50')
    """
    return GUARD + cell if cell[:1] in {*FORMULA, GUARD} else cell


def bare(cell: str) -> str:
    """A cell without the guard that `guarded` put there; one that somebody typed himself stays as it is.

    >>> bare("'=1+1"), bare("''=1"), bare("'s-Graven Lane")
    ('=1+1', "'=1", "'s-Graven Lane")
    """
    return cell[1:] if cell[:1] == GUARD and cell[1:2] in {*FORMULA, GUARD} else cell


def to_csv(columns: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table as text, guarded, columns parted by semicolons, begun by a mark that tells spreadsheets it is UTF-8."""
    out = io.StringIO(newline="")
    writer = csv.writer(out, delimiter=SEPARATOR, quoting=csv.QUOTE_ALL)
    writer.writerow(columns)
    writer.writerows([guarded(cell) for cell in row] for row in rows)
    return "\ufeff" + out.getvalue()


def from_csv(text: str, columns: Sequence[str], needed: Sequence[str]) -> Iterator[Row]:
    """The rows of a table, empty ones passed over. StoreError naming the row when it cannot be read.

    columns : those allowed, in any order. needed : those that must be there. Semicolons, commas or tabs part them.
    """
    text = text.removeprefix("\ufeff")
    head = text.split("\n", 1)[0]
    mark = next((mark for mark in (SEPARATOR, "\t", ",") if mark in head), SEPARATOR)
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=mark, strict=True)
    names: list[str] = []
    number = 1
    try:
        for cells in reader:
            if not names:
                names = _named(cells, columns, needed)
            elif any(cell.strip() for cell in cells):
                yield Row(number, _placed(names, cells, number))
            number = reader.line_num + 1
    except csv.Error as error:
        raise StoreError(
            seen=f"row {number}: {error}", allowed="cells as RFC 4180 has them", do="close the quotes"
        ) from error
    if not names:
        raise StoreError(seen=f"{len(text)} letters and no row", allowed=_wanted(columns), do="add that row")


def _named(cells: Sequence[str], columns: Sequence[str], needed: Sequence[str]) -> list[str]:
    names = [cell.strip().lower() for cell in cells]
    strange = [name for name in names if name not in columns]
    missing = [name for name in needed if name not in names]
    if strange or missing or len(set(names)) < len(names):
        raise StoreError(
            seen=f"row 1: {cells}", allowed=_wanted(columns), do="name the columns so in the first row"
        )
    return names


def _placed(names: Sequence[str], cells: Sequence[str], number: int) -> dict[str, str]:
    if len(cells) > len(names):
        raise StoreError(
            seen=f"row {number}: {len(cells)} cells",
            allowed=f"{len(names)}: {_wanted(names)}",
            do="put a cell that holds the parting sign in quotes",
        )
    # A spreadsheet may leave out empty cells at the end of a row
    return {name: bare(cells[place]) if place < len(cells) else "" for place, name in enumerate(names)}


def _wanted(columns: Sequence[str]) -> str:
    return f"a first row {SEPARATOR.join(columns)}"
