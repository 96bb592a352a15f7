"""`tundish trial`: simulated calls through the planner and through other ways of going about them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click
from rich.console import Console
from rich.table import Table

from tundish.appliance.possible import complaints_of
from tundish.appliance.records import Description
from tundish.call.entry import complaint_in, market_named, one_of
from tundish.cli import at_hand
from tundish.cli.waiting import waiting
from tundish.documents.trial import trial_facts
from tundish.documents.trial_plot import trial_plot
from tundish.plan.trial import bench
from tundish.plan.trial import trial as run_trial
from tundish.population.build import world
from tundish.store.library import load
from tundish.store.settings import shop_of
from tundish.store.shelf import SEED

# Enough for odds that a plan can be made on, few enough to be built in seconds. Our choice.
MACHINES = 8_000


@click.command()
@click.argument("family")
@click.option(
    "-n",
    "calls",
    type=click.IntRange(2, 100_000),
    default=200,
    show_default=True,
    help="Simulated calls of each complaint.",
)
@click.option(
    "--complaint",
    "complaints",
    multiple=True,
    help="A complaint, such as SLOW; may be repeated. All if left out.",
)
@click.option("--market", default=None, help="Market of the machines; the first if left out.")
@click.option(
    "--since",
    "told",
    multiple=True,
    help='A circumstance of all calls, such as "house move"; may be repeated.',
)
@click.option("--age", type=float, default=None, help="Age of the machines in years.")
@click.option(
    "--machines",
    type=click.IntRange(1_000, 200_000),
    default=MACHINES,
    show_default=True,
    help="Simulated machines.",
)
@click.option("--seed", type=int, default=SEED, show_default=True, help="Seed of machines and calls.")
@click.option(
    "--svg",
    type=click.Path(dir_okay=False, path_type=Path),
    default=None,
    help="Write a picture to this file.",
)
@click.option("--json", "as_json", is_flag=True, help="Print the facts as JSON.")
def trial(family: str, *, svg: Path | None, as_json: bool, **asked: Any) -> None:
    """Simulate whole calls: ours, a fixed chart, the likeliest part first, and most information a minute, on one bill."""
    facts = _facts(load(family), **asked)
    if svg is not None:
        svg.write_text(trial_plot(facts), encoding="utf-8")
    if as_json:
        click.echo(json.dumps(facts, indent=1, ensure_ascii=False, allow_nan=False))
    else:
        _table(facts)


def _facts(
    description: Description,
    *,
    calls: int,
    complaints: tuple[str, ...],
    market: str | None,
    told: tuple[str, ...],
    age: float | None,
    machines: int,
    seed: int,
) -> dict[str, Any]:
    chosen = market_named(description, market)
    names = [complaint_in(description, chosen, c) for c in complaints] or list(complaints_of(description, chosen))
    circumstances = [one_of(t, description.circumstances, "circumstance") for t in told]
    shop = shop_of(at_hand.own(), description.markets[chosen], description.family)
    place = world(description, chosen)
    found = []
    for number, name in enumerate(names):
        with waiting(f"{name}, {number + 1} of {len(names)}") as progress:
            made = bench(place, name, shop, size=machines, seed=seed, told=circumstances, age=age)
            found.append(run_trial(made, calls, progress=progress))
    return trial_facts(description.family, chosen, shop, found)


def _table(facts: dict[str, Any]) -> None:
    console = Console()
    for row in facts["trials"]:
        table = Table(
            title=f"{facts['family']}, {row['complaint']}: {row['calls']} calls, {facts['currency']}, mean (95 % interval)"
        )
        for head in (
            "way",
            "cost",
            "minutes",
            "checks",
            "wrong parts",
            "settled on first visit",
            "ours costs of it",
        ):
            table.add_column(head)
        for way in row["ways"]:
            cells = [
                _interval(way[k], d) for k, d in (("cost", 0), ("minutes", 0), ("checks", 1), ("wrong", 2))
            ]
            ratio = "" if way["ratio"] is None else f"{way['ratio']:.2f}"
            table.add_row(way["way"], *cells, _interval(way["first_visit"], 2), ratio)
        console.print(table)
    console.print(facts["note"])


def _interval(figure: dict[str, float], digits: int) -> str:
    return f"{figure['mean']:.{digits}f} ({figure['low']:.{digits}f}-{figure['high']:.{digits}f})"
