"""The rows of the store behind one connection, on SQLite and PostgreSQL: the same statements, the same refusals.

Loaded only when calls are opened, so that verbs without calls do not wait for SQLAlchemy.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, func, select
from sqlalchemy.exc import SQLAlchemyError

from tundish.store import schema
from tundish.store.connecting import connected
from tundish.store.errors import SAFE, StoreError, clear_errors, translated
from tundish.store.marks import APPLICATION, MOVING, read_marks, write_marks
from tundish.store.places import Place, Server
from tundish.store.rows import ALLOWED, Row, unholdable
from tundish.store.server_errors import from_server
from tundish.store.tables import EVENTS, METADATA

# Ids asked for in one statement; SQLite 3.32 and older took 999 at most.
TOGETHER = 500


class Base:
    """An open store. where : as it is shown. connection : of SQLAlchemy. within : True inside a transaction."""

    def __init__(self, where: Path | str, connection: Connection) -> None:
        self.where = where
        self.connection = connection
        self.driver: Any = connection.connection.driver_connection
        self.within = False

    def close(self) -> None:
        """Give the connection back."""
        self.connection.close()

    @contextmanager
    def writing(self) -> Iterator[None]:
        """One transaction, alone; inside another one a part of that."""
        if self.within:
            yield
            return
        with clear(self.where):
            schema.begin(self.connection)
            self.within = True
            try:
                yield
                self._acknowledge()
            except BaseException:
                schema.give_up(self.connection)
                raise
            finally:
                self.within = False

    def rows(self, table: str, equal: Mapping[str, Sequence[str]] | None = None) -> Iterator[Row]:
        """Rows as they lie in a table, sorted by id. equal : column -> the values to choose."""
        chosen = METADATA.tables[table]
        wanted = select(chosen).order_by(chosen.c.id)
        # A server hands a whole table over at once, which may be large; by pieces it does so inside a transaction only
        if self.within and equal is None:
            wanted = wanted.execution_options(stream_results=True)
        for column, values in (equal or {}).items():
            wanted = wanted.where(chosen.c[column].in_(list(values)))
        with clear(self.where):
            for row in self.connection.execute(wanted):
                yield tuple(row)

    def found(self, table: str, ids: Sequence[str]) -> dict[str, Row]:
        """The rows of these ids that are there."""
        pieces = (ids[start : start + TOGETHER] for start in range(0, len(ids), TOGETHER))
        return {row[0]: row for piece in pieces for row in self.rows(table, {"id": piece})}

    def add(self, table: str, rows: Sequence[Row]) -> None:
        """Add new rows, inside a transaction. StoreError when one cannot be held."""
        chosen = METADATA.tables[table]
        for row in rows:
            if cell := unholdable(row):
                raise StoreError(seen=f"{cell} in row {row[0]!r} for {self.where}", allowed=ALLOWED, do=f"correct it; {SAFE}")
        if rows:
            named = [dict(zip(chosen.c.keys(), row, strict=True)) for row in rows]
            with clear(self.where):
                self.connection.execute(chosen.insert(), named)

    def newest(self, table: str) -> str | None:
        """The greatest id of a table."""
        with clear(self.where):
            newest: str | None = self.connection.execute(select(func.max(METADATA.tables[table].c.id))).scalar()
            return newest

    def count(self, table: str) -> int:
        """How many rows a table has."""
        with clear(self.where):
            return int(self.connection.execute(select(func.count()).select_from(METADATA.tables[table])).scalar() or 0)

    def tallies(self) -> tuple[tuple[str, int, str, str], ...]:
        """Of each call with events: its id, how many, the latest moment, the greatest id; sorted by call."""
        call = EVENTS.c.call
        wanted = select(call, func.count(), func.max(EVENTS.c.at), func.max(EVENTS.c.id)).group_by(call).order_by(call)
        with clear(self.where):
            return tuple((row[0], row[1], row[2], row[3]) for row in self.connection.execute(wanted))

    def unsound(self) -> tuple[str, ...]:
        """What a file says is wrong with its pages. A server looks after its own."""
        if self.connection.dialect.name != "sqlite":
            return ()
        with clear(self.where):
            report = [str(row[0]) for row in self.connection.exec_driver_sql("PRAGMA integrity_check")]
        return tuple(line for line in report if line != "ok")

    def settle(self) -> None:
        """Say that a move has filled the store, and that what is in it was compared."""
        with self.writing():
            write_marks(self.connection, APPLICATION, schema.form(self.connection))

    def _acknowledge(self) -> None:
        try:
            self.connection.exec_driver_sql("COMMIT")
        except SQLAlchemyError as error:
            raise _said(error, self.where, ending=True) from _cause(error)


def open_base(place: Place, *, create: bool, wait: float, filled: bool = False) -> Base:
    """Open a store, checked and in the present form. create : make one that is not there. wait : for other writers, [s].

    filled : a move into it is known to have been compared. StoreError when it is not there, broken, another program's, of
    a newer form, or half-filled by a move.
    """
    base = _raw(place, create=create, wait=wait)
    try:
        with clear(base.where):
            found = schema.check(base.connection, base.where)
            if not found.form and not create:
                raise StoreError(
                    seen=f"no calls in {place}",
                    allowed="a place that was filled by: tundish store move",
                    do="check the address",
                )
            if found.mark == MOVING and not filled:
                raise StoreError(
                    seen=f"{place}, half-filled by a move that was cut off",
                    allowed="a place that a move has filled",
                    do="move again on the computer that began: it goes on where it stopped",
                )
            if found.form < len(schema.MIGRATIONS):
                schema.migrate(base.connection)
            if found.mark == MOVING:
                base.settle()
    except BaseException:
        base.close()
        raise
    return base


def open_target(place: Place, *, wait: float) -> Base:
    """Open an empty store, or one that a move had begun to fill, and mark it as being filled.

    StoreError when it holds anything else.
    """
    base = _raw(place, create=True, wait=wait)
    try:
        with clear(base.where):
            schema.check(base.connection, base.where)
            schema.migrate(base.connection, mark=MOVING)
            with base.writing():
                rows = sum(base.count(table) for table in METADATA.tables)
                if rows and read_marks(base.connection).mark != MOVING:
                    raise StoreError(
                        seen=f"{place} with {rows} rows in it",
                        allowed="an empty place",
                        do="name another one; to bring two places together: tundish store join",
                    )
                write_marks(base.connection, MOVING, len(schema.MIGRATIONS))
    except BaseException:
        base.close()
        raise
    return base


def base_of(path: Path, memory: sqlite3.Connection) -> Base:
    """A store over a connection of SQLite that is open already, such as a copy in memory, brought to the present form."""
    with clear(path):
        base = Base(path, connected(memory))
        schema.check(base.connection, path)
        schema.migrate(base.connection)
    return base


@contextmanager
def clear(where: Path | str) -> Iterator[None]:
    """Turn errors of database and system into a StoreError that names the place."""
    with clear_errors(where):
        try:
            yield
        except SQLAlchemyError as error:
            raise _said(error, where) from _cause(error)


def _raw(place: Place, *, create: bool, wait: float) -> Base:
    where = str(place) if isinstance(place, Server) else place
    with clear(where):
        if isinstance(place, Path):
            if create:
                place.parent.mkdir(parents=True, exist_ok=True)
            elif not place.exists():
                raise StoreError(seen=f"no file {place}", allowed="a file of events", do="check the name")
        return Base(where, connected(place, wait))


def _said(error: SQLAlchemyError, where: Path | str, *, ending: bool = False) -> StoreError:
    cause = _cause(error)
    return translated(cause, where) if isinstance(cause, sqlite3.Error) else from_server(cause, str(where), ending=ending)


def _cause(error: SQLAlchemyError) -> BaseException:
    # What the driver said; a connection that broke earlier is told by SQLAlchemy itself
    return getattr(error, "orig", None) or error
