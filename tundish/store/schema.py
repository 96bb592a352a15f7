"""The form of the store, and how an older form becomes the present one, and back; the same steps on SQLite and PostgreSQL."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from sqlalchemy import Connection, Table, func, select
from sqlalchemy.exc import DBAPIError

from tundish.store.errors import StoreError
from tundish.store.marks import APPLICATION, Marks, clear_room, make_room, read_marks, write_marks
from tundish.store.tables import EVENTS, STOCK
from tundish.store.triggers import append_only, functions, no_functions

# One lock for all that write to our tables on a server: its number is ours, and asks for no rights.
LOCK = f"SELECT pg_advisory_xact_lock({APPLICATION})"


def _first(connection: Connection) -> None:
    # Form 1: one plain table. A later change of the table is a step of its own, and this one then keeps a copy.
    make_room(connection)
    functions(connection)
    EVENTS.create(connection)
    append_only(connection, "events", "record a correction", "an event")


def _unfirst(connection: Connection) -> None:
    _drop(connection, EVENTS)
    no_functions(connection)
    clear_room(connection)


def _second(connection: Connection) -> None:
    # Form 2: what parts came and went.
    STOCK.create(connection)
    append_only(connection, "stock", "count the part", "a line")


def _unsecond(connection: Connection) -> None:
    _drop(connection, STOCK)


Migration = Callable[[Connection], None]

# MIGRATIONS[n] turns form n into form n + 1. Rows are never rewritten: bodies are upgraded when read.
MIGRATIONS: tuple[Migration, ...] = (_first, _second)
# BACK[n] turns form n + 1 into form n, where nothing would be lost.
BACK: tuple[Migration, ...] = (_unfirst, _unsecond)


def form(connection: Connection) -> int:
    """The form of an open store; 0 for an empty one."""
    return read_marks(connection).form


def check(connection: Connection, where: Path | str, migrations: tuple[Migration, ...] = MIGRATIONS) -> Marks:
    """The marks of a store. StoreError when it is another program's or of a newer form."""
    found = read_marks(connection)
    if found.strange:
        raise StoreError(
            seen=f"{where}, a database of another program (mark {found.mark:#x})",
            allowed="a file of events, or a new name",
            do="check the name; nothing was changed",
        )
    if found.form > len(migrations):
        raise StoreError(
            seen=f"{where} in form {found.form}",
            allowed=f"forms up to {len(migrations)}",
            do="update this program: a newer one wrote the file; nothing was changed",
        )
    return found


def migrate(
    connection: Connection, migrations: tuple[Migration, ...] = MIGRATIONS, *, mark: int = APPLICATION
) -> None:
    """Bring a checked store to the present form, all or nothing. mark : of a store made now."""
    if form(connection) == len(migrations):
        return
    with transaction(connection):
        # Another program may have done it while we waited for the lock, so the form is read again.
        found = read_marks(connection)
        for number in range(found.form, len(migrations)):
            migrations[number](connection)
        write_marks(connection, found.mark if found.form else mark, len(migrations))


def step_back(connection: Connection, to: int, back: tuple[Migration, ...] = BACK) -> None:
    """Bring a store to an older form, all or nothing, for an older version of this program.

    StoreError when something would be lost that the older form cannot hold.
    """
    with transaction(connection):
        found = read_marks(connection)
        for number in reversed(range(to, found.form)):
            back[number](connection)
        # Form 0 on a server has no table of marks any more
        if to or connection.dialect.name == "sqlite":
            write_marks(connection, found.mark if to else 0, to)


@contextmanager
def transaction(connection: Connection) -> Iterator[None]:
    """One transaction, alone among all that write to this store: what is read in it is still so when it ends."""
    begin(connection)
    try:
        yield
        connection.exec_driver_sql("COMMIT")
    except BaseException:
        give_up(connection)
        raise


def begin(connection: Connection) -> None:
    """Begin to write, alone; waits for others that write."""
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql("BEGIN IMMEDIATE")
        return
    connection.exec_driver_sql("BEGIN")
    # Readers are let be. Waited for no longer than lock_timeout says
    connection.exec_driver_sql(LOCK)


def give_up(connection: Connection) -> None:
    """Undo what was written since `begin`, as far as there is something left to undo."""
    if connection.closed or connection.invalidated:
        return
    driver = connection.connection.driver_connection
    # A full disk may have ended the transaction already.
    if connection.dialect.name != "sqlite":
        # A server that is gone has undone it; the first error is the one to tell
        with suppress(DBAPIError):
            connection.exec_driver_sql("ROLLBACK")
    elif driver is not None and driver.in_transaction:
        connection.exec_driver_sql("ROLLBACK")


def _drop(connection: Connection, table: Table) -> None:
    rows = connection.execute(select(func.count()).select_from(table)).scalar() or 0
    if rows:
        raise StoreError(
            seen=f"{rows} rows in {table.name}",
            allowed="no rows in a table that the older form has not",
            do="stay with this version, or export what the older one can read into a new file; nothing was changed",
        )
    table.drop(connection)
