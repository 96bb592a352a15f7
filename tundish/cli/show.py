"""Facts on the terminal. Everything said here is in the facts; this file only lays it out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rich.console import Console
from rich.table import Table
from rich.text import Text

from tundish.documents.numbers import percent
from tundish.store.taught import AS_SHIPPED

Facts = dict[str, Any]
# The odds strip: one cell is this share. Its eighths let small causes show.
STRIP = 30
EIGHTHS = " ▏▎▍▌▋▊▉█"


def strip(chance: float, width: int = STRIP) -> str:
    """A bar as long as the chance.

    >>> strip(0.5, 4)
    '██  '
    """
    # Eighths of a cell let a cause of half a percent still be seen.
    eighths = round(chance * width * 8)
    full, rest = divmod(eighths, 8)
    bar = "█" * full + (EIGHTHS[rest] if rest else "")
    return bar.ljust(width)


def out() -> Console:
    """The console; a wide one when the output is not a terminal, so that files keep whole lines."""
    # A pipe has no width of its own; a wide one keeps a row a line.
    console = Console(highlight=False)
    return console if console.is_terminal else Console(highlight=False, width=132, no_color=True)


def table(*columns: str, title: str | None = None) -> Table:
    """A plain table."""
    grid = Table(title=title, title_justify="left", box=None, header_style="bold", pad_edge=False)
    for column in columns:
        grid.add_column(
            column.lstrip(">"), justify="right" if column.startswith(">") else "left", overflow="fold"
        )
    return grid


def families(rows: Sequence[Facts]) -> None:
    """Families, their markets, complaints and circumstances."""
    console = out()
    for row in rows:
        console.print(Text(row["family"], "bold"))
        for what in ("markets", "complaints", "circumstances"):
            grid = table(what, "")
            for name, title in row[what].items():
                grid.add_row(name, title)
            console.print(grid)


def handbook(page: Facts) -> None:
    """Healthy readings of every check."""
    grid = table(
        "check",
        "what",
        "where",
        "state",
        ">min",
        "healthy (90 %)",
        title=f"{page['family']}, {page['title']}: a healthy machine",
    )
    for row in page["checks"]:
        grid.add_row(
            row["check"],
            row["title"],
            row["where"],
            row["state"],
            f"{row['minutes']:g}",
            row["healthy"]["says"],
        )
    console = out()
    console.print(grid)
    cautions = {c: row["check"] for row in page["checks"] for c in row["cautions"]}
    for caution, check in cautions.items():
        console.print(f"! {check}: {caution}")
    console.print(page["deference"])


def odds(page: Facts, most: int = 8) -> None:
    """The odds strip, the alarm first."""
    console = out()
    age = f", {page['age']:g} years" if page["age"] is not None else ""
    told = f" ({', '.join(page['told'])})" if page["told"] else ""
    name = f"Call {page['call']}: " if "call" in page else ""
    console.print(
        Text(f"{name}{page['family']}{age}, {page['complaint']}: {page['complaint_title']}{told}", "bold")
    )
    if page["repaired"]:
        console.print(f"The machine as it is now, since the repair of {', '.join(page['repaired'])}")
    warn(page, console)
    for r in page["readings"]:
        console.print(f"  {r['check']:<10} {r['title']}: {r['shows']}")
    console.print(causes(page, most))
    for pair in page["together"]:
        console.print(f"  together: {' and '.join(pair['causes'])} {percent(pair['chance'])}")
    for gone in page["ruled_out"]:
        console.print(
            f"  {gone['id']} does not explain it: {percent(gone['chance'])}; {gone['by']} {gone['words']} it ({gone['decibans']:+.0f} dB)"
        )
    if page["shares"] != AS_SHIPPED.says:
        console.print(f"Begun with {page['shares']}.", markup=False)
    console.print(page["deference"], style="dim")


def warn(page: Facts, console: Console) -> None:
    """What must be said first: readings that do not fit, odds that are not sure, notices."""
    # First what puts all the rest in doubt.
    if page["misfit"]["alarm"]:
        worst = page["misfit"]["worst"]
        said = "These readings do not fit any simulated machine well."
        advice = f"{worst} fits least: read it again, or look for something not described."
        console.print(f"! {said} {advice}", style="bold")
    if not page["sure"]:
        console.print(
            f"! Not sure: only {page['effective_machines']:.0f} machines stand behind these odds. Take another reading before you act.",
            style="bold",
        )
    for notice in page["notices"]:
        console.print(f"! {notice['say']} [{notice['source']}]", style="bold", markup=False)


def causes(page: Facts, most: int) -> Table:
    """Causes by chance, with the chance that nothing is wrong or that it is something not described."""
    grid = table(">chance", "odds", "cause", "", "part", "minutes")
    # Causes under half a percent are counted, not listed: a long tail hides the head.
    shown = [c for c in page["causes"] if c["chance"] >= 0.005][:most] or page["causes"][:1]
    for c in shown:
        price = f"{c['part_price'][0]:g}-{c['part_price'][1]:g} {c['currency']}" if c["part_price"] else ""
        grid.add_row(
            percent(c["chance"]),
            strip(c["chance"]),
            c["id"],
            c["title"],
            price,
            f"{c['minutes'][0]:g}-{c['minutes'][1]:g}",
        )
    rest = sum(c["chance"] >= 0.0 for c in page["causes"]) - len(shown)
    if rest:
        grid.add_row(
            "",
            "",
            "",
            f"{rest} more causes, each {percent(max(c['chance'] for c in page['causes'][len(shown) :]))} or less",
            "",
            "",
        )
    grid.add_row(percent(page["nothing_wrong"]), strip(page["nothing_wrong"]), "", "nothing wrong", "", "")
    grid.add_row(
        percent(page["not_described"]), strip(page["not_described"]), "", "something not described", "", ""
    )
    return grid


def why(page: Facts) -> None:
    """What each reading did to a cause."""
    console = out()
    console.print(page["sentence"])
    grid = table("check", "reading", ">before", ">after", ">dB", "")
    for r in page["influences"]:
        grid.add_row(
            r["check"],
            f"{r['title']}: {r['shows']}",
            percent(r["before"]),
            percent(r["after"]),
            f"{r['decibans']:+.1f}",
            r["words"],
        )
    console.print(grid)
    many = f"{page['machines']} simulated machines with this cause still carry weight"
    console.print(f"{many}; {page['effective_machines']:.0f} effective machines in all.")


def expect(rows: Sequence[Facts]) -> None:
    """Predicted readings side by side."""
    after = any("after" in row for row in rows)
    grid = table(
        "check",
        "what",
        "healthy (90 %)",
        "this machine (90 %)",
        *(["after the repair (90 %)"] if after else []),
    )
    for row in rows:
        grid.add_row(
            row["check"],
            row["title"],
            row["healthy"]["says"],
            row["now"]["says"],
            *([row["after"]["says"]] if after else []),
        )
    out().print(grid)


def calls(rows: Sequence[Facts]) -> None:
    """Calls of this device."""
    grid = table("call", "name", "family", "complaint", "opened", ">events")
    for row in rows:
        grid.add_row(
            row["handle"], row["name"], row["family"], row["complaint"], row["opened"], str(row["events"])
        )
    out().print(grid)


def case(page: Facts) -> None:
    """A played case: the odds after each reading, then the verdicts."""
    console = out()
    console.print(Text(page["title"], "bold"))
    grid = table("after", "reading", "likeliest causes")
    for step in page["steps"]:
        grid.add_row(step["check"], step["shows"], ", ".join(f"{c} {percent(p)}" for c, p in step["top"]))
    console.print(grid)
    warn(page["odds"], console)
    for v in page["verdicts"]:
        console.print(f"{'met    ' if v['met'] else 'NOT MET'}  {v['demand']}: {v['found']}")
