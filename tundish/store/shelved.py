"""The folder of closed calls: Parquet files by table, family and month, and a list that says which of them count.

    closed/list.json
    closed/calls/front-load washer/2026-11/000003.parquet

New calls come in new files, nothing is rewritten for them. A call that changed is taken out of its month, whose files become one
new file. The list is replaced last and in one step: a file that it does not name is not there, and the next update deletes it.
Names of families and months are part of the path, so a reader of one year or family opens no other file.
"""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import msgspec

from tundish.history.tables import TABLES, Row
from tundish.store.engines import needed
from tundish.store.errors import StoreError, clear_errors

# The one file that says what counts; its form is raised when its fields change
LIST = "list.json"
FORM = 2
PARTS = {"string": "string", "float64": "float64", "int64": "int64", "boolean": "bool_"}


@dataclass
class Shelf:
    """What the list says. signs : call -> what its rows were made from. places : call -> family/month.

    files : table -> family/month -> names of files. last : number of the last file.
    """

    form: int = FORM
    signs: dict[str, str] = field(default_factory=dict)
    places: dict[str, str] = field(default_factory=dict)
    files: dict[str, dict[str, list[str]]] = field(default_factory=dict)
    last: int = 0


def read_list(folder: Path) -> Shelf:
    """The list of a folder; an empty one when there is none or it is of an older form, so that all is made again from the events.

    StoreError when it is broken or newer.
    """
    path = folder / LIST
    with clear_errors(path):
        if not path.exists():
            return Shelf()
        text = path.read_bytes()
    # A broken list loses nothing: all of it can be made again from the events
    try:
        shelf = msgspec.json.decode(text, type=Shelf)
    except msgspec.DecodeError as error:
        raise StoreError(
            seen=f"{path}: {error}",
            allowed="the list as this tool writes it",
            do="delete the folder; it is made again from the calls",
        ) from error
    # A newer list may name files this version would sweep away
    if shelf.form > FORM:
        raise StoreError(seen=f"{path} of form {shelf.form}", allowed=f"form {FORM}", do="use the newer version that wrote it")
    # Its tables lack columns; numbers of files go on, since a name must not come back with other rows
    return shelf if shelf.form == FORM else Shelf(last=shelf.last)


def put_in(folder: Path, shelf: Shelf, made: Mapping[str, Sequence[tuple[str, Row]]], gone: Iterable[str] = ()) -> None:
    """Add calls and take some out, and write the list. made : call -> its rows by table. gone : calls to take out first.

    A call that is made again must be among `gone`.
    """
    out = {call for call in gone if call in shelf.places}
    # A month is rewritten once, however many of its calls changed
    for place in sorted({shelf.places[call] for call in out}):
        _take_out(folder, shelf, place, out)
    for call in out:
        del shelf.places[call]
        shelf.signs.pop(call, None)
    by_file: dict[tuple[str, str], list[Row]] = {}
    for call, its in made.items():
        for table, row in its:
            place = f"{row['family']}/{row['month']}"
            shelf.places[call] = place
            by_file.setdefault((table, place), []).append(row)
    # In one order, so that the same calls give the same file numbers
    for (table, place), rows in sorted(by_file.items()):
        _add(folder, shelf, (table, place), _table(table, rows))
    # The list first, the sweep after it: cut off in between, old files are only left lying
    _write_list(folder, shelf)
    _sweep(folder, shelf)


def files(folder: Path, shelf: Shelf) -> dict[str, list[Path]]:
    """Table -> its files; a table without rows has one file without rows."""
    found = {
        name: [
            folder / name / place / file
            for place, names in sorted(shelf.files.get(name, {}).items())
            for file in names
        ]
        for name in TABLES
    }
    # An engine needs a schema even where no call has a row
    for name, paths in found.items():
        if not paths:
            paths.append(folder / f"empty-{name}.parquet")
            _save(paths[0], _table(name, []))
    return found


def schema_of(name: str) -> Any:
    """The schema of a table, as Arrow has it; timestamps in microseconds, UTC, which every engine reads."""
    arrow = needed("pyarrow", "learn")
    # Spark reads no finer than microseconds
    types = {word: getattr(arrow, part)() for word, part in PARTS.items()} | {"timestamp": arrow.timestamp("us", tz="UTC")}
    return arrow.schema([(column, types[type_]) for column, type_ in TABLES[name].items()])


def _table(name: str, rows: Sequence[Row]) -> Any:
    return needed("pyarrow", "learn").Table.from_pylist(list(rows), schema=schema_of(name))


def _take_out(folder: Path, shelf: Shelf, place: str, out: set[str]) -> None:
    """All files of a family's month without the rows of some calls."""
    arrow, compute = needed("pyarrow", "learn"), needed("pyarrow.compute", "learn")
    for name in TABLES:
        names = shelf.files.get(name, {}).pop(place, [])
        whole = [needed("pyarrow.parquet", "learn").read_table(folder / name / place / file, schema=schema_of(name)) for file in names]
        # A table may have no file of this month
        if whole:
            table = arrow.concat_tables(whole)
            kept = table.filter(compute.invert(compute.is_in(table["call"], arrow.array(sorted(out)))))
            if len(kept):
                _add(folder, shelf, (name, place), kept)


def _add(folder: Path, shelf: Shelf, where: tuple[str, str], table: Any) -> None:
    name, place = where
    # Never a number twice: a name that was swept must not come back with other rows
    shelf.last += 1
    file = f"{shelf.last:06d}.parquet"
    _save(folder / name / place / file, table)
    shelf.files.setdefault(name, {}).setdefault(place, []).append(file)


def _save(path: Path, table: Any) -> None:
    with clear_errors(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        needed("pyarrow.parquet", "learn").write_table(table, path, coerce_timestamps="us")


def _write_list(folder: Path, shelf: Shelf) -> None:
    replace_file(folder / LIST, msgspec.json.encode(shelf, order="deterministic"))


def replace_file(path: Path, content: bytes) -> None:
    """Write a file whole or not at all."""
    with clear_errors(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        # Beside the file, since a move across disks is no single step
        fresh = path.with_suffix(".new")
        with fresh.open("wb") as out:
            out.write(content)
            out.flush()
            # On the disk before it takes the name
            os.fsync(out.fileno())
        fresh.replace(path)


def _sweep(folder: Path, shelf: Shelf) -> None:
    """Delete files that the list does not name: those replaced, and those of an update that was cut off."""
    named = {folder / name / place / file for name, held in shelf.files.items() for place, many in held.items() for file in many}
    for name in TABLES:
        for path in (folder / name).glob("*/*/*.parquet"):
            if path not in named:
                path.unlink(missing_ok=True)
