"""What the customer says to a price, and what he pays."""

from __future__ import annotations

from dataclasses import dataclass

from tundish.call.bodies import Body, need_text
from tundish.call.errors import EventError
from tundish.call.fields import need_currency, need_one_of, need_share, need_whole
from tundish.call.identity import check_event_id

Stroke = tuple[tuple[int, int], ...]

# Signed on the screen; written on paper or by mail; spoken and recorded, or before a witness.
HOW = ("signed", "written", "spoken")
# A signature's field is three times as wide as high; points are in thousandths of its height. Our choice.
WIDE, HIGH = 3000, 1000
# Enough for a slow hand at 60 points a second for a minute, and small enough to be mailed. Our choice.
MOST_STROKES, MOST_POINTS = 64, 4096


@dataclass(frozen=True)
class ConsentGiven(Body):
    """The customer agreed to a quote.

    quote : event id of the quote. name : who agreed. minor : the amount, [minor units]; 0 for warranty or goodwill.
    how : one of HOW. strokes : of the signature, each a line of points (x from the left, y from the top).
    over_run : share by which the bill may grow without asking again, as the shop's rule was on that day.
    """

    KIND = "consent given"
    quote: str
    name: str
    minor: int
    currency: str
    how: str
    strokes: tuple[Stroke, ...] = ()
    over_run: float = 0.0

    def __post_init__(self) -> None:
        check_event_id(self.quote)
        need_text(self.KIND, "name", self.name)
        need_whole(self.KIND, "minor", self.minor)
        need_currency(self.KIND, self.currency)
        need_one_of(self.KIND, "how", self.how, HOW)
        need_share(self.KIND, "over_run", self.over_run)
        object.__setattr__(self, "over_run", float(self.over_run))
        object.__setattr__(self, "strokes", tuple(tuple((x, y) for x, y in line) for line in self.strokes))
        _need_signature(self)


@dataclass(frozen=True)
class ConsentRefused(Body):
    """The customer said no. owed : for what was done so far, [minor units]. quote : event id, "" before any quote."""

    KIND = "consent refused"
    owed: int
    currency: str
    quote: str = ""
    why: str = ""

    def __post_init__(self) -> None:
        need_whole(self.KIND, "owed", self.owed)
        need_currency(self.KIND, self.currency)
        if self.quote:
            check_event_id(self.quote)


@dataclass(frozen=True)
class Paid(Body):
    """Money came in. minor : [minor units]. means : cash, card, transfer and so on."""

    KIND = "paid"
    minor: int
    currency: str
    means: str

    def __post_init__(self) -> None:
        need_whole(self.KIND, "minor", self.minor, least=1)
        need_currency(self.KIND, self.currency)
        need_text(self.KIND, "means", self.means)


def _need_signature(consent: ConsentGiven) -> None:
    strokes, points = consent.strokes, sum(len(line) for line in consent.strokes)
    if (consent.how == "signed") != bool(points):
        raise EventError(
            seen=f"consent {consent.how!r} with {points} points of a signature",
            allowed="a signature when it is signed on the screen, and only then",
            do="have it signed, or say how else it was given",
        )
    if len(strokes) > MOST_STROKES or points > MOST_POINTS or not all(strokes):
        raise EventError(
            seen=f"a signature of {len(strokes)} strokes and {points} points",
            allowed=f"up to {MOST_STROKES} strokes, none empty, and {MOST_POINTS} points",
            do="leave out points that lie close together",
        )
    for x, y in (point for line in strokes for point in line):
        whole = type(x) is int and type(y) is int
        if not (whole and 0 <= x <= WIDE and 0 <= y <= HIGH):
            raise EventError(
                seen=f"a point of a signature at {x}, {y}",
                allowed=f"whole numbers, 0 to {WIDE} and 0 to {HIGH}",
                do="give points in thousandths of the field's height",
            )
