"""`tundish bench`: what every instrument reads on a machine with chosen faults, and the staircase of one setup."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import click
from rich.text import Text

from tundish.call.entry import market_named
from tundish.cli.show import out, table
from tundish.cli.stairs import of_call
from tundish.cli.view import View, with_view
from tundish.documents.staircase import path, staircase_facts, with_steps
from tundish.documents.staircase_svg import staircase_svg
from tundish.documents.what_if import asked, pair, what_if_facts
from tundish.store.library import load

Facts = dict[str, Any]


@click.command()
@click.argument("family", required=False)
@click.option(
    "--call", default=None, help="The staircase of a call's machine: bands, and its readings as dots; needs no family."
)
@click.option(
    "--market", default=None, help="Market of the machine, such as EU or NA; the first if left out."
)
@click.option(
    "--fault",
    "faults",
    multiple=True,
    help='A fault, such as S04 or "S06=cold" for one of its modes; may be repeated.',
)
@click.option(
    "--severity",
    multiple=True,
    help='A parameter of the changed machine, such as "screen_blocked_cold=90 %"; may be repeated.',
)
@click.option(
    "--set",
    "both",
    multiple=True,
    help='A parameter of both machines, such as "static_cold=350 kPa"; may be repeated.',
)
@click.option(
    "--setup", default=None, help="Setup of the staircase; the first with water or air if left out."
)
@click.option(
    "--svg", type=click.Path(dir_okay=False, path_type=Path), help="Draw the staircase into this file."
)
@with_view
def bench(
    family: str | None, market: str | None, setup: str | None, svg: Path | None, *, view: View, **words: Any
) -> None:
    """What if: every check on a middle machine, healthy and with faults or values chosen, and where the potential falls.

    Such as: bench "front-load washer" --fault S04 --severity "screen_blocked_cold=90 %" --set "static_cold=350 kPa".
    Or, of a call as far as it is known: bench --call CALL --svg stairs.svg.
    """
    asked_for = [w for w in (family, market, *words["faults"], *words["severity"], *words["both"]) if w]
    if words["call"] is not None:
        _refuse_what_if(asked_for)
        of_call(words["call"], setup, svg, view)
        return
    if family is None:
        raise ValueError(
            f"bench: saw {', '.join(asked_for) or 'nothing'}; allowed: a FAMILY, or --call CALL; "
            "name one, as `tundish families` lists them"
        )
    description = with_steps(load(family))
    chosen = market_named(description, market)
    what = asked(description, words["faults"], words["severity"], words["both"])
    machines = pair(description, chosen, what)
    system = view.units or description.markets[chosen].units
    page = what_if_facts(description, chosen, what, machines=machines, system=system)
    way = path(description, machines.healthy, setup)
    page["staircase"] = staircase_facts(description, way, machines, system) if way else None
    if svg is not None and page["staircase"]:
        named = {"machine": machine(page), "changed": changed(page)}
        svg.write_text(staircase_svg({**page["staircase"], **named}), encoding="utf-8")
    view.put(page, show)


def _refuse_what_if(given: Sequence[str]) -> None:
    if given:
        raise ValueError(
            f"bench --call: saw {', '.join(given)}; allowed: --setup and --svg, since the call says the rest; leave it out"
        )


def machine(page: Facts) -> str:
    """The family and its market."""
    return f"{page['family']}, {page['market']}"


def changed(page: Facts) -> str:
    """What was changed, in one line."""
    # A fault of one mode only needs no second name.
    faults = [f"{f['id']} {f['title']}{', ' + f['mode'] if f['mode'] else ''}" for f in page["faults"]]
    values = [f"{v['parameter']} {v['says']}" for v in page["severity"]]
    both = [f"both with {v['parameter']} {v['says']}" for v in page["both"]]
    return "; ".join([*faults, *values, *both]) or "nothing changed"


def show(page: Facts) -> None:
    """Readings side by side, then the staircase step by step."""
    console = out()
    console.print(Text(machine(page), "bold"))
    console.print(changed(page), markup=False)
    grid = table("check", "what", "where", ">healthy", ">what if", "")
    for row in page["checks"]:
        mark = "<" if row["tells"] else ""
        grid.add_row(
            row["check"], row["title"], row["where"], row["healthy"]["says"], row["what_if"]["says"], mark
        )
    console.print(grid)
    console.print(
        "<: one reading tells the two machines apart (more than three sigma of instrument and model)"
    )
    if page["staircase"]:
        _staircase(page["staircase"])


def _staircase(stairs: Facts) -> None:
    console = out()
    flow = stairs["flow"]
    console.print(
        Text(f"{stairs['setup']}: {stairs['title']}, {stairs['dimension']} over {stairs['over']}", "bold")
    )
    grid = table("step", "from", "to", ">healthy at", ">drop", ">what if at", ">drop", "")
    for step, node in zip(stairs["steps"], stairs["nodes"][1:], strict=True):
        mark = "grown most" if step["link"] == stairs["grown"] else ""
        levels = (node["healthy_says"], step["healthy_says"], node["what_if_says"], step["what_if_says"])
        grid.add_row(step["link"], step["from"], step["to"], *levels, mark)
    console.print(grid)
    console.print(f"through {flow['link']}: healthy {flow['healthy_says']}, what if {flow['what_if_says']}")
