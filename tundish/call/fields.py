"""Checks of single fields, shared by the bodies."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date

from tundish.call.errors import EventError

CURRENCY = re.compile(r"[A-Z]{3}")
SHA256 = re.compile(r"[0-9a-f]{64}")
# The largest whole number that every reader of JSON keeps exactly (RFC 8259, section 6).
MOST = 2**53 - 1


def need_one_of(kind: str, field: str, value: str, allowed: Sequence[str]) -> None:
    """Refuse a word that is not on the list."""
    if value not in allowed:
        raise EventError(
            seen=f"{field} {value!r} in a {kind!r} event",
            allowed=", ".join(word or "nothing" for word in allowed),
            do="choose one of these",
        )


def need_whole(kind: str, field: str, value: int, *, least: int = 0) -> None:
    """Refuse what is not a whole number of at least `least`; money is whole minor units, never a float."""
    # True is an int to Python and no number to anybody else
    if type(value) is not int or not least <= value <= MOST:
        raise EventError(
            seen=f"{field} {value!r} in a {kind!r} event",
            allowed=f"a whole number, {least} or more",
            do=f"give the {field} in whole units; money in minor units, such as 1250 for 12.50",
        )


def need_currency(kind: str, value: str) -> None:
    """Refuse what is no code of ISO 4217."""
    if not CURRENCY.fullmatch(value):
        raise EventError(
            seen=f"currency {value!r} in a {kind!r} event",
            allowed="three capital letters (ISO 4217), such as EUR",
            do="give the currency's code",
        )


def need_date(kind: str, field: str, value: str) -> None:
    """Refuse what is no day written as ISO 8601."""
    try:
        # Other forms of the standard would not sort as text
        sound = date.fromisoformat(value).isoformat() == value
    except ValueError:
        sound = False
    if not sound:
        raise EventError(
            seen=f"{field} {value!r} in a {kind!r} event",
            allowed="a day, such as 2026-11-25",
            do="write year, month and day so",
        )


def need_share(kind: str, field: str, value: float) -> None:
    """Refuse what does not lie between 0 and 1."""
    if not 0 <= value <= 1:
        raise EventError(
            seen=f"{field} {value!r} in a {kind!r} event", allowed="0 to 1", do="give it as a share of one"
        )


def need_sha256(kind: str, value: str) -> None:
    """Refuse what is no SHA-256 in small hexadecimal digits."""
    if not SHA256.fullmatch(value):
        raise EventError(
            seen=f"sha256 {value!r} in a {kind!r} event",
            allowed="64 small hexadecimal digits",
            do="give the hash of the file's content",
        )
