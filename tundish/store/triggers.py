"""What keeps rows from being changed by any program: triggers, with the same words on SQLite and PostgreSQL.

References
----------
SQLite, https://www.sqlite.org/lang_createtrigger.html
PostgreSQL, https://www.postgresql.org/docs/15/plpgsql-trigger.html
"""

from __future__ import annotations

from sqlalchemy import Connection, text

# The integrity errors of the SQL standard, so that drivers raise what they raise on SQLite.
REFUSE = """
CREATE FUNCTION refuse() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN
    RAISE EXCEPTION '% are append-only: %', TG_TABLE_NAME, TG_ARGV[0] USING ERRCODE = 'integrity_constraint_violation';
END $$
"""
REFUSE_KNOWN = """
CREATE FUNCTION refuse_known() RETURNS trigger LANGUAGE plpgsql AS $$ DECLARE known boolean; BEGIN
    EXECUTE format('SELECT EXISTS (SELECT 1 FROM %I.%I WHERE id = $1)', TG_TABLE_SCHEMA, TG_TABLE_NAME) INTO known USING NEW.id;
    IF known THEN
        RAISE EXCEPTION '% are append-only: %', TG_TABLE_NAME, TG_ARGV[0] USING ERRCODE = 'integrity_constraint_violation';
    END IF;
    RETURN NEW;
END $$
"""


def append_only(connection: Connection, table: str, cure: str, row: str) -> None:
    """Refuse every change of a table's rows, and a second row with the same id. cure, row : words for the refusal."""
    known = f"{row} with this id is there"
    make = _in_file if connection.dialect.name == "sqlite" else _on_server
    for statement in make(table, cure, known):
        connection.execute(text(statement))


def functions(connection: Connection) -> None:
    """What the triggers of a server call; a file needs none."""
    if connection.dialect.name != "sqlite":
        for statement in (REFUSE, REFUSE_KNOWN):
            connection.execute(text(statement))


def no_functions(connection: Connection) -> None:
    """Take away what `functions` made."""
    if connection.dialect.name != "sqlite":
        connection.execute(text("DROP FUNCTION refuse(), refuse_known()"))


def _in_file(table: str, cure: str, known: str) -> list[str]:
    # The triggers of the first table have had plain names since form 1.
    name = "" if table == "events" else f"_{table}"
    refuse = [
        f"CREATE TRIGGER no_{verb.lower()}{name} BEFORE {verb} ON {table}"
        f" BEGIN SELECT RAISE(ABORT, '{table} are append-only: {cure}'); END"
        for verb in ("UPDATE", "DELETE")
    ]
    # INSERT OR REPLACE would delete a row without asking the triggers above.
    replace = (
        f"CREATE TRIGGER no_replace{name} BEFORE INSERT ON {table}"
        f" WHEN EXISTS (SELECT 1 FROM {table} WHERE id = NEW.id)"
        f" BEGIN SELECT RAISE(ABORT, '{table} are append-only: {known}'); END"
    )
    return [*refuse, replace]


def _on_server(table: str, cure: str, known: str) -> list[str]:
    made = [
        f"CREATE TRIGGER no_{verb.lower()} BEFORE {verb} ON {table} FOR EACH {each} EXECUTE FUNCTION refuse('{cure}')"
        for verb, each in (("UPDATE", "ROW"), ("DELETE", "ROW"), ("TRUNCATE", "STATEMENT"))
    ]
    made.append(
        f"CREATE TRIGGER no_replace BEFORE INSERT ON {table} FOR EACH ROW EXECUTE FUNCTION refuse_known('{known}')"
    )
    names = ("no_update", "no_delete", "no_truncate", "no_replace")
    # For sessions too that say they only copy rows from another server
    return [*made, *(f"ALTER TABLE {table} ENABLE ALWAYS TRIGGER {name}" for name in names)]
