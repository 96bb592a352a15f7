"""What the disk says, in words a technician can act on."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path


class StoreError(OSError):
    """A refusal in three parts: what was seen, what is allowed, what to do next."""

    def __init__(self, *, seen: str, allowed: str, do: str) -> None:
        super().__init__(f"saw {seen}; allowed: {allowed}; {do}")
        self.seen = seen
        self.allowed = allowed
        self.do = do


class Trouble(StoreError):
    """A StoreError that disk, server or another program stands behind: the same may go through later."""


SAFE = "what was recorded before is untouched, this one was not recorded"
BROKEN = (
    "keep the file as it is, export what can still be read, and import it with the last copy into a new file"
)

# First letters of SQLite's error name (https://www.sqlite.org/rescode.html): what is allowed, what to do.
CURES: tuple[tuple[str, str, str], ...] = (
    ("SQLITE_FULL", "free space on the disk", f"make room and record it again; {SAFE}"),
    (
        "SQLITE_IOERR",
        "a disk that takes and gives data",
        f"look for a full, failing or unplugged disk; {SAFE}",
    ),
    ("SQLITE_NOTADB", "a file of events", f"check the name; if it is the right file it is broken: {BROKEN}"),
    ("SQLITE_CORRUPT", "a sound file of events", BROKEN),
    (
        "SQLITE_READONLY_ROLLBACK",
        "a file that no program left half-way",
        "a program was killed while writing it: open it once where it may be written, its journal beside it",
    ),
    (
        "SQLITE_READONLY",
        "a file and folder that may be written",
        f"allow writing or use another folder; {SAFE}",
    ),
    (
        "SQLITE_CANTOPEN",
        "a file and folder that may be opened and written",
        "check the path and the permissions",
    ),
    (
        "SQLITE_BUSY",
        "one writer at a time",
        f"close the other program that writes this file, then try again; {SAFE}",
    ),
    ("SQLITE_LOCKED", "one writer at a time", f"finish the other writing first; {SAFE}"),
    ("SQLITE_CONSTRAINT", "new events only", f"record a correction instead; {SAFE}"),
)


def translated(error: sqlite3.Error, path: Path | str) -> StoreError:
    """The refusal for an error of SQLite about a file."""
    name = getattr(error, "sqlite_errorname", "") or ""
    seen = f"{error} ({name or type(error).__name__}) on {path}"
    for start, allowed, do in CURES:
        if name.startswith(start):
            return Trouble(seen=seen, allowed=allowed, do=do)
    return Trouble(seen=seen, allowed="a file this program made", do=f"check the file; {SAFE}")


@contextmanager
def clear_errors(path: Path | str) -> Iterator[None]:
    """Turn errors of SQLite and of the system into a StoreError that names the file."""
    try:
        yield
    except StoreError:
        # Said already, by a step inside.
        raise
    except sqlite3.Error as error:
        raise translated(error, path) from error
    except OSError as error:
        raise Trouble(
            seen=f"{error.strerror or error} on {error.filename or path}",
            allowed="a file and folder that may be read and written, with room",
            do=f"check the path, the permissions and the free space; {SAFE}",
        ) from error
