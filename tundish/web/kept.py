"""Files known by the hash of what is in them: photos, and papers that a customer was sent."""

from __future__ import annotations

import hashlib
import os
import re
import secrets
from contextlib import suppress
from pathlib import Path

from tundish.store.errors import clear_errors
from tundish.web.errors import WebError

HASH = re.compile(r"[0-9a-f]{64}")
PHOTOS, PAPERS = "photos", "papers"


def keep(folder: Path, content: bytes, named: str | None = None) -> str:
    """Keep content and return its SHA-256; kept twice it is there once. WebError when it is not what it was named."""
    found = hashlib.sha256(content).hexdigest()
    # Checked here, on the bytes that are written, and not where they came in
    if named is not None and named != found:
        raise WebError(400, f"content of hash {found}", f"hash {named}", "send the content that was named")
    path = _path(folder, found)
    with clear_errors(path):
        # A program killed while it wrote may have left less
        if path.exists() and path.stat().st_size == len(content):
            return found
        path.parent.mkdir(parents=True, exist_ok=True)
        draft = path.with_name(f".{path.name}.{secrets.token_hex(4)}")
        try:
            _written(draft, content)
            os.replace(draft, path)
        finally:
            with suppress(OSError):
                draft.unlink(missing_ok=True)
    return found


def kept(folder: Path, sha256: str) -> bytes:
    """What is kept under a hash. WebError 404 when nothing is, or when it is no hash."""
    # The name is all letters and digits: no way out of the folder
    path = _path(folder, sha256) if HASH.fullmatch(sha256) else None
    if path is None or not path.is_file():
        raise WebError(404, f"nothing under {sha256[:70]!r}", "the hash of something kept", "send it first")
    with clear_errors(path):
        return path.read_bytes()


def _written(path: Path, content: bytes) -> None:
    # A customer's home is nobody else's business on this computer
    with os.fdopen(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "wb") as out:
        out.write(content)
        out.flush()
        os.fsync(out.fileno())


def _path(folder: Path, sha256: str) -> Path:
    return folder / sha256[:2] / sha256
