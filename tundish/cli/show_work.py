"""The repair, the end of a call and a callback on the terminal. Everything said here is in the facts; this only lays it out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rich.console import Console
from rich.text import Text

from tundish.call.amounts import spoken
from tundish.cli.show import out, table
from tundish.documents.numbers import percent
from tundish.documents.words import said_in

Facts = dict[str, Any]


def fix(page: Facts) -> None:
    """The steps of each repair, the caution before its step."""
    console = out()
    for row in page["repairs"]:
        low, high = row["minutes"]
        minutes = f"{low:g}" if low == high else f"{low:g} to {high:g}"
        done = ", REPAIRED" if row["repaired"] else ""
        console.print(Text(f"{row['fault']} {row['title']}: {minutes} min{done}", "bold"))
        if row["hand_over"]:
            console.print(f"! {row['hand_over']}", style="bold", markup=False)
        if row["consent"]:
            console.print(f"! {row['consent']}", style="bold", markup=False)
        # What only shows before the machine is moved comes before the steps that move it
        _steps([s for s in row["steps"] if s["before_moving"]], console, page["units"])
        for step in row["first"]:
            console.print(f"  first: {step['step']} ({said_in(step['proof'], page['units'])})", markup=False)
        _steps([s for s in row["steps"] if not s["before_moving"]], console, page["units"])
        _part(row, console)
    console.print(page["deference"], style="dim")


def close(page: Facts) -> None:
    """How the call may end or ended, the proof, the money, the warranty, what follows."""
    console = out()
    ended = f"ended as {page['ended']}" if page["ended"] else "open"
    console.print(Text(f"Call {page['call']}: {ended}", "bold"))
    for problem in page["problems"]:
        console.print(f"! {problem['seen']}: {problem['do']}", style="bold", markup=False)
    _proof(page["proof"], console)
    _money(page, console)
    for part in page["parts"]:
        console.print(f"  part: {part['count']} {part['part']} for {part['fault']}", markup=False)
    for row in page["warranty"]:
        console.print(f"  warranty: {row['what']} until {row['until']}")
    if page["follow_up"]:
        console.print(f"  look again {page['follow_up']['date']}: {page['follow_up']['why']}", markup=False)
    for paper in page["papers"]:
        console.print(f"  paper: {paper['paper']}, {paper['at']}", markup=False)
    grid = table("  may end as", "")
    for row in page["endings"]:
        grid.add_row(f"  {row['as']}", row["why_not"] or "yes")
    if page["endings"]:
        console.print(grid)
    console.print(page["deference"], style="dim")


def callback(page: Facts) -> None:
    """The earlier call beside the one that came back."""
    console, earlier = out(), page["earlier"]
    days = "" if earlier["days_since"] is None else f", {earlier['days_since']} days ago"
    then = f"{earlier['call']}: {earlier['complaint']}, ended as {earlier['ended']}{days}"
    console.print(Text(f"Call {page['call']}, {page['complaint']}, comes back from {then}", "bold"))
    console.print("  " + ("the same complaint" if page["same_complaint"] else "another complaint than then"))
    _then(page, console)
    covered = [what for what, holds in page["covered"].items() if holds]
    console.print(f"  under warranty still: {', '.join(covered) or 'nothing'}")
    for row in page["warranty"]:
        console.print(f"  warranty: {row['what']} until {row['until']}")
    console.print(f"  {page['first']}", style="bold", markup=False)


def _then(page: Facts, console: Console) -> None:
    predicted, proved = page["predicted"], page["proved"]
    likely = ", ".join(f"{cause['id']} {percent(cause['chance'])}" for cause in predicted["causes"])
    console.print(f"  predicted then: {likely}", markup=False)
    for fault in predicted["repaired"]:
        console.print(f"  repaired then: {fault['id']} {fault['title']}", markup=False)
    for part in page["parts"]:
        console.print(f"  fitted then: {part['count']} {part['part']}", markup=False)
    for row in page["before_it"]:
        console.print(f"  read before it: {row['check']} {row['title']}: {row['shows']}", markup=False)
    if predicted["readings"]:
        grid = table("  read after it", "", "predicted", "read", "healthy")
        for row in predicted["readings"]:
            grid.add_row(f"  {row['check']}", row["title"], row["predicted"], row["read"], row["healthy"])
        console.print(grid)
    if proved is None:
        console.print("  nothing was repaired, so nothing was proven")
        return
    why = f": {'; '.join(proved['missing'])}" if proved["missing"] else ""
    console.print(
        f"  proof then: {proved['verdict']}, a cause left with {percent(proved['left_now'])}{why}",
        markup=False,
    )


def _steps(rows: Sequence[Facts], console: Console, units: str) -> None:
    for step in rows:
        # A caution is read before its step, not after
        if step["caution"]:
            console.print(f"     ! {said_in(step['caution'], units)}", style="bold", markup=False)
        mark = "done" if step["done"] else "    "
        console.print(f"  {step['number']:>2} {mark} {said_in(step['step'], units)}", markup=False)
        if step["photo"]:
            kept = ", kept" if step["photo_kept"] else ""
            console.print(f"          photo: {step['photo']}{kept}", style="dim", markup=False)


def _part(row: Facts, console: Console) -> None:
    part = row["part"]
    if part is None:
        return
    held = "in hand" if part["in_hand"] else "not in hand"
    used = f", {part['used']} used" if part["used"] else ""
    console.print(
        f"  part: {part['part']}, {held}{used}; {part['on_van']} on van, {part['on_order']} on order",
        markup=False,
    )


def _proof(proof: Facts | None, console: Console) -> None:
    if proof is None:
        console.print("  nothing was repaired")
        return
    names = ", ".join(f"{fault['id']} {fault['title']}" for fault in proof["repaired"])
    console.print(
        f"  {proof['verdict']}: {names}; a cause is left with {percent(proof['left_now'])}",
        style="bold",
        markup=False,
    )
    for missing in proof["missing"]:
        console.print(f"  missing: {missing}", markup=False)
    for row in proof["checks"]:
        console.print(f"  to read: {row['check']} {row['title']}, then {row['as_left']}", markup=False)


def _money(page: Facts, console: Console) -> None:
    console.print(f"  {page['says']}", markup=False)
    for paid in page["paid"]:
        console.print(
            f"  paid {spoken(paid['minor'], paid['currency'])} {paid['means']}, {paid['date']}", markup=False
        )
