"""The front's files, the shell at every page, and the service worker with the list of files it keeps."""

from __future__ import annotations

import gzip
import hashlib
import json
from functools import lru_cache
from pathlib import Path

from starlette.requests import Request
from starlette.responses import Response

from tundish.web.errors import WebError

SHELL, WORKER = "index.html", "service-worker.js"
# Only these are served; a browser is told never to guess.
TYPES = {
    ".css": "text/css; charset=utf-8", ".html": "text/html; charset=utf-8", ".ico": "image/x-icon",
    ".js": "text/javascript; charset=utf-8", ".json": "application/json", ".mjs": "text/javascript; charset=utf-8",
    ".png": "image/png", ".svg": "image/svg+xml", ".txt": "text/plain; charset=utf-8",
    ".webmanifest": "application/manifest+json", ".woff2": "font/woff2",
}  # fmt: skip
# Pictures and fonts of these kinds are packed already.
PACKED = (".png", ".woff2", ".ico")


def files(folder: Path) -> dict[str, Path]:
    """The files that are served, by path under the folder. What is not in it cannot be asked for, by any trick."""
    found = (path for path in sorted(folder.rglob("*")) if path.is_file() and path.suffix in TYPES)
    return {
        path.relative_to(folder).as_posix(): path
        for path in found
        # A link that leads elsewhere is none of ours
        if not path.name.startswith(".") and path.resolve().is_relative_to(folder.resolve())
    }


def static(folder: Path, name: str, request: Request) -> Response:
    """A file of the front. WebError 404 when there is none of the name."""
    path = files(folder).get(name)
    if path is None:
        raise WebError(404, f"file {name[:100]!r}", "a file of the front", "load the page anew")
    return sent(path.read_bytes(), path.suffix, request)


def shell(folder: Path, request: Request) -> Response:
    """The page. WebError 503 when the front is not installed."""
    path = folder / SHELL
    if not path.is_file():
        raise WebError(503, f"no {path.name} in this installation", "the front's files", "install the whole package")
    return sent(path.read_bytes(), path.suffix, request)


def worker(folder: Path, request: Request) -> Response:
    """The service worker; its bytes change with every file, so that browsers take the new ones."""
    path = folder / WORKER
    if not path.is_file():
        raise WebError(404, f"no {path.name} in this installation", "the front's files", "install the whole package")
    return sent(listing(folder) + path.read_bytes(), path.suffix, request)


def root(certificate: bytes) -> Response:
    """The shop's certificate for a phone to install. WebError 404 where there is no shop network."""
    if not certificate:
        raise WebError(404, f"a certificate of {len(certificate)} bytes", "a bench for the shop's network", "start it so")
    return Response(certificate, media_type="application/x-x509-ca-cert")


def listing(folder: Path) -> bytes:
    """Two lines of script: the addresses to keep, and a hash of all their bytes."""
    found = {name: path for name, path in files(folder).items() if name != WORKER and path.suffix != ".txt"}
    # Names count too: a file that was moved is another file
    total = hashlib.sha256()
    for name, path in found.items():
        total.update(name.encode() + b"\0" + path.read_bytes() + b"\0")
    # The shell is known by the address of the first page
    addresses = ["/", *(f"/static/{name}" for name in found if name != SHELL)]
    lines = f"self.TUNDISH_FILES = {json.dumps(addresses)};\nself.TUNDISH_VERSION = {json.dumps(total.hexdigest())};\n"
    return lines.encode()


def sent(content: bytes, suffix: str, request: Request) -> Response:
    """A file, packed if the browser can unpack it, or the word that it is unchanged."""
    tag = f'"{hashlib.sha256(content).hexdigest()}"'
    headers = {"ETag": tag, "Vary": "Accept-Encoding"}
    if tag in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    if suffix not in PACKED and "gzip" in request.headers.get("accept-encoding", ""):
        content, headers["Content-Encoding"] = _packed(content), "gzip"
    return Response(content, headers=headers, media_type=TYPES[suffix])


@lru_cache(maxsize=256)
def _packed(content: bytes) -> bytes:
    # No time in it: the same file gives the same bytes
    return gzip.compress(content, mtime=0)
