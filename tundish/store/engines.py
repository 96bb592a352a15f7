"""Where the tables of closed calls are read: connections only. The figures are the same expressions on every engine.

An engine is named by its address: `duckdb` (embedded, the usual one), `postgresql://user@host/database`, or `spark://host:port`
and `local[2]` for Spark. Packages of an engine are loaded when it is asked for, so that the rest works without them.
"""

from __future__ import annotations

import importlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from io import BytesIO
from pathlib import Path
from types import ModuleType
from typing import Any

from tundish.history.tables import TABLES
from tundish.store.errors import StoreError

USUAL = "duckdb"
ALLOWED = "duckdb, postgresql://..., spark://... or local[cores]"
Files = Mapping[str, Sequence[Path]]


@dataclass(frozen=True)
class Engine:
    """An open engine. tables : name -> table of Ibis. close : to be called at the end."""

    tables: Mapping[str, Any]
    close: Callable[[], None]


def open_engine(address: str, files: Files) -> Engine:
    """An engine with the closed calls in it. files : table -> its Parquet files; every table has at least one.

    StoreError for an unknown address, and when the packages of the engine are not installed.
    """
    if address == USUAL:
        return duckdb(files)
    if address.startswith(("postgresql://", "postgres://")):
        return postgresql(address, files)
    if address.startswith(("spark://", "local[", "yarn", "k8s://")):
        return spark(address, files)
    raise StoreError(seen=f"engine {address!r}", allowed=ALLOWED, do="name one of these")


def duckdb(files: Files) -> Engine:
    """DuckDB in this process, on the files as they lie."""
    needed("duckdb", "learn")
    connection = needed("ibis", "learn").duckdb.connect()
    tables = {
        name: connection.read_parquet([str(path) for path in paths], table_name=name)
        for name, paths in files.items()
    }
    return Engine(tables, connection.disconnect)


def postgresql(address: str, files: Files) -> Engine:
    """A PostgreSQL server; the files are copied into tables of the session, which are gone when it ends."""
    needed("psycopg", "learn,postgres")
    connection = needed("ibis", "learn").connect(address)
    for name, paths in files.items():
        _copy(connection.con, name, paths)
    return Engine({name: connection.table(name) for name in files}, connection.disconnect)


def spark(address: str, files: Files) -> Engine:
    """A Spark session; the files must lie where its workers can read them."""
    builder = needed("pyspark.sql", "learn,cluster").SparkSession.builder.master(address)
    settings = {"spark.ui.enabled": "false", "spark.sql.session.timeZone": "UTC", "spark.sql.ansi.enabled": "true"}
    if address.startswith("local"):
        # Nobody outside is asked for a name, and a small machine needs few parts
        settings |= {"spark.driver.host": "127.0.0.1", "spark.driver.bindAddress": "127.0.0.1"}
        settings |= {"spark.sql.shuffle.partitions": "8"}
    for key, value in settings.items():
        builder = builder.config(key, value)
    session = builder.getOrCreate()
    for name, paths in files.items():
        session.read.parquet(*[str(path) for path in paths]).createOrReplaceTempView(name)
    connection = needed("ibis", "learn").pyspark.connect(session)
    return Engine({name: connection.table(name) for name in files}, session.stop)


def rows(expression: Any) -> list[dict[str, Any]]:
    """The rows of an expression, computed by its engine."""
    found: list[dict[str, Any]] = expression.to_pyarrow().to_pylist()
    return found


def needed(module: str, extra: str) -> ModuleType:
    """A module of an extra. StoreError when it is not installed."""
    try:
        return importlib.import_module(module)
    except ImportError as error:
        raise StoreError(
            seen=f"no package {error.name or module}",
            allowed=f"the packages of the extra {extra}",
            do=f'install them: pip install "tundish[{extra}]"',
        ) from error


def _copy(server: Any, name: str, paths: Iterable[Path]) -> None:
    types = {"string": "text", "float64": "double precision", "int64": "bigint", "boolean": "boolean", "timestamp": "timestamptz"}
    columns = TABLES[name]
    defined = ", ".join(f'"{column}" {types[type_]}' for column, type_ in columns.items())
    csv, parquet = needed("pyarrow.csv", "learn"), needed("pyarrow.parquet", "learn")
    with server.cursor() as cursor:
        cursor.execute(f'CREATE TEMPORARY TABLE "{name}" ({defined})')
        for path in paths:
            part = parquet.read_table(path, columns=list(columns))
            for batch in part.to_batches(max_chunksize=200_000):
                text = BytesIO()
                # Quoted text that is empty stays text; nothing at all is NULL
                csv.write_csv(batch, text, csv.WriteOptions(include_header=False, quoting_style="needed"))
                with cursor.copy(f'COPY "{name}" FROM STDIN WITH (FORMAT csv)') as copy:
                    copy.write(text.getvalue())
    server.commit()
