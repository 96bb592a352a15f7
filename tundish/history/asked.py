"""What is asked of the tables of closed calls, one expression a figure: tables of Ibis in, expressions out.

Pure: no connection and no engine is named here, so the same expression runs embedded, on a server and on a cluster. Only
operations that these share are used: sums and counts with a condition made by `ifelse`, whole-number division, natural
logarithm and exponential, the whole number below.
References: weights as in `noisy.right_after`, gains as in `noisy.gain`, z as in `honesty.z_of_hits`.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from tundish.history.honesty import BANDS
from tundish.history.noisy import LEAST, STEP, USUAL, CallbackRates
from tundish.history.paid import PRICE_STEP
from tundish.history.week import REPAIRED, SURE, UNPAID_AFTER, WINDOW

if TYPE_CHECKING:
    from ibis.expr.types import Table

DAY = 86_400_000_000
# 1970-01-01 was a Thursday: three days on, weeks begin on Monday.
TO_MONDAY = 3


def watched(rows: Table, until: int, rates: CallbackRates = USUAL) -> Table:
    """The rows with `days` watched, `returned` (came back by `until`), and `is_back` (came back within the window).

    until : moment up to which callbacks are known, [us]. Rows that ended later are left out.
    """
    known = rows.filter(rows.ended <= until)
    # A callback that comes later is not known yet
    known = known.mutate(returned=(known.back.notnull() & (known.back <= until)).fill_null(False))
    last = known.returned.ifelse(known.back, until)
    days = (last - known.ended).cast("float64") / DAY
    known = known.mutate(days=(days > 0).ifelse(days, 0.0))
    return known.mutate(is_back=known.returned & (known.days <= rates.window))


def causes(table: Table, until: int, rates: CallbackRates = USUAL) -> Table:
    """Family, complaint, age, circumstances and cause -> calls and their weight."""
    rows = watched(table, until, rates)
    good, bad = _likely(rows, rates)
    weight = rows.chance * good / (rows.chance * good + (1 - rows.chance) * bad)
    rows = rows.mutate(weight=weight)
    keys = ["family", "complaint", "age", "told", "cause"]
    return rows.group_by(keys).aggregate(calls=rows.count(), weight=rows.weight.sum())


def returns(table: Table, until: int, rates: CallbackRates = USUAL) -> Table:
    """Family, fault, whether it came back, whether watched to the end, and step of 1 + gain -> calls and the sum of their gains; of
    first repairs that stood alone. Calls of one step say the same of the cure chance.
    """
    rows = watched(table, until, rates)
    rows = rows.filter(rows.before.notnull())
    good, bad = _likely(rows, rates)
    # Few steps in the place of every chance and day: what comes back stays small however many calls there are
    rows = rows.mutate(gain=rows.before * (rows.lift.exp() * good / bad - 1), is_old=rows.is_back | (rows.days >= rates.window))
    whole = 1 + rows.gain
    rows = rows.mutate(step=((whole > LEAST).ifelse(whole, LEAST).ln() / STEP + 0.5).floor().cast("int64"))
    keys = ["family", "fault", "is_back", "is_old", "step"]
    return rows.group_by(keys).aggregate(calls=rows.count(), gain=rows.gain.sum())


def _likely(rows: Table, rates: CallbackRates) -> tuple[Any, Any]:
    """How likely what was watched is after the right repair, and after a wrong one."""
    share = rows.days / rates.window
    seen = (share > 1).ifelse(1.0, share)
    good = rows.is_back.ifelse(rates.right, 1 - seen * rates.right)
    return good, rows.is_back.ifelse(rates.wrong, 1 - seen * rates.wrong)


def minutes(table: Table, until: int) -> Table:
    """Family and fault -> repairs that were timed, sum and sum of squares of the logarithm of their minutes."""
    rows = table.filter((table.ended <= until) & (table.minutes > 0))
    rows = rows.mutate(log=rows.minutes.ln())
    return rows.group_by(["family", "fault"]).aggregate(
        calls=rows.count(), log=rows.log.sum(), square=(rows.log * rows.log).sum()
    )


def prices(table: Table, until: int) -> Table:
    """Family, fault, currency and step of the price paid for a part -> calls, sum of the logarithm of the price; a mistyped price
    must be seen as such, so prices are not summed up whole."""
    # Nothing paid is nothing fitted
    rows = table.filter((table.ended <= until) & (table.paid > 0))
    rows = rows.mutate(log=rows.paid.ln())
    rows = rows.mutate(step=(rows.log / PRICE_STEP + 0.5).floor().cast("int64"))
    return rows.group_by(["family", "fault", "currency", "step"]).aggregate(calls=rows.count(), log=rows.log.sum())


def looks(table: Table, until: int) -> Table:
    """Answers against the proven cause: family, market, complaint, check, cause and answer -> calls, sum of the chances that the
    cause was this one. Before any repair only."""
    rows = table.filter(
        (table.ended <= until) & table.answer.notnull() & (table.spell == 0) & (table.proven != "")
    )
    keys = ["family", "market", "complaint", "check", "proven", "answer"]
    return rows.group_by(keys).aggregate(calls=rows.count(), proof=rows.proof.sum())


def bands(table: Table, until: int) -> Table:
    """Band of stated odds -> calls, sum of odds, right ones. Only calls whose cause was proven."""
    rows = _said(table, until)
    rows = rows.mutate(band=sum(((rows.odds >= edge).ifelse(1, 0) for edge in BANDS[1:-1]), start=rows.hit * 0))
    return rows.group_by("band").aggregate(**_sums(rows))


def said_by(table: Table, until: int, group: str) -> Table:
    """Calls, sum of odds, right ones and variance of what was said, by a column: `family` of calls, `check` of checks.

    A check read twice in a call counts once.
    """
    rows = _said(table, until).select("call", "odds", "hit", group).distinct()
    return rows.group_by(group).aggregate(**_sums(rows))


def said_of_causes(table: Table, until: int) -> Table:
    """Family and cause -> the same for the odds of every cause, said first or not. From the table `stated`."""
    rows = table.filter((table.ended <= until) & (table.proven != ""))
    rows = rows.mutate(hit=(rows.cause == rows.proven).ifelse(1, 0))
    return rows.group_by(["family", "cause"]).aggregate(**_sums(rows))


def said(table: Table, until: int) -> Table:
    """Odds of the cause named first and whether it was proven, call by call in the order of ending; for the drift alarm."""
    rows = _said(table, until)
    return rows.select("ended", "call", "family", "odds", "hit").order_by(["ended", "call"])


def between(table: Table, since: int, until: int) -> Table:
    """Calls that ended in a span, in the order of ending."""
    return table.filter((table.ended >= since) & (table.ended <= until)).order_by(["ended", "call"])


def weeks(table: Table, until: int) -> Table:
    """Week (counted from the one of 1970-01-01, Monday to Sunday, UTC), market and currency -> sums behind its shares and rates."""
    rows = watched(table, until)
    rows = rows.mutate(week=(rows.ended // DAY + TO_MONDAY) // 7, day=rows.ended // DAY)
    return rows.group_by(["week", "market", "currency"]).aggregate(
        calls=rows.count(),
        days=rows.day.nunique(),
        visited=(rows.visits > 0).ifelse(1, 0).sum(),
        minutes=rows.minutes.sum(),
        visits=rows.visits.sum(),
        revenue=rows.revenue.sum(),
        **{name: condition.ifelse(1, 0).sum() for name, condition in _conditions(rows, until).items()},
    )


def _conditions(rows: Any, until: int) -> Mapping[str, Any]:
    """The yes-or-no questions of the week, by what their count is called; definitions as in `week.shares`."""
    repaired = rows.ended_as.isin(REPAIRED)
    ripe = (until - rows.ended) >= WINDOW * DAY
    known = (rows.named != "") & (rows.proven != "")
    sure = known & (rows.odds >= SURE[0]) & (rows.odds <= SURE[1])
    return {
        "repaired": repaired,
        "first_visit": repaired & (rows.visits == 1),
        "ripe": ripe,
        "called_back": ripe & rows.returned & (rows.days <= WINDOW),
        "nothing": (rows.visits > 0) & (rows.ended_as == "nothing wrong"),
        "quoted_calls": rows.quoted,
        "refused_calls": rows.quoted & rows.refused,
        "known": known,
        "right": known & (rows.named == rows.proven),
        "sure": sure,
        "sure_right": sure & (rows.named == rows.proven),
        "unpaid": (rows.due > 0) & ((until - rows.ended) > UNPAID_AFTER * DAY),
    }


def _said(table: Table, until: int) -> Table:
    rows = table.filter((table.ended <= until) & (table.named != "") & (table.proven != ""))
    return rows.mutate(hit=(rows.named == rows.proven).ifelse(1, 0))


def _sums(rows: Any) -> dict[str, Any]:
    return {
        "calls": rows.count(),
        "odds": rows.odds.sum(),
        "right": rows.hit.sum(),
        "variance": (rows.odds * (1 - rows.odds)).sum(),
    }
