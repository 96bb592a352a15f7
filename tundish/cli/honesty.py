"""`tundish honesty`: stated odds against what was proven, which check or family lies, and the alarm."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from tundish.cli.closed_calls import SVG, tables, with_engine
from tundish.cli.show import out, table
from tundish.cli.view import View, with_view
from tundish.documents.honesty_svg import honesty_svg
from tundish.documents.learning_facts import honesty_facts
from tundish.documents.numbers import percent
from tundish.history import asked
from tundish.store.engines import rows

MOST = 6


@click.command()
@click.option("--svg", type=SVG, default=None, help="Write the honesty curve as a drawing.")
@with_engine
@with_view
def honesty(svg: Path | None, *, engine: str, until: int, view: View) -> None:
    """How honest the stated odds were, over calls that were closed as proven."""
    with tables(view, engine) as found:
        figures = {
            "said": asked.said(found["calls"], until),
            "bands": asked.bands(found["calls"], until),
            "family": asked.said_by(found["calls"], until, "family"),
            "check": asked.said_by(found["checks"], until, "check"),
            "cause": asked.said_of_causes(found["stated"], until),
        }
        facts = honesty_facts(lambda name: rows(figures[name]))
    if svg is not None:
        svg.write_text(honesty_svg(facts), encoding="utf-8")
    view.put(facts, show)


def show(page: dict[str, Any]) -> None:
    """The curve and what stands out, on the terminal."""
    console = out()
    right = f"{page['right']} right, {page['expected']:.1f} expected; z {page['z']:+.1f}"
    console.print(f"{page['calls']} proven calls: {right}: {page['says']}.", style="bold")
    grid = table("stated", ">calls", ">mean", ">right", "95 %")
    for band in page["bands"]:
        ends = f"{band['from']:.0%} to {band['to']:.0%}", f"{band['low']:.0%} to {band['high']:.0%}"
        grid.add_row(ends[0], str(band["calls"]), percent(band["stated"]), f"{band['found']:.0%}", ends[1])
    console.print(grid)
    for what in ("families", "checks"):
        for one in page[what][:MOST]:
            sign = "! " if one["lies"] else "  "
            tail = "  the worst; mend it first, then look again" if one["lies"] and one is page[what][0] else ""
            console.print(f"{sign}{one['name']}: z {one['z']:+.1f} of {one['calls']} calls, chance {percent(one['chance'])}{tail}")
    alarm = page["alarm"]
    if alarm["rings"]:
        console.print(f"! The odds have drifted: the alarm first rang at call {alarm['at']}.", style="bold", markup=False)
