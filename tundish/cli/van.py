"""`tundish van`: what to load for a day's calls, what each part saves, one of two, what to order now."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Any

import click

from tundish.call.fold import fold
from tundish.cli import at_hand
from tundish.cli.show import out, table
from tundish.cli.view import View, with_view
from tundish.cli.waiting import waiting
from tundish.cli.writing import today
from tundish.documents.numbers import percent
from tundish.documents.van_facts import van_facts
from tundish.store.counsel import Asked, Counsel, counsel
from tundish.store.errors import StoreError
from tundish.store.events import EventFile
from tundish.store.folders import cache_folder
from tundish.store.loading import load_for, named
from tundish.store.pricing import settings_for
from tundish.store.stock import stock_of

Facts = dict[str, Any]
DAY = click.DateTime(["%Y-%m-%d"])


@click.command("van")
@click.argument("calls", nargs=-1)
@click.option("--day", type=DAY, default=None, help="The day of the visits; tomorrow if left out.")
@click.option("--space", type=click.FloatRange(0), default=None, help="Room for parts; the shop's own if left out.")
@with_view
def van_(calls: tuple[str, ...], *, day: datetime | None, space: float | None, view: View) -> None:
    """The parts to load for a day: those booked for it, or the calls named, in the order of the visits."""
    # The van is loaded in the evening before
    when = day.date() if day else today() + timedelta(days=1)
    with at_hand.calls() as file:
        asked = _asked(file, named(file, calls, when), view)
        matter = asked[0].found.matter
        settings = settings_for(at_hand.own(), asked[0].found.description, matter.market)
        levels = stock_of(file).levels
        found = load_for(asked, file, settings, levels, space=space)
    view.put(van_facts(asked, found, levels, day=when.isoformat()), show)


def show(page: Facts) -> None:
    """The load, on the terminal."""
    console, currency = out(), page["currency"]
    console.print(f"{page['day']}: {_calls(len(page['calls']))}", style="bold", markup=False)
    for call in page["calls"]:
        console.print(_call(call), markup=False)
    grid = table("take", ">pieces", ">on van", ">fetch", ">needed", f">saves [{currency}]", ">first visit without")
    for row in page["load"]:
        counts = (str(row[name]) for name in ("pieces", "on_van", "fetch"))
        grid.add_row(row["part"], *counts, percent(row["chance"]), f"{row['saves']:.2f}", percent(row["fill_without"]))
    if page["load"]:
        console.print(grid)
    for line in page["says"]:
        console.print(line, markup=False)
    for order in page["order_now"]:
        console.print(f"  order {order['pieces']} × {order['part']}: {order['why']}", markup=False)


def _calls(many: int) -> str:
    return "1 call" if many == 1 else f"{many} calls"


def _call(call: Facts) -> str:
    likely = [f"{', '.join(one['parts']) or 'nothing'} {percent(one['chance'])}" for one in call["sets"]]
    name = f" {call['name']}" if call["name"] else ""
    return f"  {call['handle']}{name}, {call['family']} {call['complaint']}: {'; '.join(likely) or 'nothing'}"


def _asked(file: EventFile, ids: Sequence[str], view: View) -> list[Counsel]:
    """What the planner is asked about each call, before its visit."""
    own, states = at_hand.own(), [fold(file.events_of(id)) for id in ids]
    # A part for a call that has ended would only be carried round
    over = [state for state in states if state.ended is not None]
    if over:
        raise StoreError(
            seen=f"call {over[0].call}, which has ended", allowed="open calls", do="leave it out, or undo the ending"
        )
    # Nobody is there yet, so what is asked on the phone still counts as to come
    question = Asked(phone=True, size=view.machines, own=own)
    with waiting("Simulating machines") as progress:
        return [counsel(state, cache_folder(), question, progress=progress, tell=at_hand.tell) for state in states]
