"""`tundish share`: counts given away and taken in, without customers."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from tundish.cli.closed_calls import tables, with_engine
from tundish.cli.show import out
from tundish.cli.view import View, with_view
from tundish.history.giving import LEAST, written
from tundish.store.errors import clear_errors
from tundish.store.learning import count, gift_of, gifts_folder, keep_gift
from tundish.store.shelved import replace_file

FILE = click.Path(dir_okay=False, path_type=Path)


@click.group()
def share() -> None:
    """Give away counts of closed calls, or take in those of another shop."""


@share.command("export")
@click.argument("file", type=FILE)
@click.option("--least", type=click.IntRange(LEAST), default=LEAST, show_default=True, help="Fewest calls of a count that leaves.")
@with_engine
@with_view
def export(file: Path, least: int, *, engine: str, until: int, view: View) -> None:
    """Write counts by family, complaint, age band, circumstances and cause. No customer, call, note or photo is in them."""
    # What leaves is counted first and cut to cells that are large enough; no row of a call is ever written
    with tables(view, engine) as found:
        gift = gift_of(count(found, until), least)
    replace_file(file, written(gift))
    facts = {
        "file": str(file),
        "least": gift.least,
        "cells": len(gift.causes),
        "calls": sum(cell.calls for cell in gift.causes),
        "repairs": sum(one.calls for one in gift.repairs),
    }
    view.put(facts, _given)


@share.command("import")
@click.argument("file", type=FILE)
@with_view
def import_(file: Path, view: View) -> None:
    """Take in another shop's counts; the next `learn` begins with them and puts one's own calls on top."""
    # Read whole before anything is kept, so a file that breaks off changes nothing
    with clear_errors(file):
        content = file.read_bytes()
    gift, is_new = keep_gift(gifts_folder(), content)
    calls = sum(cell.calls for cell in gift.causes)
    facts = {"file": str(file), "new": is_new, "families": list(gift.shipped), "cells": len(gift.causes), "calls": calls}
    view.put(facts, _taken)


def _given(page: dict[str, Any]) -> None:
    words = f"{page['cells']} counts of {page['calls']} calls, none of fewer than {page['least']}, and {page['repairs']} repairs"
    out().print(f"{page['file']}: {words}.", markup=False)


def _taken(page: dict[str, Any]) -> None:
    words = f"{page['cells']} counts of {page['calls']} calls ({', '.join(page['families'])})"
    # The same gift twice must not count twice
    after = "Now: tundish learn" if page["new"] else "They were here already."
    out().print(f"{words}. {after}", markup=False)
