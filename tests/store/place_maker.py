"""Places for calls in tests: a file, and a database of its own on the server that TUNDISH_POSTGRESQL names."""

from __future__ import annotations

import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from urllib.parse import unquote, urlsplit

import pytest

from tundish.store.places import Place, Server

KINDS = [pytest.param("file"), pytest.param("server", marks=pytest.mark.engines)]


@contextmanager
def place_for(kind: str, folder: Path, name: str = "calls.sqlite", *, encoding: str = "UTF8") -> Iterator[Place]:
    """An empty place; the test is skipped when it needs a server and none is named."""
    if kind == "file":
        yield folder / name
        return
    psycopg = pytest.importorskip("psycopg")
    from tundish.store.connecting import forget

    address = server_address()
    base, _, _ = address.rpartition("/")
    database = f"tundish_test_{secrets.token_hex(6)}"
    with psycopg.connect(address, autocommit=True) as server:
        server.execute(f"CREATE DATABASE {database} TEMPLATE template0 ENCODING '{encoding}' LOCALE 'C'")
        try:
            yield Server(f"{base}/{database}")
        finally:
            forget()
            server.execute(f"DROP DATABASE {database} WITH (FORCE)")


def server_address() -> str:
    """The server's address, its password put where drivers look for it."""
    said = os.environ.get("TUNDISH_POSTGRESQL")
    if not said:
        pytest.skip("TUNDISH_POSTGRESQL names no server; see docs/store.md")
    found = urlsplit(said)
    if found.password is not None:
        os.environ["PGPASSWORD"] = unquote(found.password)
        said = said.replace(f":{found.password}@", "@", 1)
    return said
