"""The form of the file of events, and how an older form becomes the present one."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable
from pathlib import Path

from tundish.store.errors import StoreError

# "TUND" in ASCII tells this file from another program's, https://www.sqlite.org/pragma.html#pragma_application_id
APPLICATION = 0x54554E44

COLUMNS = "id, call, at, device, kind, schema, body"
STOCK_COLUMNS = "id, at, device, kind, part, count, call"


def _first(connection: sqlite3.Connection) -> None:
    # Form 1: one plain table. Columns and checks are standard SQL; the triggers are SQLite's own.
    connection.execute(
        "CREATE TABLE events ("
        " id TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),"
        " call TEXT NOT NULL CHECK (length(call) >= 3),"
        " at TEXT NOT NULL CHECK (length(at) = 24),"
        " device TEXT NOT NULL CHECK (length(device) >= 1),"
        " kind TEXT NOT NULL CHECK (length(kind) >= 1),"
        " schema INTEGER NOT NULL CHECK (schema >= 1),"
        " body TEXT NOT NULL)"
    )
    connection.execute("CREATE INDEX events_of_call ON events (call, id)")
    _append_only(connection, "events", "record a correction", "an event")


def _second(connection: sqlite3.Connection) -> None:
    # Form 2: what parts came and went. They belong to the shop and not to one call, so they have a table of their own.
    connection.execute(
        "CREATE TABLE stock ("
        " id TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36),"
        " at TEXT NOT NULL CHECK (length(at) = 24),"
        " device TEXT NOT NULL CHECK (length(device) >= 1),"
        " kind TEXT NOT NULL CHECK (length(kind) >= 1),"
        " part TEXT NOT NULL CHECK (length(part) >= 1),"
        " count INTEGER NOT NULL CHECK (typeof(count) = 'integer' AND count >= 0),"
        " call TEXT NOT NULL)"
    )
    _append_only(connection, "stock", "count the part", "a line")


def _append_only(connection: sqlite3.Connection, table: str, cure: str, row: str) -> None:
    # The triggers of the first table have had plain names since form 1.
    name = "" if table == "events" else f"_{table}"
    for verb in ("UPDATE", "DELETE"):
        connection.execute(
            f"CREATE TRIGGER no_{verb.lower()}{name} BEFORE {verb} ON {table}"
            f" BEGIN SELECT RAISE(ABORT, '{table} are append-only: {cure}'); END"
        )
    # INSERT OR REPLACE would delete a row without asking the triggers above.
    connection.execute(
        f"CREATE TRIGGER no_replace{name} BEFORE INSERT ON {table}"
        f" WHEN EXISTS (SELECT 1 FROM {table} WHERE id = NEW.id)"
        f" BEGIN SELECT RAISE(ABORT, '{table} are append-only: {row} with this id is there'); END"
    )


Migration = Callable[[sqlite3.Connection], None]

# MIGRATIONS[n] turns form n into form n + 1. Rows are never rewritten: bodies are upgraded when read.
MIGRATIONS: tuple[Migration, ...] = (_first, _second)


def form(connection: sqlite3.Connection) -> int:
    """The form of an open file; 0 for an empty one."""
    return int(connection.execute("PRAGMA user_version").fetchone()[0])


def check(connection: sqlite3.Connection, path: Path, migrations: tuple[Migration, ...] = MIGRATIONS) -> None:
    """StoreError when the file is another program's or of a newer form."""
    mark, tables, found = _seen(connection)
    if mark != APPLICATION and (mark or tables or found):
        raise StoreError(
            seen=f"{path}, a database of another program (mark {mark:#x})",
            allowed="a file of events, or a new name",
            do="check the name; nothing was changed",
        )
    if found > len(migrations):
        raise StoreError(
            seen=f"{path} in form {found}",
            allowed=f"forms up to {len(migrations)}",
            do="update this program: a newer one wrote the file; nothing was changed",
        )


def _seen(connection: sqlite3.Connection) -> tuple[int, int, int]:
    """Mark, number of tables and form, all at one moment: another program may be making the file right now."""
    connection.execute("BEGIN")
    try:
        mark = int(connection.execute("PRAGMA application_id").fetchone()[0])
        tables = int(connection.execute("SELECT count(*) FROM sqlite_master").fetchone()[0])
        return mark, tables, form(connection)
    finally:
        connection.execute("COMMIT")


def migrate(connection: sqlite3.Connection, migrations: tuple[Migration, ...] = MIGRATIONS) -> None:
    """Bring a checked file to the present form, all or nothing. The connection is not in a transaction."""
    if form(connection) == len(migrations):
        return
    connection.execute("BEGIN IMMEDIATE")
    try:
        # Another program may have done it while we waited for the lock, so the form is read again.
        for number in range(form(connection), len(migrations)):
            migrations[number](connection)
        connection.execute(f"PRAGMA application_id = {APPLICATION}")
        connection.execute(f"PRAGMA user_version = {len(migrations)}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise
