"""How much room the cache takes: what was not used for the longest time goes first."""

from __future__ import annotations

import os
import secrets
import shutil
import time
from contextlib import suppress
from pathlib import Path

# Our choice, [byte]: some hundred populations, small against a disk of today.
LIMIT = 4 * 10**9
# Drafts and leavings begin so. Those older than a day belong to a program that was killed, [s]; our choice.
HIDDEN = "."
STALE = 86_400.0


def touch(entry: Path) -> None:
    """Note that an entry was used now; a cache that may only be read keeps no such note."""
    with suppress(OSError):
        os.utime(entry)


def discard(entry: Path) -> None:
    """Take an entry away in one step, then delete it, so that nobody finds half of it."""
    grave = entry.with_name(f"{HIDDEN}{entry.name}.{secrets.token_hex(4)}")
    with suppress(OSError):
        os.rename(entry, grave)
    remove(grave)


def remove(path: Path) -> None:
    """Delete a file or a folder as far as the system allows."""
    if path.is_dir() and not path.is_symlink():
        shutil.rmtree(path, ignore_errors=True)
    else:
        with suppress(OSError):
            path.unlink()


def sweep(folder: Path, limit: int, *, keep: str = "") -> tuple[str, ...]:
    """Discard entries until the rest fit the limit, [byte]; returns their names. `keep` is never discarded.

    Arrays still mapped elsewhere stay good: the system frees their bytes when the last user lets go (on
    Windows they stay on the disk until a later sweep).
    """
    gone = []
    entries = _by_use(folder)
    total = sum(_size(entry) for entry in entries)
    for entry in entries:
        if total <= limit:
            break
        if entry.name != keep:
            total -= _size(entry)
            discard(entry)
            gone.append(entry.name)
    return tuple(gone)


def _by_use(folder: Path) -> list[Path]:
    # Entries, the one not used for the longest time first. Stale drafts are deleted on the way.
    entries = []
    with suppress(OSError):
        for path in folder.iterdir():
            if not path.name.startswith(HIDDEN):
                entries.append(path)
            elif time.time() - _used(path) > STALE:
                remove(path)
    return sorted(entries, key=lambda entry: (_used(entry), entry.name))


def _used(entry: Path) -> float:
    with suppress(OSError):
        return entry.stat().st_mtime
    return 0.0


def _size(entry: Path) -> int:
    total = 0
    with suppress(OSError):
        for path in entry.iterdir():
            total += path.stat().st_size
    return total
