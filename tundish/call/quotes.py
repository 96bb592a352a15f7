"""A quote as it was put before the customer: its lines, its sums, what it covers."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import msgspec

from tundish.call.bodies import Body, need_text
from tundish.call.errors import EventError
from tundish.call.fields import MOST, need_currency, need_date, need_one_of, need_share, need_whole

LINE_KINDS = ("labour", "part", "call-out", "other")


class QuoteLine(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """A line. each, net, tax, gross : [minor units]; below nought for a discount. tax_rate : decimal text."""

    kind: str
    what: str
    quantity: int | float | str
    unit: str
    each: int
    net: int
    tax_name: str
    tax_rate: str
    tax: int
    gross: int


class TaxSum(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """What is charged for one tax. rate : decimal text. net : what it is charged on. net, tax : [minor units]."""

    name: str
    rate: str
    net: int
    tax: int


class Option(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Another way to go on. gross : [minor units]. chance_cures : 0 to 1."""

    name: str
    gross: int
    chance_cures: float
    note: str = ""


@dataclass(frozen=True)
class Quoted(Body):
    """A price was put before the customer. It takes the place of the quote before it.

    id : as it stands on paper. faults : the causes it covers; none when it covers the visit only.
    net, tax, gross, owed_if_refused : [minor units] of the currency. chance_cures : that this alone cures.
    valid_until : the last day, ISO 8601. EventError when the sums do not agree with the lines.
    """

    KIND = "quoted"
    id: str
    faults: tuple[str, ...]
    currency: str
    lines: tuple[QuoteLine, ...]
    net: int
    tax: int
    gross: int
    taxes: tuple[TaxSum, ...]
    chance_cures: float
    options: tuple[Option, ...]
    owed_if_refused: int
    valid_until: str

    def __post_init__(self) -> None:
        for field in ("faults", "lines", "taxes", "options"):
            object.__setattr__(self, field, tuple(getattr(self, field)))
        need_text(self.KIND, "id", self.id)
        for fault in self.faults:
            need_text(self.KIND, "fault", fault)
        need_currency(self.KIND, self.currency)
        need_date(self.KIND, "valid_until", self.valid_until)
        for share in (self.chance_cures, *(option.chance_cures for option in self.options)):
            need_share(self.KIND, "chance_cures", share)
        _need_sound_lines(self)
        _need_whole_money(self)
        for said, is_so in _sums(self):
            if not is_so:
                raise EventError(
                    seen=f"quote {self.id!r}, in which {said} is not so",
                    allowed="sums that agree to the last minor unit",
                    do="compute the quote again from its lines",
                )


def facts_of(quoted: Quoted) -> dict[str, Any]:
    """The quote as plain values, as it was given: without its id and the causes."""
    # Through its JSON, so that lists are lists
    facts: dict[str, Any] = msgspec.json.decode(msgspec.json.encode(quoted))
    return {name: value for name, value in facts.items() if name not in ("id", "faults")}


def _need_sound_lines(quote: Quoted) -> None:
    if not quote.lines:
        raise EventError(
            seen=f"quote {quote.id!r} without lines", allowed="a line or more", do="add what is charged for"
        )
    for line in quote.lines:
        need_one_of(quote.KIND, "kind of line", line.kind, LINE_KINDS)
        need_text(quote.KIND, "what", line.what)
        # A discount stands below nought
        for field in ("each", "net", "tax", "gross"):
            need_whole(quote.KIND, field, getattr(line, field), least=-MOST)


def _need_whole_money(quote: Quoted) -> None:
    for field in ("net", "tax", "gross", "owed_if_refused"):
        need_whole(quote.KIND, field, getattr(quote, field))
    for one in quote.taxes:
        need_whole(quote.KIND, "tax", one.tax, least=-MOST)
        need_whole(quote.KIND, "net of a tax", one.net, least=-MOST)
    for option in quote.options:
        need_whole(quote.KIND, "gross of an option", option.gross)


def _sums(quote: Quoted) -> Iterator[tuple[str, bool]]:
    # Tax may be rounded on the whole, so the lines' taxes need not add up to it; their net always does
    yield "net + tax = gross", quote.net + quote.tax == quote.gross
    yield "net = sum of the lines", quote.net == sum(line.net for line in quote.lines)
    yield "tax = sum of the taxes", quote.tax == sum(one.tax for one in quote.taxes)
    for line in quote.lines:
        yield f"net + tax = gross of {line.what!r}", line.net + line.tax == line.gross
