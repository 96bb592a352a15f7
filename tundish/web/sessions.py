"""Who is signed in. A cookie is a signed session id and a generation, which goes on while the session is used.

A cookie that was stolen is good until the next turn and a minute; the server keeps no cookie, only ids.
"""

from __future__ import annotations

import hashlib
import hmac
import secrets
import sqlite3
from dataclasses import dataclass

import itsdangerous

from tundish.web.people import OWNER, Person
from tundish.web.vault import Vault

# [s], our choice: unused for two weeks, ninety days in all, a new cookie every half hour, the one before it
# still good for a minute, since a page asks for several things at once. Last seen is noted once a minute.
IDLE, WHOLE, TURN, GRACE, NOTED = 14 * 86_400.0, 90 * 86_400.0, 1_800.0, 60.0, 60.0
LOOPBACK = "loopback"


@dataclass(frozen=True)
class Who:
    """Who asks. session : its id. device : of a paired phone, else None. cookie : the new one to be set, or None."""

    session: str
    person: str
    name: str
    role: str
    device: str | None = None
    cookie: str | None = None

    @property
    def is_owner(self) -> bool:
        """Whether settings, people and prices are theirs to change."""
        return self.role == OWNER


# One person at this computer, nobody signed in.
AT_HOME = Who(LOOPBACK, "first", "", OWNER)


def begin(vault: Vault, person: Person, device: str | None) -> Who:
    """Sign somebody in; the cookie to set is in the answer."""
    id, now = secrets.token_urlsafe(24), vault.now()
    with vault.writing() as connection:
        # What nobody can use any more goes on the way
        connection.execute("DELETE FROM sessions WHERE seen < ? OR made < ?", (now - IDLE, now - WHOLE))
        connection.execute(
            "INSERT INTO sessions VALUES (?, ?, ?, ?, ?, 0, ?)", (id, person.id, device, now, now, now)
        )
    return Who(id, person.id, person.name, person.role, device, _cookie(vault, id, 0))


def who(vault: Vault, cookie: str, *, paired: bool) -> Who | None:
    """Who a cookie is; None when it is forged, ended, too old, of a revoked device.

    paired : whether only paired devices come in by this door.
    """
    try:
        id, _, number = (
            _signer(vault).unsign(cookie.encode("utf-8", "replace")).decode("ascii").rpartition(".")
        )
    except (itsdangerous.BadSignature, UnicodeError):
        return None
    with vault.reading() as connection:
        row = _row(connection, id)
    # Over the network only what a paired phone began counts
    if row is None or not _alive(row, vault.now()) or (paired and row["device"] is None):
        return None
    generation = _generation(vault, row, int(number))
    if generation is None:
        return None
    # Whoever comes with the right one needs no other
    fresh = None if generation == int(number) else _cookie(vault, id, generation)
    return Who(id, row["person"], row["name"], row["role"], row["device"], fresh)


def end(vault: Vault, session: str) -> None:
    """Sign out."""
    with vault.writing() as connection:
        connection.execute("DELETE FROM sessions WHERE id = ?", (session,))


def token(vault: Vault, session: str) -> str:
    """What every changing request must carry in its header: another site can send a cookie, but not read this."""
    return hmac.new(vault.key, b"token " + session.encode(), hashlib.sha256).hexdigest()


def _row(connection: sqlite3.Connection, id: str) -> sqlite3.Row | None:
    found: sqlite3.Row | None = connection.execute(
        "SELECT sessions.*, people.name, people.role, devices.revoked, devices.id AS known FROM sessions"
        " JOIN people ON people.id = sessions.person"
        " LEFT JOIN devices ON devices.id = sessions.device WHERE sessions.id = ?",
        (id,),
    ).fetchone()
    return found


def _alive(row: sqlite3.Row, now: float) -> bool:
    lost = row["device"] is not None and (row["known"] is None or row["revoked"] is not None)
    # A clock that was set back makes nobody younger than signed in
    return not lost and abs(now - row["seen"]) < IDLE and abs(now - row["made"]) < WHOLE


def _generation(vault: Vault, row: sqlite3.Row, number: int) -> int | None:
    """The generation the cookie should have now; None for one that was replaced.

    A new cookie is offered when the time has come, and takes over when it is first used: an answer that got lost in a
    basement locks nobody out.
    """
    now, current = vault.now(), int(row["generation"])
    due = now - row["turned"] >= TURN
    if number == current:
        _note(vault, row, now)
        return current + 1 if due else current
    # The new one counts only when it was offered
    if number == current + 1 and due:
        with vault.writing() as connection:
            connection.execute(
                "UPDATE sessions SET generation = ?, turned = ?, seen = ? WHERE id = ? AND generation = ?",
                (number, now, now, row["id"], current),
            )
        return number
    fresh = number == current - 1 and 0 <= now - row["turned"] < GRACE
    return current if fresh else None


def _note(vault: Vault, row: sqlite3.Row, now: float) -> None:
    if now - row["seen"] < NOTED:
        return
    with vault.writing() as connection:
        connection.execute("UPDATE sessions SET seen = ? WHERE id = ?", (now, row["id"]))
        connection.execute("UPDATE devices SET seen = ? WHERE id = ?", (now, row["device"]))


def _cookie(vault: Vault, id: str, generation: int) -> str:
    return _signer(vault).sign(f"{id}.{generation}").decode("ascii")


def _signer(vault: Vault) -> itsdangerous.Signer:
    return itsdangerous.Signer(vault.key, salt="session", key_derivation="hmac", digest_method=hashlib.sha256)
