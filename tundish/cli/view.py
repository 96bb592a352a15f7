"""How a verb shows what it found: on the terminal or as JSON, in which units, from how many simulated machines."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from functools import wraps
from typing import Any

import click

from tundish.store.desk import Diagnosis
from tundish.store.shelf import SIZE


@dataclass(frozen=True)
class View:
    """Options that every verb has. units : metric, US or None for the market's own."""

    as_json: bool
    units: str | None
    machines: int

    def units_for(self, found: Diagnosis) -> str:
        """The units asked for, else those of the machine's market."""
        return self.units or found.description.markets[found.matter.market].units

    def put(self, facts: Any, pretty: Callable[[Any], None]) -> None:
        """Print facts: the terminal is made from the same facts as the JSON."""
        if self.as_json:
            click.echo(json.dumps(facts, indent=1, ensure_ascii=False, allow_nan=False))
        else:
            pretty(facts)


def with_view(verb: Callable[..., None]) -> Callable[..., None]:
    """Give a verb the common options, handed over as one `view`."""

    @wraps(verb)
    def seen(*words: Any, as_json: bool, units: str | None, machines: int, **named: Any) -> None:
        verb(*words, **named, view=View(as_json, units, machines))

    seen = click.option("--json", "as_json", is_flag=True, help="Print the facts as JSON.")(seen)
    units = click.Choice(["metric", "US"])
    seen = click.option("--units", type=units, default=None, help="Units shown; the market's if left out.")(seen)
    # Fewer machines answer faster but are less sure; below a thousand the odds are mostly regrown ones.
    many = click.IntRange(1_000, 2_000_000)
    return click.option("--machines", type=many, default=SIZE, show_default=True, help="Simulated machines.")(seen)
