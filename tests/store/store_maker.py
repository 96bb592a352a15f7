"""A clock and noise for tests, and calls in a file."""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import replace

from tundish.call import bodies
from tundish.call.identity import ID_BYTES, mint
from tundish.store.clock import Source
from tundish.store.events import EventFile

OPENING = bodies.CallOpened("front-load washer", "EU", "SLOW", 6.0, ("house move",), "told by phone")


def source(seed: int = 1, device: str = "van", *, start: int = 1_764_000_000_000, tick: int = 1000) -> Source:
    """A clock that goes on by a tick at each look, and noise from a seed."""
    noise, now = random.Random(seed), [start]

    def milliseconds() -> int:
        now[0] += tick
        return now[0]

    return Source(milliseconds, noise.randbytes, device)


def reading(value: float, check: str = "C04") -> bodies.ReadingTaken:
    """A reading of a flow in SI."""
    return bodies.ReadingTaken(check, value, typed=f"{value} m3/s")


def filled(file: EventFile, readings: int = 3, *, given: Source | None = None, name: str = "") -> str:
    """A call with some readings; returns its id."""
    given = given or source()
    opening = bodies.CallOpened("front-load washer", "EU", "SLOW", name=name)
    call = file.open_call(opening, given).call
    for number in range(readings):
        file.record(call, reading(float(number)), given)
    return call


def many(file: EventFile, number: int) -> str:
    """A call with so many notes, written at once; returns its id."""
    call = filled(file, 0)
    last = file.events_of(call)[0]
    notes = []
    for count in range(number):
        last = replace(last, id=mint(last.id, 0, bytes(ID_BYTES)), body=bodies.NoteAdded(f"note {count}"))
        notes.append(last)
    file.append(notes)
    return call


def clock_at(milliseconds: int) -> Callable[[], int]:
    """A clock that stands."""
    return lambda: milliseconds
