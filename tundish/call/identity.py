"""Names that sort by time and do not clash, and the text of a moment. Clock and randomness are passed in.

References
----------
RFC 9562, Universally Unique IDentifiers (UUIDs), sections 5.7 (version 7) and 6.2 (ids in rising order),
https://www.rfc-editor.org/rfc/rfc9562
"""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from uuid import UUID

from tundish.call.errors import EventError

ID_BYTES = 10
CALL_BYTES = 10
EVENT_ID = re.compile(r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}")
# One fixed width, so that texts sort by time and SQL's max() finds the latest.
MOMENT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z", re.ASCII)
# Digits and letters without i, l, o and u, which are misread on paper (Crockford's base 32, from memory).
LETTERS = "0123456789abcdefghjkmnpqrstvwxyz"
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_COUNTER_BITS = 12
_COUNTER_MASK = (1 << _COUNTER_BITS) - 1
_TAIL_MASK = (1 << 62) - 1


def uuid7(milliseconds: int, random_bytes: bytes) -> str:
    """The UUID of version 7 of a moment, as text.

    milliseconds : since 1970-01-01 UTC, [ms], 48 bits.
    random_bytes : (10,) bytes; 74 of their 80 bits are used, the other 6 give way to version and variant.

    >>> uuid7(0x017F22E279B0, bytes.fromhex("0cc318c4dc0c0c07398f"))
    '017f22e2-79b0-7cc3-98c4-dc0c0c07398f'
    """
    if not 0 <= milliseconds < 1 << 48:
        raise EventError(
            seen=f"a moment of {milliseconds} ms",
            allowed="0 to 2^48 - 1 ms since 1970",
            do="set the clock right",
        )
    if len(random_bytes) != ID_BYTES:
        raise EventError(
            seen=f"{len(random_bytes)} random bytes",
            allowed=f"exactly {ID_BYTES}",
            do="pass fresh random bytes",
        )
    noise = int.from_bytes(random_bytes, "big")
    return _assemble(milliseconds << _COUNTER_BITS | noise >> 64 & _COUNTER_MASK, noise)


def mint(after: str | None, milliseconds: int, random_bytes: bytes) -> str:
    """A fresh id that sorts after `after`, even when the clock stands still or runs back.

    Then the twelve bits behind the milliseconds count on by one (RFC 9562, section 6.2) and the tail stays
    random, so that two devices that follow the same event do not make the same id.

    >>> mint("017f22e2-79b0-7cc3-98c4-dc0c0c07398f", 0, bytes(10))
    '017f22e2-79b0-7cc4-8000-000000000000'
    """
    fresh = uuid7(milliseconds, random_bytes)
    if after is None or fresh > after:
        return fresh
    whole = UUID(after).int
    # Time and counter as one number, so that a full counter carries into the time.
    ahead = whole >> 80 << _COUNTER_BITS | whole >> 64 & _COUNTER_MASK
    return _assemble(ahead + 1, int.from_bytes(random_bytes, "big"))


def _assemble(head: int, noise: int) -> str:
    # head : 48 bits of milliseconds and 12 bits behind them; noise : its low 62 bits are the tail
    time, counter = head >> _COUNTER_BITS, head & _COUNTER_MASK
    return str(UUID(int=time << 80 | 0x7 << 76 | counter << 64 | 0b10 << 62 | noise & _TAIL_MASK))


def call_id(random_bytes: bytes) -> str:
    """The id of a new call: sixteen random letters, so that the first few tell calls apart.

    >>> call_id(bytes(range(10)))
    '000g40r40m30e209'
    """
    number = int.from_bytes(random_bytes, "big")
    count = len(random_bytes) * 8 // 5
    return "".join(LETTERS[number >> 5 * place & 31] for place in reversed(range(count)))


def moment(milliseconds: int) -> str:
    """ISO 8601 in UTC with milliseconds; all such texts sort by time.

    >>> moment(1645557742000)
    '2022-02-22T19:22:22.000Z'
    """
    when = _EPOCH + timedelta(milliseconds=milliseconds)
    return when.isoformat(timespec="milliseconds").replace("+00:00", "Z")


def check_event_id(text: str) -> None:
    """Refuse what is not a UUID of version 7 in lower case."""
    if not EVENT_ID.fullmatch(text):
        raise EventError(
            seen=f"event id {text!r}",
            allowed="a UUID of version 7 in lower case",
            do="use the id the tool gave",
        )


def check_moment(text: str) -> None:
    """Refuse what is not a real moment written as `moment` writes it."""
    try:
        sound = bool(MOMENT.fullmatch(text)) and bool(datetime.fromisoformat(text))
    except ValueError:
        sound = False
    if not sound:
        raise EventError(
            seen=f"moment {text!r}",
            allowed="ISO 8601 in UTC with milliseconds, such as 2026-11-25T09:30:00.000Z",
            do="write the moment so",
        )
