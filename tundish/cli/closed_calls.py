"""What the verbs of learning have in common: the tables brought up to date, an engine opened, a moment to look from."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import wraps
from pathlib import Path
from typing import Any

import click

from tundish.cli import at_hand
from tundish.cli.view import View
from tundish.cli.waiting import waiting
from tundish.history.tables import microseconds, moment_of
from tundish.store.clock import system
from tundish.store.closed import closed_folder, update
from tundish.store.engines import USUAL, needed, open_engine
from tundish.store.folders import cache_folder
from tundish.store.shelved import files, read_list
from tundish.store.stating import stated_of

SVG = click.Path(dir_okay=False, writable=True, path_type=Path)


def with_engine(verb: Callable[..., None]) -> Callable[..., None]:
    """Give a verb `--engine` and `--until`, handed over as `engine` and `until` in microseconds."""

    @wraps(verb)
    def asked(*words: Any, engine: str, until: str | None, **named: Any) -> None:
        verb(*words, **named, engine=engine, until=moment(until))

    asked = click.option("--engine", default=USUAL, show_default=True, help="Where to count: duckdb, postgresql://..., spark://...")(asked)
    return click.option("--until", default=None, help="Moment to look from, such as 2026-11-30; now if left out.")(asked)


def moment(text: str | None) -> int:
    """Microseconds of a moment as typed, UTC; of now when nothing was typed. ValueError when it is none."""
    if text is None:
        return system("").milliseconds() * 1000
    try:
        return microseconds(text)
    except ValueError as error:
        raise ValueError(f"saw {text!r} as a moment; allowed: a date such as 2026-11-30; write year, month and day") from error


@contextmanager
def tables(view: View, engine: str) -> Iterator[Any]:
    """The tables of all closed calls, up to date, on an engine."""
    # Before any odds are computed: what is missing is said at once
    needed("ibis", "learn")
    needed("pyarrow", "learn")
    folder, own = closed_folder(), at_hand.own()
    with at_hand.calls() as file, waiting("Reading closed calls") as progress:
        done = update(
            file,
            folder,
            lambda state: stated_of(state, cache_folder(), size=view.machines, own=own, tell=at_hand.tell),
            progress=progress,
        )
    for call, why in done.left_out:
        at_hand.tell(f"call {call} is left out: {why}")
    opened = open_engine(engine, files(folder, read_list(folder)))
    try:
        yield opened.tables
    finally:
        opened.close()


def day(micro: int) -> str:
    """The day of a moment."""
    return moment_of(micro)[:10]
