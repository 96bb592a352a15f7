"""How often somebody may try: counted in the file of secrets, so that two servers count together."""

from __future__ import annotations

import math
from collections.abc import Iterator
from contextlib import contextmanager

from tundish.web.errors import WebError
from tundish.web.vault import Vault

# So many tries within so long, [s]. Our choice: ten slips of a person, too few to guess.
MOST, WITHIN = 10, 900.0
# From all places together, which stops a crowd of addresses.
MOST_IN_ALL = 60


@contextmanager
def counted(vault: Vault, what: str, place: str) -> Iterator[None]:
    """A try. It is counted before it is judged, and given back when it was right. WebError 429 when there were too many."""
    at, one, every = vault.now(), f"{what} from {place}"[:200], what
    with vault.writing() as connection:
        connection.execute("DELETE FROM tries WHERE at < ? OR at > ?", (at - WITHIN, at + WITHIN))
        for name, most in ((one, MOST), (every, MOST_IN_ALL)):
            number, first = connection.execute(
                "SELECT count(*), min(at) FROM tries WHERE place = ?", (name,)
            ).fetchone()
            # Refused tries are not counted, or a patient guesser would keep the owner out for ever
            if number >= most:
                raise _too_many(number, first + WITHIN - at)
            connection.execute("INSERT INTO tries VALUES (?, ?)", (name, at))
    yield
    with vault.writing() as connection:
        for name in (one, every):
            # One row only: others may have failed at the same moment
            connection.execute(
                "DELETE FROM tries WHERE rowid = (SELECT rowid FROM tries WHERE place = ? AND at = ? LIMIT 1)",
                (name, at),
            )


def _too_many(number: int, wait: float) -> WebError:
    seconds = max(1, math.ceil(wait))
    return WebError(
        429,
        f"{number} tries in {WITHIN / 60:.0f} minutes",
        f"{MOST} from one place",
        f"try again in {math.ceil(seconds / 60)} min",
        {"Retry-After": str(seconds)},
    )
