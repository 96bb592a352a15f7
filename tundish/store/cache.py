"""Arrays that are costly to build, kept by the hash of what they were built from, and mapped instead of read.

The cache never stands in the way: what is broken is built anew, and what cannot be written is used from
memory, each with a notice.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy.typing as npt

from tundish.store import array_files, cache_room, folders
from tundish.store.array_files import BrokenEntry
from tundish.store.errors import StoreError

Arrays = Mapping[str, npt.NDArray[Any]]

KEY = re.compile(r"[A-Za-z0-9_-]{8,128}")


@dataclass(frozen=True)
class Notice:
    """Something the user may want to know. seen : what happened. done : what was done about it."""

    seen: str
    done: str


@dataclass(frozen=True, eq=False)
class Loaded(Mapping[str, npt.NDArray[Any]]):
    """Arrays by name, from the cache or fresh; they are read-only either way.

    built : whether they had to be built. mapped : whether they lie in files, not in memory.
    notices : what went wrong on the way, without harm to the arrays.
    """

    arrays: Arrays
    built: bool
    mapped: bool
    notices: tuple[Notice, ...] = ()

    def __getitem__(self, name: str) -> npt.NDArray[Any]:
        return self.arrays[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self.arrays)

    def __len__(self) -> int:
        return len(self.arrays)


def load_or_build(
    key: str, build: Callable[[], Arrays], folder: Path | None = None, *, limit: int = cache_room.LIMIT
) -> Loaded:
    """The arrays kept under a key, built and kept first when they are not there.

    key : hash of all that decides the arrays, version and seed included; letters, digits, - and _.
    build : makes the arrays by name; its errors pass through. folder : the user's cache folder when None.
    limit : the size the cache may have after a build, [byte]; those not used for the longest time go first.
    """
    if not KEY.fullmatch(key):
        raise StoreError(
            seen=f"cache key {key!r}", allowed="8 to 128 letters, digits, - and _", do="use a hash in hex"
        )
    folder = folders.cache_folder() if folder is None else folder
    notices: list[Notice] = []
    arrays = _load(folder / key, notices)
    if arrays is not None:
        return Loaded(arrays, built=False, mapped=True, notices=tuple(notices))
    return _keep(folder / key, build(), notices, limit)


def _load(entry: Path, notices: list[Notice]) -> Arrays | None:
    if not os.path.lexists(entry):
        return None
    try:
        arrays = array_files.load(entry)
    except (BrokenEntry, OSError) as error:
        notices.append(Notice(f"broken cache entry {entry}: {error}", "built anew"))
        cache_room.discard(entry)
        return None
    # The time of last use decides what a sweep discards.
    cache_room.touch(entry)
    return arrays


def _keep(entry: Path, arrays: Arrays, notices: list[Notice], limit: int) -> Loaded:
    # Write the arrays and give them back mapped, so that the memory they took is free again
    try:
        array_files.save(entry, arrays)
        mapped = array_files.load(entry)
    except (BrokenEntry, OSError) as error:
        notices.append(
            Notice(f"cache entry {entry} could not be written: {error}", "used from memory, not kept")
        )
        return Loaded(_read_only(arrays), built=True, mapped=False, notices=tuple(notices))
    cache_room.sweep(entry.parent, limit, keep=entry.name)
    return Loaded(mapped, built=True, mapped=True, notices=tuple(notices))


def _read_only(arrays: Arrays) -> Arrays:
    # Views that refuse writing, as mapped arrays do: a caller must not depend on which it got
    views = {name: array.view() for name, array in arrays.items()}
    for view in views.values():
        view.flags.writeable = False
    return views
