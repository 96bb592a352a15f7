"""What each paper is made of. A field without a default must be given; docs/papers.md shows an example of each.

Dates are ISO text (2026-03-14), money is whole minor units of the paper's currency, chances run from 0 to 1.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tundish.documents.facts import DEFERENCE

Words = tuple[str, ...]
# For papers that speak of no odds.
PLAIN = "Local codes and licensed practice come first. No repair keeps a machine from every later trouble."


@dataclass(frozen=True)
class Party:
    """A shop or a customer. lines : address and letterhead, a line each."""

    name: str
    lines: Words = ()


@dataclass(frozen=True)
class Machine:
    """The machine. plate, serial : as its plate says. age : years. place : where it stands."""

    family: str
    plate: str = ""
    serial: str = ""
    age: float | None = None
    place: str = ""


@dataclass(frozen=True)
class Shown:
    """What an instrument showed. shows : as read aloud. value : SI, for the gauge; over_range : beyond the instrument."""

    shows: str
    value: float | None = None
    over_range: bool = False


@dataclass(frozen=True)
class Healthy:
    """What a healthy machine shows. low, high : ends of its band in SI, for the gauge."""

    says: str
    low: float | None = None
    high: float | None = None


@dataclass(frozen=True)
class Compared:
    """A reading before and after the repair, beside what a healthy machine shows."""

    check: str
    title: str
    before: Shown | None = None
    after: Shown | None = None
    healthy: Healthy | None = None


@dataclass(frozen=True)
class Complaint:
    """The complaint. words : as the customer said it."""

    title: str
    words: str = ""


@dataclass(frozen=True)
class Cause:
    """A cause and its odds."""

    title: str
    chance: float


@dataclass(frozen=True)
class Part:
    """A part fitted. source : where it came from, such as the van or the customer."""

    what: str
    count: int = 1
    source: str = ""


@dataclass(frozen=True)
class Proof:
    """Whether the repair is proven. missing : what stands against it. left_now : chance that a cause is left."""

    proven: bool
    missing: Words = ()
    left_now: float | None = None
    limit: float | None = None
    whole_proof: str = ""


@dataclass(frozen=True)
class Photo:
    """A photo to print. name : of its content, such as 1.jpg. turn : clockwise [°], after mirroring left to right."""

    name: str
    what: str
    date: str
    turn: int = 0
    mirrored: bool = False


@dataclass(frozen=True)
class Unprinted:
    """A photo of the call that is not printed, and why."""

    what: str
    date: str
    why: str


@dataclass(frozen=True)
class Until:
    """A warranty. what : what it covers. until : its last day."""

    what: str
    until: str


@dataclass(frozen=True)
class FollowUp:
    """The day to ask again, and why."""

    date: str
    why: str


@dataclass(frozen=True)
class Line:
    """A line of a quote or an invoice. quantity : printed as given. tax_rate : a share as decimal text."""

    what: str
    each: int
    net: int
    tax: int
    gross: int
    quantity: str | int | float = "1"
    unit: str = ""
    kind: str = ""
    tax_name: str = ""
    tax_rate: str = "0"


@dataclass(frozen=True)
class Tax:
    """A tax on a whole paper. net : what it is laid on."""

    name: str
    rate: str
    net: int
    tax: int


@dataclass(frozen=True)
class Paid:
    """A payment. means : cash, card, transfer."""

    date: str
    minor: int
    means: str = ""


@dataclass(frozen=True)
class Choice:
    """What the customer may choose. gross : all in, if known. chance_cures : none or 0 if it cures nothing."""

    name: str
    gross: int | None = None
    chance_cures: float | None = None
    note: str = ""


@dataclass(frozen=True)
class Signed:
    """A name put to something. at : ISO date or date and time. strokes : lists of [x, y] points, y downwards, any scale."""

    name: str
    at: str
    how: str = "signed"
    minor: int | None = None
    strokes: tuple[tuple[tuple[float, float], ...], ...] = ()


@dataclass(frozen=True)
class Expect:
    """A check of the handbook. state : code of docs/description.md. access : what must be off or out. live : at live parts."""

    check: str
    title: str
    state: str
    healthy: Healthy
    where: str = ""
    instrument: str = ""
    access: Words = ()
    live: bool = False
    cautions: Words = ()


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """What every paper says. number : the paper's own. cautions : of this call, printed after the standing ones."""

    date: str
    shop: Party | None = None
    number: str = ""
    call: str = ""
    machine: Machine | None = None
    cautions: Words = ()
    deference: str = DEFERENCE


@dataclass(frozen=True, kw_only=True)
class Letter(Sheet):
    """A paper from a shop to a customer."""

    shop: Party
    customer: Party


@dataclass(frozen=True, kw_only=True)
class Report(Letter):
    """The whole call. why : odds in a sentence. misfit : what to say when the readings fit no machine."""

    machine: Machine
    complaint: Complaint
    readings: tuple[Compared, ...]
    causes: tuple[Cause, ...]
    why: str
    done: Words
    proof: Proof
    not_looked_at: Words
    as_found: Words = ()
    misfit: str = ""
    parts: tuple[Part, ...] = ()
    refused: Words = ()
    advice: Words = ()
    warranty: tuple[Until, ...] = ()
    follow_up: FollowUp | None = None
    photos: tuple[Photo, ...] = ()
    unprinted: tuple[Unprinted, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Priced(Letter):
    """Lines with their totals by tax."""

    currency: str
    lines: tuple[Line, ...]
    net: int
    tax: int
    gross: int
    taxes: tuple[Tax, ...]


@dataclass(frozen=True, kw_only=True)
class Invoice(Priced):
    """What is owed. number : needed by tax law in most places. due_by : last day to pay; empty for at once."""

    number: str
    due: int
    deference: str = PLAIN
    paid: tuple[Paid, ...] = ()
    due_by: str = ""
    terms: Words = ()
    warranty: tuple[Until, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Quote(Priced):
    """What is proposed, to be signed. found : what is wrong and how it is known. over_run : share by which it may be passed."""

    found: Words
    chance_cures: float
    owed_if_refused: int
    valid_until: str
    options: tuple[Choice, ...] = ()
    over_run: float | None = None
    warranty: Words = ()
    consent: Signed | None = None


@dataclass(frozen=True, kw_only=True)
class Customer(Letter):
    """One page in plain words. proven : whether the repair was proven; missing : else what has still to be done."""

    wrong: Words
    done: Words
    watch: Words
    call_when: Words
    proven: bool
    deference: str = PLAIN
    missing: Words = ()
    phone: str = ""
    warranty: tuple[Until, ...] = ()
    follow_up: FollowUp | None = None


@dataclass(frozen=True, kw_only=True)
class Handbook(Sheet):
    """What a healthy machine of a family shows in a market, with room to write. title : of the market."""

    family: str
    market: str
    checks: tuple[Expect, ...]
    title: str = ""


@dataclass(frozen=True, kw_only=True)
class HandOver(Letter):
    """Work that goes to somebody else. to : who. until_then : what to do until they come. left : how the machine was left."""

    machine: Machine
    complaint: Complaint
    to: str
    why: str
    until_then: str
    left: Words
    readings: tuple[Compared, ...] = ()
    done: Words = ()
    not_looked_at: Words = ()
    received: Signed | None = None


KINDS: Mapping[str, type[Sheet]] = {
    "report": Report,
    "invoice": Invoice,
    "quote": Quote,
    "customer": Customer,
    "handbook": Handbook,
    "handover": HandOver,
}
