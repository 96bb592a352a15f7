"""Files known by the hash of what is in them, as a browser asks for them: photos, and papers."""

from __future__ import annotations

import hashlib
import re
from pathlib import Path

from tundish.store import kept as store
from tundish.store.errors import clear_errors
from tundish.store.kept import PAPERS, PHOTOS
from tundish.web.errors import WebError

__all__ = ["HASH", "PAPERS", "PHOTOS", "keep", "kept"]

HASH = re.compile(r"[0-9a-f]{64}")


def keep(folder: Path, content: bytes, named: str | None = None) -> str:
    """Keep content and return its SHA-256; kept twice it is there once. WebError when it is not what it was named."""
    found = hashlib.sha256(content).hexdigest()
    # Checked here, on the bytes that are written, and not where they came in
    if named is not None and named != found:
        raise WebError(400, f"content of hash {found}", f"hash {named}", "send the content that was named")
    return store.keep(folder, content)


def kept(folder: Path, sha256: str) -> bytes:
    """What is kept under a hash. WebError 404 when nothing is, or when it is no hash."""
    # The name is all letters and digits: no way out of the folder
    path = store.place_of(folder, sha256) if HASH.fullmatch(sha256) else None
    if path is None or not path.is_file():
        raise WebError(404, f"nothing under {sha256[:70]!r}", "the hash of something kept", "send it first")
    with clear_errors(path):
        return path.read_bytes()
