"""What must hold in a paper beyond the kinds of its fields: sums that add up, real dates, chances, a proof with its reasons."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict
from datetime import datetime
from typing import Any

from tundish.documents.paper_errors import PaperError
from tundish.documents.paper_shapes import Customer, Invoice, Letter, Priced, Proof, Quote, Report, Sheet
from tundish.prices.errors import PriceError
from tundish.prices.money import Money
from tundish.prices.papers import untallied

# Fields that hold a date, and fields that hold a chance, wherever they stand.
DATES = ("date", "until", "due_by", "valid_until", "at")
CHANCES = ("chance", "chance_cures", "left_now", "limit", "over_run")


def sound(kind: str, record: Sheet, plain: Mapping[str, Any]) -> None:
    """Refuse a paper that says something impossible.

    kind : its name. record, plain : the same facts as record and as dicts. Raises PaperError.
    """
    for path, name, value in _leaves(plain):
        _leaf(f"{path} of the {kind}", name, value)
    for shape, check in _RULES:
        if isinstance(record, shape):
            check(record)


def _leaves(held: Any, path: str = "", name: str = "") -> Iterable[tuple[str, str, Any]]:
    """Every value that holds no others, with its path and the name of its field."""
    if isinstance(held, Mapping):
        for key, one in held.items():
            yield from _leaves(one, f"{path}.{key}".lstrip("."), key)
    elif isinstance(held, (list, tuple)):
        for i, one in enumerate(held):
            yield from _leaves(one, f"{path}[{i}]", name)
    else:
        yield path, name, held


def _leaf(where: str, name: str, value: Any) -> None:
    if name in DATES and value:
        moment(value, where)
    if isinstance(value, float) and not math.isfinite(value):
        raise PaperError(
            seen=f"{value} as {where}", allowed="a finite number", do="leave it out; over_range tells of OL"
        )
    if name in CHANCES and value is not None and not 0 <= value <= 1:
        raise PaperError(seen=f"{value} as {where}", allowed="a share from 0 to 1", do="write 85 % as 0.85")


def moment(text: str, where: str) -> datetime:
    """A date, or a date and time, from ISO text. Raises PaperError.

    >>> moment("2026-03-14", "date of the report").day
    14
    """
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        raise PaperError(
            seen=f'"{text[:40]}" as {where}',
            allowed="an ISO date, or a date and time",
            do="write it like 2026-03-14 or 2026-03-14T16:20",
        ) from None


def _dated(record: Sheet) -> None:
    if not record.date:
        raise PaperError(
            seen=f'"{record.date}" as date', allowed="the day of the paper", do="write it like 2026-03-14"
        )
    if not record.deference.strip():
        raise PaperError(
            seen=f'"{record.deference}" as deference',
            allowed="words that put local codes and licensed practice first",
            do="leave the field out for the usual words",
        )


def _named(record: Letter) -> None:
    for who, party in (("shop", record.shop), ("customer", record.customer)):
        if not party.name.strip():
            raise PaperError(seen=f'"" as {who}.name', allowed="a name", do=f"give the {who}'s name")


def _added(record: Priced) -> None:
    """Lines, taxes and payments make the sums that are printed."""
    try:
        found = untallied(asdict(record))
    except PriceError as error:
        raise PaperError(seen=error.seen, allowed=error.allowed, do=error.do) from None
    if found:
        raise PaperError(
            seen="; ".join(found), allowed="sums in minor units that tally", do="mend the line or the sum"
        )


def _numbered(record: Invoice) -> None:
    if not record.number.strip():
        raise PaperError(
            seen=f'"{record.number}" as number',
            allowed="the invoice's own number",
            do="give the next number",
        )


def _quoted(record: Quote) -> None:
    agreed = record.consent.minor if record.consent else None
    if agreed is not None and agreed != record.gross:
        shown, wanted = Money(agreed, record.currency), Money(record.gross, record.currency)
        raise PaperError(
            seen=f"consent to {shown}",
            allowed=f"{wanted}, what the quote comes to",
            do="ask for consent again",
        )


def _proved(record: Report) -> None:
    _reasons(record.proof)


def _told(record: Customer) -> None:
    _reasons(record)


def _reasons(proof: Proof | Customer) -> None:
    """Not proven says what is missing, and proven misses nothing."""
    if proof.proven == bool(proof.missing):
        said = "proven" if proof.proven else "unproven"
        raise PaperError(
            seen=f"{said} with {len(proof.missing)} things missing",
            allowed="proven with nothing missing, or unproven with what is missing",
            do="name what is missing, or leave it out when it is proven",
        )


_RULES: tuple[tuple[type[Any], Callable[[Any], None]], ...] = (
    (Sheet, _dated),
    (Letter, _named),
    (Priced, _added),
    (Invoice, _numbered),
    (Quote, _quoted),
    (Report, _proved),
    (Customer, _told),
)
