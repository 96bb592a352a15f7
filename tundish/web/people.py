"""Who works in the shop, in which role, and their passwords.

References
----------
RFC 9106, Argon2 memory-hard function, https://www.rfc-editor.org/rfc/rfc9106
OWASP Authentication Cheat Sheet, https://cheatsheetseries.owasp.org/cheatsheets/Authentication_Cheat_Sheet.html
"""

from __future__ import annotations

import secrets
import sqlite3
import unicodedata
from dataclasses import dataclass

import argon2

from tundish.web.errors import WebError
from tundish.web.vault import Vault

OWNER, TECHNICIAN = "owner", "technician"
# Letters of a password. The device is paired beside it, so ten are enough; our choice.
SHORTEST, LONGEST = 10, 200
NAME = 60
# Memory and passes are the library's own, which follow RFC 9106, section 4.
HASHER = argon2.PasswordHasher()
# Somebody unknown takes as long as somebody known: the time must not tell names.
NOBODY = HASHER.hash("nobody has this password")


@dataclass(frozen=True)
class Person:
    """Somebody who may use the bench. has_password : whether signing in is possible."""

    id: str
    name: str
    role: str
    has_password: bool


def everybody(vault: Vault) -> tuple[Person, ...]:
    """All people of the shop, by name."""
    with vault.reading() as connection:
        return tuple(_person(row) for row in connection.execute("SELECT * FROM people ORDER BY name"))


def alone(vault: Vault) -> bool:
    """Whether nobody has a password: then this computer needs no signing in."""
    return not any(person.has_password for person in everybody(vault))


def person_of(vault: Vault, id: str) -> Person:
    """Somebody by id. WebError when there is no such person."""
    for person in everybody(vault):
        if person.id == id:
            return person
    raise WebError(
        404, f"person {id!r}", "an id that /api/people lists", "look there, or add the person first"
    )


def add(vault: Vault, name: str, role: str, password: str) -> Person:
    """A new person. WebError when the name is taken, or an owner would be left without a password."""
    name = " ".join(name.split())
    if not 0 < len(name) <= NAME or not name.isprintable():
        raise WebError(400, f"name {name!r}", f"up to {NAME} plain letters", "choose another name")
    if alone(vault):
        # Else whoever sits at this computer would be an owner without asking
        raise WebError(
            409,
            f"{name} as a second person while the owner has no password",
            "an owner with a password first",
            "give the owner a password",
        )
    id, hashed = secrets.token_hex(8), _hashed(password) if password else ""
    try:
        with vault.writing() as connection:
            connection.execute("INSERT INTO people VALUES (?, ?, ?, ?)", (id, name, role, hashed))
    except OSError as error:
        if isinstance(error.__cause__, sqlite3.IntegrityError):
            raise WebError(
                409, f"name {name!r}, which is taken", "a new name", "choose another name"
            ) from error
        raise
    return Person(id, name, role, bool(password))


def set_password(vault: Vault, id: str, password: str) -> None:
    """Give somebody a new password; everybody's sessions of that person end. WebError when it is too short or long."""
    person = person_of(vault, id)
    if person.role != OWNER and alone(vault):
        raise WebError(
            409,
            f"the first password for {person.name}, a technician",
            "an owner's password first",
            "give the owner a password",
        )
    # Whoever knew the old one is out
    hashed = _hashed(password)
    with vault.writing() as connection:
        connection.execute("UPDATE people SET password = ? WHERE id = ?", (hashed, id))
        connection.execute("DELETE FROM sessions WHERE person = ?", (id,))


def remove(vault: Vault, id: str) -> None:
    """Take somebody off the list, with sessions, devices and pairings. WebError for the last owner with a password."""
    # A shop without an owner could never change a price again
    person = person_of(vault, id)
    owners = [one for one in everybody(vault) if one.role == OWNER and one.has_password and one.id != id]
    if person.role == OWNER and not owners:
        raise WebError(
            409, f"{person.name}, the last owner", "one owner with a password left", "add another owner first"
        )
    with vault.writing() as connection:
        connection.execute("DELETE FROM people WHERE id = ?", (id,))
        for table in ("sessions", "pairings"):
            connection.execute(f"DELETE FROM {table} WHERE person = ?", (id,))
        connection.execute(
            "UPDATE devices SET revoked = ? WHERE person = ? AND revoked IS NULL", (vault.now(), id)
        )


def checked(vault: Vault, name: str, password: str) -> Person | None:
    """The person of a name and password; None when they do not fit, and no word on which of the two."""
    with vault.reading() as connection:
        row = connection.execute("SELECT * FROM people WHERE name = ?", (" ".join(name.split()),)).fetchone()
    # Somebody without a password cannot sign in, with an empty one neither
    hashed = row["password"] if row is not None and row["password"] else NOBODY
    try:
        HASHER.verify(hashed, _normal(password))
    except argon2.exceptions.Argon2Error:
        return None
    return None if hashed is NOBODY else _person(row)


def _hashed(password: str) -> str:
    text = _normal(password)
    if not SHORTEST <= len(text) <= LONGEST:
        raise WebError(
            400, f"a password of {len(text)} letters", f"{SHORTEST} to {LONGEST}", "choose a longer sentence"
        )
    return HASHER.hash(text)


def _normal(password: str) -> str:
    # Keyboards write the same letter in several ways (Unicode NFKC)
    return unicodedata.normalize("NFKC", password)[: LONGEST + 1]


def _person(row: sqlite3.Row) -> Person:
    return Person(row["id"], row["name"], row["role"], bool(row["password"]))
