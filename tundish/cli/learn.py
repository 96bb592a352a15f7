"""`tundish learn`: shares, cure chances, minutes and mistakes of looks from closed calls, and what moved how far."""

from __future__ import annotations

from typing import Any

import click

from tundish.cli import at_hand
from tundish.cli.closed_calls import tables, with_engine
from tundish.cli.show import out, table
from tundish.cli.view import View, with_view
from tundish.cli.waiting import waiting
from tundish.documents.learning_facts import learned_facts
from tundish.documents.numbers import percent
from tundish.history.tables import moment_of
from tundish.store.folders import cache_folder
from tundish.store.heard import heard
from tundish.store.learning import count, gifts_folder, kept_gifts, learn
from tundish.store.library import families, load
from tundish.store.mistaken import mistaken_in
from tundish.store.taught import forget, learned_path, write_learned

# A share that moved by less than this is not worth a line.
LEAST, MOST = 0.005, 12


@click.command("learn")
@click.option("--try", "only_try", is_flag=True, help="Show what would move, and change nothing.")
@click.option("--forget", "back", is_flag=True, help="Go back to the shares as shipped.")
@with_engine
@with_view
def learn_(only_try: bool, back: bool, *, engine: str, until: int, view: View) -> None:
    """Learn from all closed calls, and from counts others gave; the odds of every later page begin with it.

    An unproven call counts by the chance that it was so. What shipped counts as about 50 calls of each complaint.
    """
    path = learned_path()
    if back:
        forget(path)
        view.put({"forgotten": str(path)}, lambda page: out().print("Back to the shares as shipped."))
        return
    with tables(view, engine) as found:
        counted = count(found, until)
    with at_hand.calls() as file:
        said = heard(file)
    with waiting("Learning"):
        mistaken = mistaken_in(cache_folder(), view.machines)
        learned = learn(counted, kept_gifts(gifts_folder()), moment_of(until), mistaken, said=said)
    if not only_try:
        write_learned(path, learned)
    shipped = {one.family: one for one in map(load, families())}
    facts = {**learned_facts(learned, shipped), "written": None if only_try else str(path)}
    view.put(facts, show)


def show(page: dict[str, Any]) -> None:
    """What moved, on the terminal."""
    console = out()
    shops = f", and the counts of {page['shops'] - 1} more" if page["shops"] > 1 else ""
    console.print(f"{page['calls']} closed calls{shops}: {page['name'][:8]}", style="bold", markup=False)
    for one in page["families"]:
        console.print(f"{one['family']}: what shipped counts as {one['worth']:.0f} calls", style="bold")
        grid = table("complaint", "cause", "", ">before", ">after", ">calls")
        for move in _far(one["shares"]):
            numbers = percent(move["before"]), percent(move["after"]), f"{move['calls']:.0f}"
            grid.add_row(move["complaint"], move["cause"], move["title"], *numbers)
        console.print(grid)
        for move in _far(one["cures"]):
            console.print(f"  {move['cause']} {move['title']}: cures {percent(move['before'])} -> {percent(move['after'])}")
        for move in one["minutes"]:
            (a, b), (c, d) = move["before"], move["after"]
            console.print(f"  {move['cause']} {move['title']}: {a:.0f}-{b:.0f} -> {c:.0f}-{d:.0f} min")
        for move in one["prices"]:
            (a, b), (c, d) = move["before"], move["after"]
            console.print(f"  {move['cause']} {move['title']}: part {a:.0f}-{b:.0f} -> {c:.0f}-{d:.0f} {move['currency']}", markup=False)
        for move in one["tilts"][:MOST]:
            console.print(f"  {move['group']}: {move['cause']} {move['title']} x {move['times']:.2f}", markup=False)
        if one["words"]:
            told = ", ".join(f"{word['complaint']} {word['words']} in {word['calls']} calls" for word in one["words"])
            console.print(f"  words of customers that count: {told}", markup=False)
        for move in _far(one["mistakes"]):
            chances = f"{percent(move['before'])} -> {percent(move['after'])}"
            console.print(f"  {move['check']}: {move['truth']!r} called {move['answer']!r} {chances}", markup=False)
        for move in one["unlisted"]:
            console.print(f"  ! {move['complaint']}: {move['cause']} in {move['calls']:.1f} calls, not in its table", markup=False)
    console.print(f"Written to {page['written']}" if page["written"] else "Nothing was changed.", markup=False)


def _far(moves: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return [move for move in moves if abs(move["after"] - move["before"]) >= LEAST][:MOST]
