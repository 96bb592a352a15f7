"""`tundish bench --call`: the staircase of a call's machine, as bands with the readings in them."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from rich.text import Text

from tundish.call.fold import fold
from tundish.cli import at_hand
from tundish.cli.show import out, table
from tundish.cli.view import View
from tundish.cli.waiting import waiting
from tundish.documents.staircase_bands import bands_facts
from tundish.documents.staircase_bands_svg import bands_svg
from tundish.store.folders import cache_folder
from tundish.store.since import diagnose_now

Facts = dict[str, Any]


def of_call(call: str, setup: str | None, svg: Path | None, view: View) -> None:
    """Show the bands of a call, and draw them into a file when one is named."""
    with at_hand.calls() as calls, waiting("Simulating machines") as progress:
        state = fold(calls.events_of(calls.resolve(call)))
        found = diagnose_now(state, cache_folder(), size=view.machines, progress=progress, tell=at_hand.tell)
    count = len(found.readings)
    page = {
        "call": state.call,
        "machine": f"{found.matter.family}, {found.matter.market}, {found.matter.complaint}",
        "known": f"call {state.call} after {count} reading{'' if count == 1 else 's'}",
        **bands_facts(found, setup, view.units_for(found)),
    }
    if svg is not None:
        svg.write_text(bands_svg(page), encoding="utf-8")
    view.put(page, show)


def show(page: Facts) -> None:
    """Node by node: sound machines, this machine, what was read."""
    console = out()
    console.print(Text(page["machine"], "bold"))
    console.print(page["known"], markup=False)
    console.print(Text(f"{page['setup']}: {page['title']}, {page['dimension']} over {page['over']}", "bold"))
    grid = table("at", ">sound", ">this machine", "read")
    for node in page["nodes"]:
        read = ", ".join(f"{r['check']} {r['says']}" for r in node["readings"])
        grid.add_row(node["node"], _ends(node["healthy"]), _ends(node["now"]), read)
    console.print(grid)
    console.print("90 of 100 machines lie between the two figures", markup=False)


def _ends(band: Facts) -> str:
    return f"{band['low_says']} to {band['high_says']}"
