"""Events for tests: ids that rise with a number, invented calls."""

from __future__ import annotations

from tundish.call import bodies
from tundish.call.events import Event
from tundish.call.identity import moment, uuid7

START = 1_764_000_000_000
CALL = "k7f3q0000000test"
OPENING = bodies.CallOpened(
    "front-load washer", "EU", "SLOW", 6.0, ("house move",), "told by phone", "blue door"
)


def event_id(number: int) -> str:
    """An id that sorts by its number."""
    return uuid7(START + number, bytes(10))


def event(number: int, body: bodies.Body, *, device: str = "van", call: str = CALL) -> Event:
    """The event of a number."""
    return Event(event_id(number), device, moment(START + number), call, body)


def reading(value: float, check: str = "C04") -> bodies.ReadingTaken:
    """A reading of a flow in SI."""
    return bodies.ReadingTaken(check, value, typed=f"{value} m3/s")
