"""The file of secrets: the signing key, who may use the bench, from which devices. It lies apart from the calls.

A technician copies the file of calls to a stick or mails it; nothing in there may open the door.
"""

from __future__ import annotations

import os
import secrets
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from tundish.store.errors import StoreError, clear_errors

FILE = "access.sqlite"
# How long to wait for another program's writing, [s]; length of the key, [byte]. Our choice.
WAIT, KEY_BYTES = 10.0, 32
FORM = 1

TABLES = """
CREATE TABLE secret (name TEXT PRIMARY KEY, value BLOB NOT NULL);
CREATE TABLE people (id TEXT PRIMARY KEY, name TEXT NOT NULL UNIQUE COLLATE NOCASE,
    role TEXT NOT NULL CHECK (role IN ('owner', 'technician')), password TEXT NOT NULL DEFAULT '');
CREATE TABLE devices (id TEXT PRIMARY KEY, person TEXT NOT NULL, label TEXT NOT NULL, made REAL NOT NULL,
    seen REAL NOT NULL, revoked REAL);
CREATE TABLE pairings (code TEXT PRIMARY KEY, person TEXT NOT NULL, until REAL NOT NULL, used REAL);
CREATE TABLE sessions (id TEXT PRIMARY KEY, person TEXT NOT NULL, device TEXT, made REAL NOT NULL,
    seen REAL NOT NULL, generation INTEGER NOT NULL, turned REAL NOT NULL);
CREATE TABLE tries (place TEXT NOT NULL, at REAL NOT NULL);
CREATE INDEX tries_of_place ON tries (place, at);
CREATE TABLE links (id TEXT PRIMARY KEY, call TEXT NOT NULL, paper TEXT NOT NULL, sha256 TEXT NOT NULL,
    until REAL NOT NULL, revoked REAL);
INSERT INTO people (id, name, role) VALUES ('first', 'owner', 'owner');
"""


@dataclass(frozen=True)
class Vault:
    """The open file of secrets. key : signs cookies, tokens and links. now : the clock, [s] since 1970 UTC."""

    path: Path
    key: bytes
    now: Callable[[], float]

    @contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """A connection to read with; every use has its own, so that threads share nothing."""
        with clear_errors(self.path), closing(_connected(self.path)) as connection:
            yield connection

    @contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """One transaction, alone; all of it or nothing."""
        with self.reading() as connection:
            connection.execute("BEGIN IMMEDIATE")
            try:
                yield connection
                connection.execute("COMMIT")
            except BaseException:
                if connection.in_transaction:
                    connection.execute("ROLLBACK")
                raise


def open_vault(folder: Path, now: Callable[[], float]) -> Vault:
    """Open the file of secrets in a folder; a new one gets a key and one owner. StoreError when it cannot be used."""
    path = folder / FILE
    with clear_errors(path):
        folder.mkdir(parents=True, exist_ok=True)
        # Made by us with no rights for others, before anything secret is in it
        os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))
        with closing(_connected(path)) as connection:
            _prepared(connection, path)
            key = connection.execute("SELECT value FROM secret WHERE name = 'key'").fetchone()[0]
    return Vault(path, key, now)


def _prepared(connection: sqlite3.Connection, path: Path) -> None:
    connection.execute("BEGIN IMMEDIATE")
    try:
        form = int(connection.execute("PRAGMA user_version").fetchone()[0])
        # An older program must not guess what a newer one meant
        if form > FORM:
            raise StoreError(
                seen=f"{path} in form {form}", allowed=f"forms up to {FORM}", do="update this program"
            )
        if form == 0:
            for statement in TABLES.split(";\n"):
                if statement.strip():
                    connection.execute(statement)
            # Two programs that start together make one key: the second finds it
            connection.execute("INSERT INTO secret VALUES ('key', ?)", (secrets.token_bytes(KEY_BYTES),))
            connection.execute(f"PRAGMA user_version = {FORM}")
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:
            connection.execute("ROLLBACK")
        raise


def _connected(path: Path) -> sqlite3.Connection:
    connection = sqlite3.connect(path, timeout=WAIT, isolation_level=None)
    connection.row_factory = sqlite3.Row
    return connection
