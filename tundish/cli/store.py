"""`tundish store`: where the calls lie, and how they get to a server, to another file, or back."""

from __future__ import annotations

from typing import Any

import click

from tundish.cli.show import out
from tundish.cli.view import View, with_view
from tundish.cli.waiting import waiting
from tundish.store import moving
from tundish.store.folders import data_folder
from tundish.store.opening import open_calls
from tundish.store.places import place_from

Facts = dict[str, Any]


@click.group()
def store() -> None:
    """Where the calls and the stock lie: in a file, or on a PostgreSQL server for the whole shop."""


@store.command()
@with_view
def where(view: View) -> None:
    """Tell where the calls and the stock lie, and how many there are."""
    folder = data_folder()
    with open_calls(folder) as file:
        view.put(moving.place_facts(file, folder), _where)


@store.command()
@click.argument("target")
@with_view
def move(target: str, view: View) -> None:
    """Move all calls and stock to TARGET: postgresql://USER@HOST/DATABASE, or a new file.

    All is copied and compared before anything is switched, and the old place stays as it is. The password comes from
    PGPASSWORD or the password file, never from the address.
    """
    folder = data_folder()
    # Read before the bar is drawn, so that a wrong address is all that is said
    place = place_from(target, folder)
    with waiting("Moving calls") as progress:
        moved = moving.move(folder, place, progress=progress)
    content = moved.content
    facts = {
        "from": str(moved.source),
        "to": str(moved.target),
        "events": content.events,
        "stock": content.stock,
        "sha256": content.sha256,
        "folder": str(folder),
    }
    view.put(facts, _moved)


@store.command()
@click.argument("target")
@with_view
def join(target: str, view: View) -> None:
    """Add this computer's calls and stock to TARGET, which holds those of others, and use it from now on."""
    folder = data_folder()
    place = place_from(target, folder)
    taken = moving.join(folder, place)
    refused = [{"where": one.where, "why": one.why} for one in taken.refused]
    facts = {"to": str(place), "added": taken.added, "known": taken.known, "refused": refused, "folder": str(folder)}
    view.put(facts, _joined)


def _where(facts: Facts) -> None:
    said = {"usual": "as usual", "store": "as the file `store` in the data folder says"}
    by = said.get(facts["said_by"], f"as {facts['said_by']} says")
    out().print(f"{facts['place']}, {by}", markup=False)
    out().print(f"{facts['calls']} calls, {facts['events']} events, {facts['stock']} lines of the stock", markup=False)
    _folder(facts)


def _moved(facts: Facts) -> None:
    words = f"{facts['events']} events and {facts['stock']} lines of the stock, compared (SHA-256 {facts['sha256'][:12]}...)"
    out().print(f"Moved to {facts['to']}: {words}.", markup=False)
    out().print(f"{facts['from']} is as it was, and no longer used by this computer.", markup=False)
    _folder(facts)


def _joined(facts: Facts) -> None:
    out().print(f"{facts['added']} events and lines added to {facts['to']}, {facts['known']} were there.", markup=False)
    for one in facts["refused"]:
        out().print(f"Not taken, {one['where']}: {one['why']}", markup=False)
    _folder(facts)


def _folder(facts: Facts) -> None:
    # Somebody who moved to a server may think that a copy of the server is a copy of all
    out().print(f"Photos, papers, settings and what was learned stay in {facts['folder']}.", markup=False)
