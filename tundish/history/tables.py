"""The flat tables of closed calls, as every engine sees them, and the rows of one call.

No customer, plate, free text or photo has a column. Moments are whole microseconds since 1970 UTC beside the timestamp, so that
every engine computes with the same numbers. What is asked for together lies in one table: no figure needs a join.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any

from tundish.history.outcome import Found, Money, Outcome

Row = dict[str, Any]
# Columns of every table: who, where, and how long it has been watched. `back` is empty while nobody came back.
HEAD = {
    "call": "string", "family": "string", "market": "string", "complaint": "string", "month": "string",
    "age": "float64", "told": "string", "ended": "int64", "back": "int64",
}  # fmt: skip
# Table -> column -> type, in the words of Ibis; `timestamp` is in microseconds, UTC.
TABLES: Mapping[str, Mapping[str, str]] = {
    "calls": {
        **HEAD, "ended_at": "timestamp", "opened_at": "timestamp", "ended_as": "string", "visits": "int64",
        "minutes": "float64", "asked": "float64", "currency": "string", "revenue": "int64", "labour": "int64",
        "parts": "int64", "due": "int64", "quoted": "boolean", "refused": "boolean", "callback_of": "string",
        "named": "string", "odds": "float64", "proven": "string", "shares": "string",
    },
    "causes": {**HEAD, "cause": "string", "how": "string", "chance": "float64"},
    "stated": {**HEAD, "cause": "string", "odds": "float64", "proven": "string"},
    "checks": {
        **HEAD, "check": "string", "answer": "string", "value": "float64", "spell": "int64", "named": "string",
        "odds": "float64", "proven": "string", "proof": "float64",
    },
    "repairs": {**HEAD, "fault": "string", "minutes": "float64", "before": "float64", "lift": "float64"},
    "parts": {**HEAD, "part": "string", "fault": "string", "count": "int64", "currency": "string", "paid": "float64"},
}  # fmt: skip
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
MICROSECOND = timedelta(microseconds=1)
BETWEEN = "|"


@dataclass(frozen=True)
class Beside:
    """What an outcome does not hold. back : moment of the first callback, "". shares : name of the learned shares that the odds
    were stated with, "" for shipped ones. paid : what the shop paid for the one part used, [currency], None when unclear."""

    back: str = ""
    shares: str = ""
    paid: float | None = None


def rows_of(outcome: Outcome, beside: Beside) -> Iterator[tuple[str, Row]]:
    """Every row of a call with the name of its table."""
    head = _head(outcome, beside)
    named, odds = outcome.named or ("", None)
    proven = outcome.proven or ""
    proof = max((found.chance for found in outcome.causes if found.cause == proven), default=None)
    yield "calls", {**head, **_whole(outcome), "named": named, "odds": odds, "proven": proven, "shares": beside.shares}
    for found in outcome.causes:
        yield "causes", {**head, "cause": found.cause, "how": found.how, "chance": found.chance}
    for cause, chance in sorted(outcome.stated.items()):
        yield "stated", {**head, "cause": cause, "odds": chance, "proven": proven}
    for check, said, spell in outcome.checks:
        is_word = isinstance(said, str)
        answer, value = (said, None) if is_word else (None, said)
        yield (
            "checks",
            {
                **head, "check": check, "answer": answer, "value": value, "spell": spell,
                "named": named, "odds": odds, "proven": proven, "proof": proof,
            },
        )  # fmt: skip
    first = outcome.first
    for place, (fault, minutes) in enumerate(outcome.repairs):
        # Only the first repair met the machine as the odds had it
        known = {"before": first.before, "lift": first.lift} if first and not place else {"before": None, "lift": None}
        yield "repairs", {**head, "fault": fault, "minutes": minutes, **known}
    for part, fault, count in outcome.parts:
        money = {"currency": outcome.money.currency, "paid": beside.paid}
        yield "parts", {**head, "part": part, "fault": fault, "count": count, **money}


def outcome_of(row: Mapping[str, Any], until: int) -> Outcome:
    """A call from its row of `calls`, with all that the week asks. until : moment up to which it was watched, [us].

    Its checks, repairs and parts lie in other tables and stay empty.
    """
    back = row["back"] if row["back"] is not None and row["back"] <= until else None
    money = Money(row["currency"], row["revenue"], row["labour"], row["parts"], row["due"])
    return Outcome(
        call=row["call"], family=row["family"], market=row["market"], complaint=row["complaint"], age=row["age"],
        circumstances=told_of(row["told"]), denied=(), ended=row["ended_as"], opened_at=moment_of(microseconds(row["opened_at"])),
        ended_at=moment_of(row["ended"]), days=max(((until if back is None else back) - row["ended"]) / 86_400e6, 0.0),
        called_back=back is not None, stated={row["named"]: row["odds"]} if row["named"] else {},
        causes=(Found(row["proven"], "proven", 1.0),) if row["proven"] else (), checks=(), repairs=(), parts=(),
        visits=row["visits"], minutes=row["minutes"], asked=row["asked"], money=money, quoted=row["quoted"],
        refused=row["refused"], callback_of=row["callback_of"],
    )  # fmt: skip


def microseconds(moment: str | datetime) -> int:
    """Whole microseconds since 1970 of a moment; one without a zone is UTC.

    >>> microseconds("1970-01-01T00:00:01.500Z")
    1500000
    """
    at = datetime.fromisoformat(moment) if isinstance(moment, str) else moment
    return ((at if at.tzinfo else at.replace(tzinfo=UTC)) - EPOCH) // MICROSECOND


def moment_of(micro: int) -> str:
    """The moment as events write it, to the millisecond.

    >>> moment_of(1_500_000)
    '1970-01-01T00:00:01.500Z'
    """
    return (EPOCH + timedelta(microseconds=micro)).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def told_of(text: str) -> tuple[str, ...]:
    """The circumstances of a column `told`."""
    return tuple(text.split(BETWEEN)) if text else ()


def _head(outcome: Outcome, beside: Beside) -> Row:
    return {
        "call": outcome.call, "family": outcome.family, "market": outcome.market, "complaint": outcome.complaint,
        "month": outcome.ended_at[:7], "age": outcome.age, "told": BETWEEN.join(sorted(set(outcome.circumstances))),
        "ended": microseconds(outcome.ended_at), "back": microseconds(beside.back) if beside.back else None,
    }  # fmt: skip


def _whole(outcome: Outcome) -> Row:
    money = outcome.money
    return {
        "ended_at": datetime.fromisoformat(outcome.ended_at), "opened_at": datetime.fromisoformat(outcome.opened_at),
        "ended_as": outcome.ended, "visits": outcome.visits, "minutes": float(outcome.minutes), "asked": float(outcome.asked),
        "currency": money.currency, "revenue": money.revenue, "labour": money.labour, "parts": money.parts, "due": money.due,
        "quoted": outcome.quoted, "refused": outcome.refused, "callback_of": outcome.callback_of,
    }  # fmt: skip
