"""Connections to a store: how a file and a server are told to write so that what was acknowledged is kept."""

from __future__ import annotations

import atexit
import sqlite3
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from urllib.parse import unquote

from sqlalchemy import URL, Connection, Engine, create_engine
from sqlalchemy.pool import NullPool

from tundish.store.marks import SCHEMA
from tundish.store.places import ADDRESS, Place, Server

# How long to wait for a server to answer at all, [s]. Our choice.
REACH = 10
# Statements are built once for each engine, and a server at work opens the same few again and again.
ENGINES = 32
# Connections of one program to a server: kept ready, and at most. Our choice.
KEPT, MOST = 4, 20
_SERVERS: dict[tuple[Server, float], Engine] = {}


def connected(place: Place | sqlite3.Connection, wait: float = 0.0) -> Connection:
    """A fresh connection. wait : how long to wait for others that write, [s]. DBAPIError when it cannot be had.

    Transactions begin and end where `schema` says so; outside of them every statement stands alone.
    """
    if isinstance(place, Server):
        return _server(place, wait).connect()
    if isinstance(place, sqlite3.Connection):
        return _over(lambda: place).connect()
    connection = _file(place, wait).connect()
    try:
        _settings(connection)
    except BaseException:
        connection.close()
        raise
    return connection


@lru_cache(ENGINES)
def _file(path: Path, wait: float) -> Engine:
    return _over(lambda: sqlite3.connect(path, timeout=wait, isolation_level=None))


def _over(creator: Callable[[], sqlite3.Connection]) -> Engine:
    return create_engine(
        "sqlite://",
        creator=creator,
        poolclass=NullPool,
        # A file rolls back by itself when it is closed; one that its holder closed before must not be asked for anything
        pool_reset_on_return=None,
        isolation_level="AUTOCOMMIT",
        hide_parameters=True,
    )


# Registered, so that the server hears of the program's end
@atexit.register
def forget() -> None:
    """Close the connections to servers that are kept ready."""
    while _SERVERS:
        _SERVERS.popitem()[1].dispose()


def _server(server: Server, wait: float) -> Engine:
    if (server, wait) not in _SERVERS:
        _SERVERS[server, wait] = _made(server, wait)
    return _SERVERS[server, wait]


def _made(server: Server, wait: float) -> Engine:
    # Only who has a server needs its driver
    from tundish.store.engines import needed  # noqa: PLC0415

    needed("psycopg", "postgres")
    # The calls of a shop must outlive a power cut of the server, whatever it does for others
    settings = {
        "search_path": SCHEMA,
        "lock_timeout": f"{wait * 1000:.0f}",
        "synchronous_commit": "on",
        "idle_in_transaction_session_timeout": "600000",
    }
    return create_engine(
        _url(server),
        # A password costs a server and us some 5 to 50 ms, so connections are kept; one that died is replaced
        pool_size=KEPT,
        max_overflow=MOST - KEPT,
        pool_pre_ping=True,
        isolation_level="AUTOCOMMIT",
        hide_parameters=True,
        connect_args={
            "options": " ".join(f"-c {name}={value}" for name, value in settings.items()),
            "connect_timeout": REACH,
            "client_encoding": "utf8",
            "application_name": "tundish",
        },
    )


def _url(server: Server) -> URL:
    found = ADDRESS.fullmatch(server.address)
    if found is None:
        raise ValueError(f"saw address {server.address!r}; allowed: one that `place_from` read; read it there")
    rest = dict(one.partition("=")[::2] for one in (found["rest"] or "").split("&") if one)
    return URL.create(
        "postgresql+psycopg",
        username=unquote((found["user"] or "").rstrip("@")) or None,
        host=found["host"].strip("[]") or None,
        port=int(found["port"][1:]) if found["port"] else None,
        database=unquote(found["database"]),
        query={name: unquote(value) for name, value in rest.items()},
    )


def _settings(connection: Connection) -> None:
    # One file, nothing beside it at rest; a commit reaches disk and folder (docs/call.md says why).
    connection.exec_driver_sql("PRAGMA trusted_schema = OFF")
    connection.exec_driver_sql("PRAGMA synchronous = EXTRA")
    if connection.exec_driver_sql("PRAGMA journal_mode").scalar() != "delete":
        connection.exec_driver_sql("PRAGMA journal_mode = DELETE")
