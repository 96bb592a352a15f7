"""The system's clock and randomness, handed to those who need them."""

from __future__ import annotations

import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from tundish.call.identity import LETTERS
from tundish.store.errors import StoreError, clear_errors

DEVICE_FILE = "device"


@dataclass(frozen=True)
class Source:
    """What an event needs from outside.

    milliseconds : since 1970-01-01 UTC, [ms]. random_bytes : so many fresh random bytes. device : who writes.
    """

    milliseconds: Callable[[], int]
    random_bytes: Callable[[int], bytes]
    device: str


def system(device: str) -> Source:
    """The system's clock and its cryptographic random numbers."""
    return Source(lambda: time.time_ns() // 1_000_000, secrets.token_bytes, device)


def device_name(folder: Path) -> str:
    """The name of this device, made up once and kept in a small file; it says nothing about its owner."""
    file = folder / DEVICE_FILE
    with clear_errors(file):
        folder.mkdir(parents=True, exist_ok=True)
        name = file.read_text(encoding="utf-8").strip() if file.exists() else ""
        # Empty when a program was killed while it wrote the name.
        if not name:
            name = "device-" + "".join(secrets.choice(LETTERS) for _ in range(6))
            file.write_text(name + "\n", encoding="utf-8")
    return name


def day_of(at: str, zone: str) -> date:
    """The day of a moment of an event, as the shop's calendar has it. zone : of the IANA time zone database; "" for the computer's own.

    >>> day_of("2026-11-30T23:30:00.000Z", "Europe/Berlin"), day_of("2026-11-30T23:30:00.000Z", "America/Chicago")
    (datetime.date(2026, 12, 1), datetime.date(2026, 11, 30))
    """
    return datetime.fromisoformat(at).astimezone(zone_named(zone)).date()


def today_in(milliseconds: int, zone: str) -> date:
    """The shop's day at a moment, [ms] since 1970-01-01 UTC."""
    return datetime.fromtimestamp(milliseconds / 1000, UTC).astimezone(zone_named(zone)).date()


def zone_named(zone: str) -> ZoneInfo | None:
    """A zone by its name; None, which is the computer's own, for "". StoreError for a name nobody knows."""
    try:
        return ZoneInfo(zone) if zone else None
    except (ValueError, OSError, KeyError) as error:
        raise StoreError(
            seen=f"the time zone {zone!r}",
            allowed="a name of the IANA time zone database, such as Europe/Vienna, or nothing for the computer's own",
            do="correct the setting `zone`",
        ) from error
