"""The numbers of a week, each with its definition, the calls behind it and an interval: few calls, no bare percent.

Shares have Wilson's interval, rates Garwood's, ratios of sums a bootstrap over calls. Healthy ranges are the trade's
(common practice, no source); that of first-visit fixes is a survey across trades (88 best, 80 average, 63 % weak, as quoted in the
trade press in 2015).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tundish.history.counting import per_unit, wilson
from tundish.history.errors import HistoryError
from tundish.history.outcome import Outcome, days_between
from tundish.history.posterior import Floats

WINDOW = 30.0
UNPAID_AFTER = 14.0
# Odds called "80 % sure".
SURE = (0.75, 0.85)
ROUNDS = 2_000
REPAIRED = ("proven", "unproven")


@dataclass(frozen=True)
class Figure:
    """A number of the week.

    value : None when nothing is behind it. low, high : its interval. calls : behind it. unit : "-" for a share.
    healthy : what the trade takes for sound, None for an open end; empty when it says nothing.
    """

    name: str
    value: float | None
    low: float | None
    high: float | None
    calls: int
    unit: str
    healthy: tuple[float | None, float | None] | tuple[()] = ()


@dataclass(frozen=True, kw_only=True)
class Around:
    """What calls do not tell. now : moment of looking. road : minutes on the road for each visit. office : hours in all.

    parts_cost, fuel : cash for parts that went in, for fuel, [minor units]. level : chance inside the intervals.
    """

    now: str
    road: float = 0.0
    office: float = 0.0
    parts_cost: int = 0
    fuel: int = 0
    level: float = 0.95


def week(outcomes: Sequence[Outcome], around: Around, rng: np.random.Generator) -> tuple[Figure, ...]:
    """Every number of the week's calls. rng : for the bootstrap.

    HistoryError when the calls are in more than one currency.
    """
    money = {outcome.money.currency for outcome in outcomes if outcome.money.currency}
    if len(money) > 1:
        raise HistoryError(
            seen=f"calls in {', '.join(sorted(money))}",
            allowed="one currency",
            do="look at each currency alone",
        )
    unit = next(iter(money), "")
    return (
        *shares(outcomes, around),
        *times(outcomes, around, rng),
        *earnings(outcomes, around, rng, unit=unit),
    )


def shares(outcomes: Sequence[Outcome], around: Around) -> tuple[Figure, ...]:
    """First-visit fixes, callbacks, nothing found, quotes refused, first named cause right, and the 80 % that were sure."""
    repaired = [outcome for outcome in outcomes if outcome.ended in REPAIRED]
    # Only calls whose 30 days are over: younger ones with a callback would be counted, and quiet ones not
    ripe = [outcome for outcome in outcomes if days_between(outcome.ended_at, around.now) >= WINDOW]
    known = [(*outcome.named, outcome.proven) for outcome in outcomes if outcome.named and outcome.proven]
    sure = [(cause, proven) for cause, odds, proven in known if SURE[0] <= odds <= SURE[1]]
    level = around.level
    return (
        _share("first-visit fix", [one.visits == 1 for one in repaired], level, healthy=(0.75, 0.85)),
        _share(
            "callbacks in 30 days",
            [one.called_back and one.days <= WINDOW for one in ripe],
            level,
            healthy=(None, 0.05),
        ),
        _share(
            "no fault found",
            [one.ended == "nothing wrong" for one in outcomes if one.visits],
            level,
            healthy=(0.08, 0.15),
        ),
        _share(
            "quotes refused", [one.refused for one in outcomes if one.quoted], level, healthy=(0.15, 0.30)
        ),
        _share(
            "first named cause proven",
            [cause == found for cause, _, found in known],
            level,
            healthy=(0.85, None),
        ),
        _share("right when 80 % sure", [cause == found for cause, found in sure], level, healthy=SURE),
        _share("unpaid after 14 days", [_is_unpaid(one, around.now) for one in outcomes], level),
    )


def times(outcomes: Sequence[Outcome], around: Around, rng: np.random.Generator) -> tuple[Figure, ...]:
    """Minutes a call on site and with the road, and calls a day that had any."""
    visited = [one for one in outcomes if one.visits]
    site = np.array([one.minutes for one in visited])
    road = np.array([one.visits * around.road for one in visited])
    days = len({one.ended_at[:10] for one in outcomes})
    low, high = per_unit(len(outcomes), days, around.level) if days else (None, None)
    value = len(outcomes) / days if days else None
    each = np.ones(len(visited))
    return (
        _ratio("minutes a call", site, each, around=around, rng=rng, unit="min", healthy=(45.0, 75.0)),
        _ratio(
            "minutes a call with the road",
            site + road,
            each,
            around=around,
            rng=rng,
            unit="min",
            healthy=(65.0, 115.0),
        ),
        Figure("calls a day", value, low, high, len(outcomes), "1/day", (4.0, 6.0)),
    )


def earnings(
    outcomes: Sequence[Outcome], around: Around, rng: np.random.Generator, *, unit: str
) -> tuple[Figure, ...]:
    """Revenue an hour, gross margin and what is unpaid. Money in minor units, net of tax; what is unpaid is gross.

    Office hours, parts and fuel belong to the week; they are shared out evenly over its calls, so their own chance is not in the interval.
    """
    n = len(outcomes)
    revenue = np.array([one.money.revenue for one in outcomes], float)
    hours = np.array([(one.minutes + one.visits * around.road) / 60 for one in outcomes])
    cost = (around.parts_cost + around.fuel) / max(n, 1)
    healthy = {"USD": (7_000.0, 11_000.0), "EUR": (5_000.0, 8_000.0)}
    unpaid = sum(one.money.due for one in outcomes if _is_unpaid(one, around.now))
    return (
        _ratio(
            "revenue an hour", revenue, hours + around.office / max(n, 1), around=around, rng=rng,
            unit=f"{unit} minor/h", healthy=healthy.get(unit, ()),
        ),
        _ratio("gross margin", revenue - cost, revenue, around=around, rng=rng, unit="-", healthy=(0.6, 0.7)),
        Figure("unpaid", float(unpaid), None, None, n, f"{unit} minor"),
    )  # fmt: skip


def parts_outlay(spent: int, shelf: int, ordered: int, used_a_week: float) -> tuple[Figure, ...]:
    """Cash out for parts this week, on the shelf, on order [minor units], and how many weeks of use the shelf holds.

    >>> [figure.value for figure in parts_outlay(12_000, 40_000, 3_000, 10_000.0)]
    [12000.0, 40000.0, 3000.0, 4.0]
    """
    weeks = shelf / used_a_week if used_a_week > 0 else None
    money = (("parts bought", spent), ("parts on the shelf", shelf), ("parts on order", ordered))
    sums = tuple(Figure(name, float(minor), None, None, 0, "minor") for name, minor in money)
    return (*sums, Figure("weeks of use on the shelf", weeks, None, None, 0, "week", (None, 4.0)))


def ratio_interval(
    above: Floats, below: Floats, rng: np.random.Generator, *, level: float, rounds: int = ROUNDS
) -> tuple[float, float]:
    """Interval of sum(above)/sum(below) over calls, by the bootstrap on t: Efron and Tibshirani 1993, An Introduction to the
    Bootstrap, section 12.5 (from memory). Calls are drawn anew; each draw is measured in its own standard errors.

    above, below : (n,), four or more calls.
    """
    value, error = _ratio_and_error(above[None], below[None])
    # Drawn with returns: a week that might have been
    drawn = rng.integers(len(above), size=(rounds, len(above)))
    values, errors = _ratio_and_error(above[drawn], below[drawn])
    sound = errors > 0
    t = (values[sound] - value) / errors[sound]
    # All calls alike: no spread to be seen
    if not len(t):
        return float(value[0]), float(value[0])
    # A long tail above shortens the interval below, and the other way round
    upper, lower = np.quantile(t, [(1 + level) / 2, (1 - level) / 2])
    return float((value - upper * error)[0]), float((value - lower * error)[0])


def _ratio_and_error(above: Floats, below: Floats) -> tuple[Floats, Floats]:
    """(m,) ratios of sums and their standard errors by linearisation. above, below : (m, n)."""
    # What each call is off the common ratio
    n = above.shape[1]
    whole = below.sum(axis=1)
    value = above.sum(axis=1) / whole
    left = above - value[:, None] * below
    return value, np.sqrt((left**2).sum(axis=1) * n / (n - 1)) / np.abs(whole)


def _ratio(
    name: str,
    above: Floats,
    below: Floats,
    *,
    around: Around,
    rng: np.random.Generator,
    unit: str,
    healthy: tuple[float | None, float | None] | tuple[()],
) -> Figure:
    n, whole = len(above), float(below.sum())
    if n == 0 or whole <= 0:
        return Figure(name, None, None, None, n, unit, healthy)
    # Fewer than four calls say nothing of their spread
    low, high = ratio_interval(above, below, rng, level=around.level) if n >= 4 else (None, None)
    return Figure(name, float(above.sum()) / whole, low, high, n, unit, healthy)


def _share(
    name: str,
    yes: Sequence[bool],
    level: float,
    *,
    healthy: tuple[float | None, float | None] | tuple[()] = (),
) -> Figure:
    if not yes:
        return Figure(name, None, None, None, 0, "-", healthy)
    return Figure(name, sum(yes) / len(yes), *wilson(sum(yes), len(yes), level), len(yes), "-", healthy)


def _is_unpaid(outcome: Outcome, now: str) -> bool:
    return outcome.money.due > 0 and days_between(outcome.ended_at, now) > UNPAID_AFTER
