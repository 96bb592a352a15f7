"""The tables of the store, written once for SQLite and PostgreSQL.

References
----------
SQLAlchemy Core, https://docs.sqlalchemy.org/en/20/core/metadata.html
"""

from __future__ import annotations

from sqlalchemy import BigInteger, CheckConstraint, Column, Index, Integer, MetaData, Table, Text

METADATA = MetaData()
# Bytes decide the order of ids and names, as they do in SQLite, whatever language the server was set up for
TEXT = Text().with_variant(Text(collation="C"), "postgresql")
# SQLite's integers have 64 bits anyway
NUMBER = Integer().with_variant(BigInteger(), "postgresql")


def _column(name: str, rule: str = "") -> Column[str]:
    rules = [CheckConstraint(f"length({name}) {rule}")] if rule else []
    return Column(name, TEXT, *rules, nullable=False)


EVENTS = Table(
    "events",
    METADATA,
    Column("id", TEXT, CheckConstraint("length(id) = 36"), primary_key=True, nullable=False),
    _column("call", ">= 3"),
    _column("at", "= 24"),
    _column("device", ">= 1"),
    _column("kind", ">= 1"),
    Column("schema", NUMBER, CheckConstraint("schema >= 1"), nullable=False),
    _column("body"),
    Index("events_of_call", "call", "id"),
)

# What parts came and went belongs to the shop and not to one call, so it has a table of its own
STOCK = Table(
    "stock",
    METADATA,
    Column("id", TEXT, CheckConstraint("length(id) = 36"), primary_key=True, nullable=False),
    _column("at", "= 24"),
    _column("device", ">= 1"),
    _column("kind", ">= 1"),
    _column("part", ">= 1"),
    Column("count", NUMBER, CheckConstraint("count >= 0"), nullable=False),
    _column("call"),
    # SQLite would take a word for a number; a server asks by itself
    CheckConstraint("typeof(count) = 'integer'").ddl_if(dialect="sqlite"),
)
