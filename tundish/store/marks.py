"""What tells a store from another program's database, and in which form it is; a file says it in its head, a server in a table."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy import Connection, text

from tundish.store.errors import StoreError

# "TUND" in ASCII tells this file from another program's, https://www.sqlite.org/pragma.html#pragma_application_id
APPLICATION = 0x54554E44
# "TUNM": a move has not filled it yet.
MOVING = 0x54554E4D
# All of ours lies in a schema of its own, beside whatever else the database holds.
SCHEMA = "tundish"


@dataclass(frozen=True)
class Marks:
    """mark : whose database it is, 0 for nobody's. tables : how many there are. form : 0 for none."""

    mark: int
    tables: int
    form: int

    @property
    def strange(self) -> bool:
        """True for another program's database."""
        return self.mark not in (APPLICATION, MOVING) and bool(self.mark or self.tables or self.form)


def read_marks(connection: Connection) -> Marks:
    """The marks, all of one moment: another program may be making the store right now."""
    if connection.dialect.name != "sqlite":
        return _of_server(connection)
    # Inside a transaction it is one moment already
    alone = connection.connection.driver_connection.in_transaction  # type: ignore[union-attr]
    if not alone:
        connection.exec_driver_sql("BEGIN")
    try:
        mark, form = (_number(connection, f"PRAGMA {name}") for name in ("application_id", "user_version"))
        return Marks(mark, _number(connection, "SELECT count(*) FROM sqlite_master"), form)
    finally:
        if not alone:
            connection.exec_driver_sql("COMMIT")


def write_marks(connection: Connection, mark: int, form: int) -> None:
    """Set mark and form, inside the caller's transaction."""
    if connection.dialect.name == "sqlite":
        connection.exec_driver_sql(f"PRAGMA application_id = {mark}")
        connection.exec_driver_sql(f"PRAGMA user_version = {form}")
        return
    connection.execute(text("DELETE FROM form"))
    connection.execute(text("INSERT INTO form (mark, form) VALUES (:mark, :form)"), {"mark": mark, "form": form})


def make_room(connection: Connection) -> None:
    """The schema and the table of the marks on a server; a file needs none. StoreError when it cannot hold every letter."""
    if connection.dialect.name == "sqlite":
        return
    encoding = str(connection.execute(text("SHOW server_encoding")).scalar())
    if encoding != "UTF8":
        raise StoreError(
            seen=f"a database in {encoding}",
            allowed="one in UTF8",
            do="make the database anew: createdb --encoding=UTF8 --template=template0 NAME",
        )
    # IF NOT EXISTS: an administrator may have made the schema for a user who may not
    connection.execute(text(f"CREATE SCHEMA IF NOT EXISTS {SCHEMA}"))
    connection.execute(text("CREATE TABLE form (mark BIGINT NOT NULL, form BIGINT NOT NULL)"))


def clear_room(connection: Connection) -> None:
    """Take the table of the marks away again; the schema stays, as others may have made it."""
    if connection.dialect.name != "sqlite":
        connection.execute(text("DROP TABLE form"))


def _of_server(connection: Connection) -> Marks:
    # One statement, one moment; the marks themselves are written together with the table that holds them
    asked = (
        "SELECT to_regclass(:form) IS NOT NULL, count(*) FROM pg_catalog.pg_class c"
        " JOIN pg_catalog.pg_namespace n ON n.oid = c.relnamespace"
        " WHERE n.nspname = :schema AND c.relkind IN ('r', 'p', 'v', 'm', 'f')"
    )
    known, tables = connection.execute(text(asked), {"form": f"{SCHEMA}.form", "schema": SCHEMA}).one()
    found = connection.execute(text("SELECT mark, form FROM form")).fetchone() if known else None
    return Marks(int(found[0]), tables, int(found[1])) if found else Marks(0, tables, 0)


def _number(connection: Connection, statement: str) -> int:
    return int(connection.exec_driver_sql(statement).scalar() or 0)
