"""Two files become one by union: every event and every line of the stock of both, each once."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

from tundish.store.errors import StoreError, clear_errors
from tundish.store.events import WAIT, EventFile, Taken
from tundish.store.stock import lines_of, take_lines


def merge(file: EventFile, other: Path) -> Taken:
    """Add every event and line of the stock of another file that is not here. The other file is only read."""
    # One transaction: either all of the other file is here, or nothing
    with copy_of(other) as copy:
        return unite(file, copy)


def unite(file: EventFile, other: EventFile) -> Taken:
    """Add every event and line of the stock of others that are not here, in one transaction."""
    with file.writing():
        events = file.take((f"event {row.id}", row) for row in other.rows())
        stock = take_lines(file, lines_of(other))
    return Taken(events.added + stock.added, events.known + stock.known, (*events.refused, *stock.refused))


@contextmanager
def copy_of(path: Path) -> Iterator[EventFile]:
    """A copy in memory of another file, brought to the present form. The file itself is only read."""
    # As in `open_events`: loaded when it is needed
    from tundish.store.base import base_of  # noqa: PLC0415

    with clear_errors(path):
        if not path.exists():
            raise StoreError(seen=f"no file {path}", allowed="a file of events", do="check the name")
        with (
            closing(sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True, timeout=WAIT)) as source,
            closing(sqlite3.connect(":memory:", isolation_level=None)) as memory,
        ):
            # An older form is brought up in the copy, so the other file stays as it is.
            source.backup(memory)
            yield EventFile(base_of(path, memory))
