"""Named arrays in a folder: one .npy file each and a manifest. A folder is there whole or not at all.

References
----------
The .npy format, https://numpy.org/doc/stable/reference/generated/numpy.lib.format.html
"""

from __future__ import annotations

import hashlib
import os
import secrets
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import msgspec
import numpy as np
import numpy.typing as npt

from tundish.store import cache_room

MANIFEST = "manifest.json"
FORMAT = 1
# A file is known again by a hash of so many bytes at each end, [byte]. Hashing all of it would cost what
# mapping saves. Our choice.
END = 65536


class BrokenEntry(Exception):
    """A folder that does not hold what its manifest says."""


@dataclass(frozen=True)
class Item:
    """One array.

    file : its name in the folder. size : of the file, [byte]. ends : SHA-256 of its first and last bytes.
    """

    file: str
    shape: tuple[int, ...]
    dtype: str
    size: int
    ends: str


@dataclass(frozen=True)
class Manifest:
    """What a folder holds: arrays by name, in the order they were given."""

    format: int
    arrays: dict[str, Item]


def save(entry: Path, arrays: Mapping[str, npt.NDArray[Any]]) -> None:
    """Write a new folder; when another program was faster with the same folder, its work is kept.

    OSError when the disk refuses.
    """
    draft = entry.with_name(f"{cache_room.HIDDEN}{entry.name}.{secrets.token_hex(4)}")
    try:
        draft.mkdir(parents=True)
        items = {
            name: _save_one(draft / f"{place:04d}.npy", array)
            for place, (name, array) in enumerate(arrays.items())
        }
        with (draft / MANIFEST).open("wb") as out:
            out.write(msgspec.json.encode(Manifest(FORMAT, items)))
            _settle(out.fileno())
        os.rename(draft, entry)
    except OSError:
        # A folder that is not empty cannot be renamed over: somebody else finished first.
        if not entry.exists():
            raise
    finally:
        cache_room.remove(draft)


def load(entry: Path) -> dict[str, npt.NDArray[Any]]:
    """Map the arrays of a folder into memory, read-only. BrokenEntry when the folder is not whole."""
    try:
        manifest = msgspec.json.decode((entry / MANIFEST).read_bytes(), type=Manifest)
    except (OSError, msgspec.MsgspecError) as error:
        raise BrokenEntry(f"manifest unreadable: {error}") from error
    if manifest.format != FORMAT:
        raise BrokenEntry(f"format {manifest.format}; allowed: {FORMAT}")
    return {name: _load_one(entry, name, item) for name, item in manifest.arrays.items()}


def _save_one(path: Path, array: npt.NDArray[Any]) -> Item:
    array = np.asanyarray(array)
    if array.dtype.hasobject:
        raise TypeError(
            f"saw {array.dtype} for {path.name}; allowed: numbers and fixed text; convert the array first"
        )
    with path.open("w+b") as out:
        np.lib.format.write_array(out, array, allow_pickle=False)
        _settle(out.fileno())
    size = path.stat().st_size
    return Item(path.name, array.shape, array.dtype.str, size, _ends(path, size))


def _load_one(entry: Path, name: str, item: Item) -> npt.NDArray[Any]:
    path = entry / item.file
    try:
        size = path.stat().st_size
        if size != item.size or _ends(path, size) != item.ends:
            raise BrokenEntry(
                f"array {name!r} in {item.file} has {size} bytes, of {item.size}, or its ends differ"
            )
        # An empty array has no bytes to map.
        array = np.load(path, mmap_mode="r" if 0 not in item.shape else None, allow_pickle=False)
    except (OSError, ValueError) as error:
        raise BrokenEntry(f"array {name!r} in {item.file}: {error}") from error
    if (array.shape, array.dtype.str) != (item.shape, item.dtype):
        raise BrokenEntry(f"array {name!r} is {array.dtype.str} {array.shape}, not {item.dtype} {item.shape}")
    array.flags.writeable = False
    return array  # type: ignore[no-any-return]


def _ends(path: Path, size: int) -> str:
    with path.open("rb") as file:
        head = file.read(END)
        file.seek(max(0, size - END))
        return hashlib.sha256(head + file.read(END)).hexdigest()


def _settle(descriptor: int) -> None:
    # Onto the disk before the folder gets its name: a power cut must not leave a hollow folder
    os.fsync(descriptor)
