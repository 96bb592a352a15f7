"""A file that is there whole or not at all, changed by one program at a time."""

from __future__ import annotations

import glob
import os
import secrets
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import IO

from tundish.store.errors import clear_errors

# How long to wait for another program's change, [s]. Our choice.
WAIT = 10.0
LOCK = ".lock"


@contextmanager
def written_whole(path: Path) -> Iterator[IO[str]]:
    """A draft to write into. When all went well it takes the place of the file; else the file is as before.

    StoreError when the disk refuses.
    """
    draft = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    with clear_errors(path):
        try:
            # No translation of line ends: the file says the same on every system
            with draft.open("w", encoding="utf-8", newline="") as out:
                yield out
                out.flush()
                os.fsync(out.fileno())
            # Only a whole, flushed draft takes the place of what was there.
            os.replace(draft, path)
            _settle(path.parent)
        finally:
            with suppress(OSError):
                draft.unlink(missing_ok=True)


@contextmanager
def alone(path: Path) -> Iterator[None]:
    """Keep other programs from changing a file meanwhile; reading stays free. StoreError after ten seconds.

    The folder is made if need be. A lock file stays beside it, empty.
    """
    lock = path.with_name(f".{path.name}{LOCK}")
    with clear_errors(path):
        path.parent.mkdir(parents=True, exist_ok=True)
        # SQLite's own lock works on every system, and falls away when the program that holds it is killed.
        with closing(sqlite3.connect(lock, timeout=WAIT, isolation_level=None)) as holder:
            # Nothing is ever written into it, so it needs no journal beside it.
            holder.execute("PRAGMA journal_mode = MEMORY")
            holder.execute("BEGIN EXCLUSIVE")
            # Drafts that are here now belong to a program that was killed.
            for draft in path.parent.glob(f".{glob.escape(path.name)}.{'?' * 8}"):
                draft.unlink(missing_ok=True)
            yield


def _settle(folder: Path) -> None:
    # The new name is in the folder: that too must reach the disk. Windows cannot open a folder.
    with suppress(OSError):
        descriptor = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(descriptor)
        finally:
            os.close(descriptor)
