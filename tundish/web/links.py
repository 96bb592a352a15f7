"""A customer's paper by a link: signed, with an end, and revocable. Whoever has the link needs nothing else."""

from __future__ import annotations

import hashlib
import secrets

import itsdangerous

from tundish.web.errors import WebError
from tundish.web.vault import Vault

DAY = 86_400.0
# Days a link may be good for; our choice.
LONGEST = 90


def link(vault: Vault, call: str, paper: str, *, sha256: str, days: int) -> tuple[str, float]:
    """The token of a new link to a paper of a call, and the moment it ends, [s] since 1970."""
    id, until = secrets.token_urlsafe(12), vault.now() + days * DAY
    with vault.writing() as connection:
        connection.execute("INSERT INTO links VALUES (?, ?, ?, ?, ?, NULL)", (id, call, paper, sha256, until))
    return _signer(vault).dumps(id), until


def linked(vault: Vault, token: str) -> str:
    """The hash of the paper that a link leads to. WebError 404 when it is forged, 410 when it has ended."""
    try:
        id = _signer(vault).loads(token)
    except itsdangerous.BadData as error:
        raise WebError(404, f"a link of {len(token)} letters that we did not make", "a link as it was sent", "ask for it again") from error
    with vault.reading() as connection:
        row = connection.execute("SELECT * FROM links WHERE id = ?", (id,)).fetchone()
    # The end stands in our own file, not in the link: so it can be brought forward
    if row is None or row["revoked"] is not None or row["until"] <= vault.now():
        raise WebError(410, f"a link of {len(token)} letters that has ended", "a link within its days", "ask the shop for a new one")
    return str(row["sha256"])


def unlink(vault: Vault, call: str) -> int:
    """End all links of a call; how many there were."""
    with vault.writing() as connection:
        done = connection.execute(
            "UPDATE links SET revoked = ? WHERE call = ? AND revoked IS NULL", (vault.now(), call)
        )
        return done.rowcount


def _signer(vault: Vault) -> itsdangerous.URLSafeSerializer:
    return itsdangerous.URLSafeSerializer(
        vault.key, salt="link", signer_kwargs={"key_derivation": "hmac", "digest_method": hashlib.sha256}
    )
