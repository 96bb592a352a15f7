"""`tundish week`: the numbers of a week with the calls behind them and their intervals."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import click
import numpy as np

from tundish.cli import at_hand
from tundish.cli.closed_calls import SVG, day, moment, tables, with_engine
from tundish.cli.show import out, table
from tundish.cli.view import View, with_view
from tundish.documents.learning_facts import week_facts
from tundish.documents.week_svg import week_svg
from tundish.history import asked
from tundish.history.outcome import Outcome
from tundish.history.tables import moment_of, outcome_of
from tundish.history.week import UNPAID_AFTER, WINDOW, Around, Figure, shares, week
from tundish.prices.money import Money
from tundish.store.engines import rows
from tundish.store.settings import settings_of
from tundish.store.shelf import SEED
from tundish.store.shelved import replace_file
from tundish.store.stating import before_mark_up

DAYS = 7
COLUMNS = ("currency", "name", "value", "low", "high", "calls", "unit")
# What can only be said of calls that are old enough: how many days.
LATER = {"callbacks in 30 days": WINDOW, "unpaid after 14 days": UNPAID_AFTER}


@click.command("week")
@click.option("--since", default=None, help="First day of calls that count; seven days before --until if left out.")
@click.option("--road", type=click.FloatRange(0), default=0.0, help="Minutes on the road for each visit.")
@click.option("--office", type=click.FloatRange(0), default=0.0, help="Hours of office work in all.")
@click.option(
    "--outlay", nargs=2, type=click.FloatRange(0), default=None, help="Money for PARTS and FUEL; parts by their prices if left out."
)
@click.option("--svg", type=SVG, default=None, help="Write the last weeks as a drawing.")
@click.option("--csv", "sheet", type=SVG, default=None, help="Write the figures as a table.")
@with_engine
@with_view
def week_(since: str | None, *, svg: Path | None, sheet: Path | None, engine: str, until: int, view: View, **around: Any) -> None:
    """First-visit fixes, callbacks, minutes, revenue an hour and the rest, each with its interval: few calls, no bare percent."""
    first = moment(since) if since else until - DAYS * asked.DAY
    with tables(view, engine) as found:
        outcomes = [outcome_of(row, until) for row in rows(asked.between(found["calls"], first - round(WINDOW) * asked.DAY, until))]
        weeks = rows(asked.weeks(found["calls"], until))
    figures = []
    for currency in sorted({one.money.currency for one in outcomes}):
        mine = [one for one in outcomes if one.money.currency == currency]
        beside = _around(until, _ended(mine, first, until), **around)
        figures.append((currency, _figures(mine, first, until, beside)))
    facts = week_facts(figures, weeks, day(first), day(until))
    if svg is not None:
        svg.write_text(week_svg(facts), encoding="utf-8")
    if sheet is not None:
        replace_file(sheet, _sheet(facts).encode())
    view.put(facts, show)


def show(page: dict[str, Any]) -> None:
    """The figures, on the terminal."""
    console = out()
    console.print(f"{page['since']} to {page['until']}", style="bold")
    grid = table("", ">value", "95 %", ">calls", "healthy", "")
    for one in page["figures"]:
        said = [_said(one[end], one["unit"]) for end in ("value", "low", "high")]
        healthy = " to ".join(_said(end, one["unit"]) for end in one["healthy"]) if one["healthy"] else ""
        grid.add_row(one["name"], said[0], f"{said[1]} to {said[2]}", str(one["calls"]), healthy, one["currency"])
    console.print(grid if page["figures"] else "No call was closed in these days.")


def _figures(calls: Sequence[Outcome], first: int, until: int, around: Around) -> list[Figure]:
    """The week's figures; what needs older calls is taken from as many days that lie so much earlier."""
    figures = list(week(_ended(calls, first, until), around, np.random.default_rng(SEED)))
    for place, figure in enumerate(figures):
        if figure.name in LATER:
            back = round(LATER[figure.name]) * asked.DAY
            older = shares(_ended(calls, first - back, until - back), around)
            figures[place] = next(one for one in older if one.name == figure.name)
    return figures


def _ended(calls: Sequence[Outcome], first: int, until: int) -> list[Outcome]:
    return [one for one in calls if moment_of(first) <= one.ended_at < moment_of(until)]


def _around(
    until: int, calls: Sequence[Outcome], *, road: float, office: float, outlay: tuple[float, float] | None
) -> Around:
    # All our currencies have a hundred minor units; a margin without any outlay would be none
    parts, fuel = (round(100 * one) for one in outlay) if outlay else (_parts_cost(calls), 0)
    return replace(Around(now=moment_of(until)), road=road, office=office, parts_cost=parts, fuel=fuel)


def _parts_cost(calls: Sequence[Outcome]) -> int:
    """What the parts of some calls cost the shop, [minor units]: what they were sold at, less the shop's mark-up."""
    costs = []
    for one in calls:
        if one.money.parts > 0:
            settings = settings_of(at_hand.own(), one.money.currency)
            sold = Money(one.money.parts, settings.currency)
            # In the step between cheap and dear parts the cost is the same for all: that of the threshold
            cost = before_mark_up(sold, settings) or settings.money("mark_up_from")
            costs.append(cost.minor)
    return sum(costs)


def _said(value: float | None, unit: str) -> str:
    if value is None:
        return "?"
    if unit == "-":
        return f"{100 * value:.0f} %"
    return f"{value / 100:.2f}" if "minor" in unit else f"{value:.1f}"


def _sheet(page: dict[str, Any]) -> str:
    """The figures as CSV (RFC 4180); what is not known stays empty."""
    text = io.StringIO()
    writer = csv.DictWriter(text, COLUMNS, extrasaction="ignore")
    writer.writeheader()
    writer.writerows(page["figures"])
    return text.getvalue()
