"""Closed calls for tests: invented events on a clock of minutes, and plain records."""

from __future__ import annotations

from collections.abc import Sequence

from tundish.call import asking, bodies, closing, deals, doings, fixing, quotes
from tundish.call.events import Event
from tundish.call.fold import CallState, fold
from tundish.call.identity import moment, uuid7
from tundish.history.outcome import First, Found, Money, Outcome

START = 1_764_000_000_000
CALL = "k7f3q0000000past"
# Words of a customer that must get nowhere.
PRIVATE = (
    "Zebedee Quill",
    "0555 0199",
    "zq@quill.example",
    "9 Nowhere Lane",
    "dog in the yard",
    "plate-77",
    "serial-88",
)
DAY = 24 * 60.0

Timed = tuple[float, bodies.Body]


def at(minute: float) -> str:
    """The moment of a minute."""
    return moment(START + round(minute * 60_000))


def id_at(minute: float) -> str:
    """The event id of a minute."""
    return uuid7(START + round(minute * 60_000), bytes(10))


def state_of(timed: Sequence[Timed], call: str = CALL) -> CallState:
    """The state after events at their minutes, which must differ."""
    return fold(Event(id_at(minute), "van", at(minute), call, body) for minute, body in timed)


def line(kind: str, net: int, rate: str = "21") -> quotes.QuoteLine:
    """A line taxed at 21 %."""
    tax = net * 21 // 100
    return quotes.QuoteLine(kind, kind, "1", "job", net, net, "VAT", rate, tax, net + tax)


def quote(*faults: str) -> quotes.Quoted:
    """60.00 for labour, 40.00 for a part, and tax."""
    lines = (line("labour", 6_000), line("part", 4_000))
    return quotes.Quoted(
        "Q1", faults, "EUR", lines, 10_000, 2_100, 12_100, (quotes.TaxSum("VAT", "21", 10_000, 2_100),), 0.9,
        (quotes.Option("do nothing", 6_050, 0.0),), 6_050, "2026-12-24",
    )  # fmt: skip


def asked() -> list[Timed]:
    """The call up to the price: opened, customer named, a reading in the first minutes on site."""
    return [
        (
            0,
            bodies.CallOpened("toy", "EU", "SLOW", 6.0, ("house move",), "my dog " + PRIVATE[4], "blue door"),
        ),
        (1, asking.CustomerNamed(*PRIVATE[:5])),
        (2, asking.QuestionAnswered("Q04", "yes", 20.0)),
        (60, asking.MachineSeen(*PRIVATE[5:])),
        (61, bodies.ReadingTaken("C04", 1.4e-4, note=PRIVATE[0])),
        (65, bodies.ReadingTaken("C10", answer="grit")),
        (66, quote("S04")),
    ]


def repaired(ending: str = "proven") -> list[Timed]:
    """A call on one visit, an hour on site, repaired and paid."""
    return [
        *asked(),
        (67, deals.ConsentGiven(id_at(66), PRIVATE[0], 12_100, "EUR", "spoken")),
        (68, doings.PartTaken("S04")),
        (85, bodies.RepairDone("S04", note=PRIVATE[3])),
        (86, fixing.PartUsed("inlet screen", "S04", 1)),
        (115, bodies.ReadingTaken("C04", 2e-4)),
        (120, doings.CallEnded(ending, why=PRIVATE[0])),
        (121, deals.Paid(12_100, "EUR", "cash")),
    ]


def refused() -> list[Timed]:
    """A call whose price was refused; the visit is owed."""
    return [
        *asked(),
        (67, deals.ConsentRefused(6_050, "EUR", id_at(66), PRIVATE[3])),
        (70, doings.CallEnded("refused")),
    ]


def back(earlier: str, complaint: str = "SLOW", day: float = 10.0) -> list[Timed]:
    """A call that came back from an earlier one."""
    return [
        (day * DAY, bodies.CallOpened("toy", "EU", complaint)),
        (day * DAY + 1, closing.CallbackOf(earlier, PRIVATE[0])),
    ]


def outcome(**changed: object) -> Outcome:
    """A plain record: repaired and proven on one visit, watched for 40 days."""
    fields: dict[str, object] = {
        "call": CALL, "family": "toy", "market": "EU", "complaint": "SLOW", "age": 6.0, "circumstances": (), "denied": (),
        "ended": "proven", "opened_at": at(0), "ended_at": at(120), "days": 40.0, "called_back": False,
        "stated": {"S04": 0.8, "F01": 0.2}, "causes": (Found("S04", "proven", 0.95),), "checks": (),
        "repairs": (("S04", 18.0),), "parts": (), "visits": 1, "minutes": 60.0, "asked": 0.0,
        "money": Money("EUR", 10_000, 6_000, 4_000, 0), "quoted": True, "refused": False, "callback_of": "",
        "first": First("S04", 1.0, 0.0),
    }  # fmt: skip
    return Outcome(**{**fields, **changed})  # type: ignore[arg-type]
