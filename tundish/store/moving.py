"""All calls and stock from one place to another, compared before anything is switched; and two places brought together.

The old place is only read. A move that was cut off is taken up where it stopped when it is asked for again.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

import msgspec

from tundish.store.errors import StoreError
from tundish.store.events import WAIT, EventFile, Taken, open_events
from tundish.store.merge import unite
from tundish.store.opening import open_calls
from tundish.store.places import FILE, VARIABLE, Place, keep_place, kept, place_of, same, told
from tundish.store.whole import alone

if TYPE_CHECKING:
    from tundish.store.base import Base

TABLES = ("events", "stock")
# Rows copied in one transaction; a move cut off loses no more of its work. Our choice.
TOGETHER = 2_000
Progress = Callable[[float], None]


@dataclass(frozen=True)
class Content:
    """What a place holds. sha256 : of every row of both tables, in the order of their ids."""

    events: int
    stock: int
    sha256: str

    def __str__(self) -> str:
        return f"{self.events} events and {self.stock} lines of the stock ({self.sha256[:12]}...)"


@dataclass(frozen=True)
class Moved:
    """A move that was made. source, target : places."""

    source: Place
    target: Place
    content: Content


def move(
    folder: Path, target: Place, *, environ: Mapping[str, str] = os.environ, progress: Progress = lambda share: None
) -> Moved:
    """Copy all calls and stock of a data folder to another place, compare, and let them lie there from now on.

    StoreError when the target holds anything, unless an earlier move there was cut off; then nothing is switched.
    """
    source = _from(folder, target, environ)
    with (
        alone(folder / FILE),
        open_calls(folder, environ) as old,
        _filling(target) as new,
        # Nobody records here between the copy and the switch
        old.writing(),
    ):
        _copy(old.base, new, progress)
        content = content_of(old.base)
        with new.writing():
            arrived = content_of(new)
        if arrived != content:
            raise StoreError(
                seen=f"{arrived} in {target}, {content} in {source}",
                allowed="the same in both",
                do="empty the target or name another one, and move again; the calls lie where they were",
            )
        keep_place(folder, target)
        new.settle()
    return Moved(source, target, content)


def join(folder: Path, target: Place, *, environ: Mapping[str, str] = os.environ) -> Taken:
    """Add all calls and stock of a data folder to a place that others use, and let them lie there from now on.

    What could not be taken in is named in the answer, and stays in the old place.
    """
    _from(folder, target, environ)
    with (
        alone(folder / FILE),
        open_events(target, create=False) as new,
        open_calls(folder, environ) as old,
        old.writing(),
    ):
        taken = unite(new, old)
        keep_place(folder, target)
    return taken


def content_of(base: Base) -> Content:
    """Counts and hash of all rows; the same for the same rows, wherever they lie. Inside a transaction one moment."""
    seal, counts = hashlib.sha256(), []
    for table in TABLES:
        count = 0
        for row in base.rows(table):
            seal.update(msgspec.json.encode(row) + b"\n")
            count += 1
        # The number too, or a row that left one table for the other might go unseen
        seal.update(f"{table} {count}\n".encode())
        counts.append(count)
    return Content(counts[0], counts[1], seal.hexdigest())


def _from(folder: Path, target: Place, environ: Mapping[str, str]) -> Place:
    """Where the calls lie now. StoreError when they cannot be moved from there to the target."""
    source = place_of(folder, environ)
    if told(folder, environ):
        raise StoreError(
            seen=f"{VARIABLE} naming {source}",
            allowed=f"a move while {VARIABLE} is not set",
            do="unset it first: it would hide where the calls were moved to",
        )
    if same(source, target):
        raise StoreError(seen=f"{target}, where the calls lie already", allowed="another place", do="name another one")
    return source


@contextmanager
def _filling(target: Place) -> Iterator[Base]:
    # As in `open_events`: loaded when it is needed
    from tundish.store.base import open_target  # noqa: PLC0415

    base = open_target(target, wait=WAIT)
    try:
        yield base
    finally:
        base.close()


def _copy(old: Base, new: Base, progress: Progress) -> None:
    total, done = sum(old.count(table) for table in TABLES), 0
    for table in TABLES:
        rows = old.rows(table)
        while piece := list(islice(rows, TOGETHER)):
            with new.writing():
                # What an earlier move brought is there already; the comparison tells whether it is the same
                there = new.found(table, [row[0] for row in piece])
                new.add(table, [row for row in piece if row[0] not in there])
            done += len(piece)
            progress(done / total)


def place_facts(file: EventFile, folder: Path, environ: Mapping[str, str] = os.environ) -> dict[str, object]:
    """Where the calls lie, who says so, and how many there are, as plain values."""
    place = place_of(folder, environ)
    by = VARIABLE if told(folder, environ) else FILE if kept(folder) else "usual"
    return {
        "place": str(place),
        "said_by": by,
        "calls": len(file.base.tallies()),
        "events": file.base.count("events"),
        "stock": file.base.count("stock"),
        "folder": str(folder),
    }
