"""Numbers of invoices: one series a year, counted from the papers on record. A number that was used is never given again.

References
----------
A sequential number, based on one or more series, which uniquely identifies the invoice: Council Directive 2006/112/EC,
article 226 (2). Elsewhere from memory.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from tundish.call import codec
from tundish.call.closing import PaperMade
from tundish.call.fold import CallState
from tundish.store.errors import StoreError
from tundish.store.events import EventFile

INVOICE = "invoice"
# Letters, digits and what usually parts them. Our choice.
NUMBER = re.compile(r"\w[\w./ -]{0,39}")


@dataclass(frozen=True)
class Numbered:
    """The number of an invoice, and that of the one it takes the place of, or ""."""

    number: str
    replaces: str = ""


def numbered(file: EventFile, state: CallState, day: date, wanted: str = "") -> Numbered:
    """The number of a call's invoice: the one it has, the one wanted, or the next of the year.

    Made again it keeps its number. Agreed anew since, it gets another and takes the place of the first. StoreError when the
    number wanted is another call's, or is no number.
    """
    used = dict(_used(file))
    had = [name.removeprefix(f"{INVOICE} ") for name in (one.body.paper for one in state.job.papers) if name.startswith(f"{INVOICE} ")]
    # By the order of events, so the newest stands last
    last = had[-1] if had else ""
    if wanted:
        _check(wanted, used, state)
        return Numbered(wanted, last if last != wanted else "")
    if last and not _agreed_since(state):
        # What it took the place of is said again, or the same paper would come out otherwise
        earlier = [number for number in had if number != last]
        return Numbered(last, earlier[-1] if earlier else "")
    return Numbered(_next(used, day), last)


def named(number: str) -> str:
    """How a paper of a number is called in its event."""
    return f"{INVOICE} {number}"


def _used(file: EventFile) -> Iterator[tuple[str, str]]:
    """Every number on record with its call; those withdrawn too, since they were sent out."""
    for row in file.rows():
        if row.kind == PaperMade.KIND:
            body = codec.read(row).body
            if isinstance(body, PaperMade) and body.paper.startswith(f"{INVOICE} "):
                yield body.paper.removeprefix(f"{INVOICE} "), row.call


def _next(used: dict[str, str], day: date) -> str:
    # Numbers of the shop's own making are passed over: only this series is counted
    taken = [int(n.partition("-")[2]) for n in used if re.fullmatch(rf"{day.year}-\d{{1,6}}", n)]
    return f"{day.year}-{max(taken, default=0) + 1:04d}"


def _agreed_since(state: CallState) -> bool:
    made = [one.event for one in state.job.papers if one.body.paper.startswith(f"{INVOICE} ")]
    word, quotes = state.job.word, state.job.quotes
    # A payment changes what is due, not what was sold
    later = [*(quote.event for quote in quotes), *([word.event] if word else [])]
    return max(later, default="") > made[-1]


def _check(wanted: str, used: dict[str, str], state: CallState) -> None:
    if not NUMBER.fullmatch(wanted):
        raise StoreError(
            seen=f"number {wanted[:60]!r}", allowed="up to 40 letters, digits, dots, strokes", do="write it so"
        )
    if used.get(wanted, state.call) != state.call:
        raise StoreError(
            seen=f"invoice number {wanted!r}, that of call {used[wanted]}",
            allowed="a number no other call has",
            do="leave --number out for the next one",
        )
