"""Files known by the hash of what is in them, such as papers: kept once, never changed."""

from __future__ import annotations

import hashlib
import os
import secrets
from contextlib import suppress
from pathlib import Path

from tundish.store.errors import clear_errors

PHOTOS, PAPERS = "photos", "papers"


def keep(folder: Path, content: bytes) -> str:
    """Keep content and return its SHA-256; kept twice it is there once. StoreError for troubles of the disk."""
    found = hashlib.sha256(content).hexdigest()
    path = place_of(folder, found)
    with clear_errors(path):
        # A program killed while it wrote may have left less
        if path.exists() and path.stat().st_size == len(content):
            return found
        path.parent.mkdir(parents=True, exist_ok=True)
        put(path, content)
    return found


def place_of(folder: Path, sha256: str) -> Path:
    """Where the content of a hash lies, whether it is there or not."""
    return folder / sha256[:2] / sha256


def put(path: Path, content: bytes) -> None:
    """Write a file whole, in the place of one that is there: a kill leaves the old or the new, never a part."""
    draft = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
    try:
        _written(draft, content)
        os.replace(draft, path)
    finally:
        with suppress(OSError):
            draft.unlink(missing_ok=True)


def _written(path: Path, content: bytes) -> None:
    # A customer's home is nobody else's business on this computer
    with os.fdopen(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "wb") as out:
        out.write(content)
        out.flush()
        os.fsync(out.fileno())
