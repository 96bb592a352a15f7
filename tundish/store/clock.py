"""The system's clock and randomness, handed to those who need them."""

from __future__ import annotations

import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from tundish.call.identity import LETTERS
from tundish.store.errors import clear_errors

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
