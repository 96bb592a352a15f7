"""Events for tests: ids that rise with a number, invented calls."""

from __future__ import annotations

from tundish.call import bodies, deals, quotes
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


def quote(
    *faults: str, gross: int = 12_100, id: str = "Q1", owed: int = 6_050, until: str = "2025-12-24"
) -> quotes.Quoted:
    """A quote of one line at 21 %, rounded down. gross, owed : [minor units]."""
    tax = gross * 21 // 121
    net = gross - tax
    line = quotes.QuoteLine("labour", "work", "1", "job", net, net, "VAT", "21", tax, gross)
    return quotes.Quoted(
        id, faults, "EUR", (line,), net, tax, gross, (quotes.TaxSum("VAT", "21", net, tax),), 0.9,
        (quotes.Option("do nothing", owed, 0.0),), owed, until,
    )  # fmt: skip


def consent(number: int, gross: int = 12_100, *, over_run: float = 0.15) -> deals.ConsentGiven:
    """A consent to the quote that is the event of a number."""
    return deals.ConsentGiven(event_id(number), "A. Smith", gross, "EUR", "spoken", (), over_run)


def agreed(number: int, *faults: str, gross: int = 12_100) -> tuple[bodies.Body, bodies.Body]:
    """A quote that is the event of a number, and the consent to it."""
    return quote(*faults, gross=gross, id=f"Q{number}"), consent(number, gross)
