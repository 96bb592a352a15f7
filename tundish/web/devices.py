"""Phones that were let in: a code that works once, shown on the computer, and a list from which each can be struck."""

from __future__ import annotations

import hashlib
import secrets
from typing import Any

from tundish.call.identity import LETTERS
from tundish.web.people import Person, person_of
from tundish.web.vault import Vault

# A code is good for ten minutes, [s]; our choice. 128 random bits cannot be guessed.
GOOD_FOR, CODE_BYTES = 600.0, 16
LABEL = 60


def pairing(vault: Vault, person: str) -> str:
    """A new code for somebody's phone. Only its hash is kept. WebError when there is no such person."""
    # A code for nobody would let a phone in that nobody owns
    found, code, now = person_of(vault, person), secrets.token_urlsafe(CODE_BYTES), vault.now()
    with vault.writing() as connection:
        connection.execute("DELETE FROM pairings WHERE until < ?", (now,))
        connection.execute(
            "INSERT INTO pairings VALUES (?, ?, ?, NULL)", (_hash(code), found.id, now + GOOD_FOR)
        )
    return code


def redeem(vault: Vault, code: str, label: str) -> tuple[Person, str] | None:
    """Let a phone in by a code: whose it is and its name; None when the code is wrong, used or too old."""
    now, name = vault.now(), "phone-" + "".join(secrets.choice(LETTERS) for _ in range(8))
    with vault.writing() as connection:
        # Taken in the same breath as it is looked for, so that two phones cannot both have it
        row = connection.execute(
            "UPDATE pairings SET used = ? WHERE code = ? AND used IS NULL AND until >= ? RETURNING person",
            (now, _hash(code), now),
        ).fetchone()
        if row is None:
            return None
        connection.execute(
            "INSERT INTO devices VALUES (?, ?, ?, ?, ?, NULL)",
            (name, row["person"], " ".join(label.split())[:LABEL], now, now),
        )
    return person_of(vault, row["person"]), name


def devices_facts(vault: Vault) -> list[dict[str, Any]]:
    """Every phone that was ever let in, the newest first."""
    with vault.reading() as connection:
        rows = connection.execute(
            "SELECT devices.id AS device, people.name AS person, label, made, seen, revoked FROM devices"
            " LEFT JOIN people ON people.id = devices.person ORDER BY made DESC"
        ).fetchall()
    return [dict(row) for row in rows]


def revoke(vault: Vault, device: str) -> bool:
    """Strike a phone from the list, with all its sessions; False when there is no such phone."""
    with vault.writing() as connection:
        # Its cookie still says which phone it is, so the list is asked at each request too
        connection.execute("DELETE FROM sessions WHERE device = ?", (device,))
        changed = connection.execute(
            "UPDATE devices SET revoked = coalesce(revoked, ?) WHERE id = ?", (vault.now(), device)
        )
        return changed.rowcount == 1


def owner_of(vault: Vault, device: str) -> str | None:
    """Whose a phone is, by id; None for one that is unknown or struck from the list."""
    with vault.reading() as connection:
        row = connection.execute(
            "SELECT person FROM devices WHERE id = ? AND revoked IS NULL", (device,)
        ).fetchone()
    return None if row is None else str(row["person"])


def _hash(code: str) -> str:
    return hashlib.sha256(code.encode()).hexdigest()
