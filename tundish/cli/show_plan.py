"""Plans and states on the terminal. Everything said here is in the facts; this file only lays it out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rich.text import Text

from tundish.cli.show import out, table
from tundish.documents.numbers import percent
from tundish.documents.tree_text import tree_lines

Facts = dict[str, Any]
# How each kind of thing that shows a danger is taken back, where it was recorded wrongly.
CORRECT = (
    "  recorded wrongly: tundish withdraw CALL CHECK; tundish told CALL CIRCUMSTANCE --no; tundish ask CALL QUESTION ANSWER; "
    "tundish ask CALL --unsaid; tundish do CALL undo"
)


def state(page: Facts) -> None:
    """Where the machine stands."""
    console = out()
    console.print(Text(f"Call {page['call']}: {page['state']}", "bold"))
    for problem in page["problems"]:
        console.print(f"! {problem['seen']}: {problem['do']}", style="bold", markup=False)
    told = {
        "ended as": page["ended"],
        "repaired": ", ".join(page["repaired"]),
        "on order": ", ".join(page["ordered"]),
        "in hand": ", ".join(page["parts"]),
        "handed over to": ", ".join(h["to"] for h in page["handed_over"]),
    }
    for what, words in told.items():
        if words:
            console.print(f"  {what} {words}", markup=False)
    # Where the call has ended no step is open any more
    if page["ended"] is None:
        _steps(page)
    console.print(page["deference"], style="dim")


def _steps(page: Facts) -> None:
    console, grid = out(), table("open steps", ">min", "proof to see", "who")
    for step in page["open"]:
        low, high = step["minutes"]
        grid.add_row(
            step["step"], f"{low:g}" if low == high else f"{low:g}-{high:g}", step["proof"], step["who"]
        )
    console.print(grid)
    whys: dict[str, list[str]] = {}
    # Many steps are barred for one reason: it is said once
    for barred in page["barred"]:
        whys.setdefault(barred["why"], []).append(barred["step"])
    for why, names in whys.items():
        console.print(f"  not now: {', '.join(names)}: {why}", style="dim", markup=False)


def advice(page: Facts, most: int = 6) -> None:
    """The next action, then the others, then what is barred."""
    console = out()
    console.print(
        Text(f"Call {page['call']}: {page['family']}, {page['complaint']}; {page['state']}", "bold")
    )
    for notice in page["notices"]:
        console.print(f"! {notice['say']} [{notice['source']}]", style="bold", markup=False)
    # A hazard leaves nothing to choose, so no other action may distract from it
    if page["halt"]:
        console.print(page["halt"], style="bold", markup=False)
        if page["halt"].startswith("Stop"):
            console.print(CORRECT.replace("CALL", page["name"]), style="dim", markup=False)
    else:
        _action(page["action"], page["name"])
        _others(_worth_a_line(page, most))
        _barred(page["barred"])
    console.print(page["deference"], style="dim")


def _worth_a_line(page: Facts, most: int) -> list[Facts]:
    """The first few of the others, and the best of every kind of action that is not among them."""
    shown = page["others"][:most]
    # A hand over or an end must stay in sight although a dozen checks are cheaper
    kinds = {row["kind"] for row in (page["action"], *shown)}
    rest = {row["kind"]: row for row in reversed(page["others"][most:])}
    return [*shown, *(row for row in page["others"] if row in rest.values() and row["kind"] not in kinds)]


def _action(said: Facts, call: str) -> None:
    console = out()
    console.print(Text(f"Next: {said['label']}", "bold"))
    where = ", ".join(words for words in (said["instrument"], said["where"]) if words)
    lines = [where, said["how"], f"Why: {said['why']}", _money(said)]
    for words in lines:
        if words:
            console.print(f"  {words}", markup=False)
    # Safety steps come before the act, cautions beside it
    for number, step in enumerate(said["steps"], start=1):
        console.print(f"  before it, {number}: {step['step']} ({step['proof']})", markup=False)
    for caution in said["cautions"]:
        console.print(f"  ! {caution}", style="bold", markup=False)
    # What each answer leads to, so that the technician sees what the check is for
    grid = table("  when it shows", ">chance", "then", "likeliest causes then")
    for lead in said["leads"]:
        causes = ", ".join(f"{cause} {percent(chance)}" for cause, chance in lead["causes"])
        grid.add_row(f"  {lead['outcome']}", percent(lead["chance"]), lead["then"], causes)
    if said["leads"]:
        console.print(grid)
    # A price is agreed to before a hand is laid on it, and before a part is ordered for it
    if said["consent"]:
        named = " ".join(said["faults"])
        console.print(
            f"  first the price: tundish quote {call} {named} --give, then tundish agree {call} --name NAME",
            style="bold",
            markup=False,
        )
    if said["kind"] == "repair":
        for fault in said["faults"]:
            console.print(f"  steps, part and what was done: tundish fix {call} {fault}", markup=False)
    console.print(f"  write it down: {said['record'].replace(' CALL', f' {call}')}", markup=False)


def _money(said: Facts) -> str:
    money = said["currency"]
    return (
        f"It costs the shop {said['cost']:.0f} {money} and {said['minutes']:.0f} min with the way there; the whole call from "
        f"here on {said['promise']:.0f} {money}."
    )


def _others(rows: Sequence[Facts]) -> None:
    grid = table("or", ">whole call", ">its own", ">min", "steps before it")
    for row in rows:
        steps = ", ".join(step["step"] for step in row["steps"])
        money = row["currency"]
        grid.add_row(
            row["label"],
            f"{row['promise']:.0f} {money}",
            f"{row['cost']:.0f}",
            f"{row['minutes']:.0f}",
            steps,
        )
    if rows:
        out().print(grid)


def _barred(rows: Sequence[Facts]) -> None:
    whys: dict[str, list[str]] = {}
    # One line a reason, as for the steps
    for row in rows:
        whys.setdefault(row["why"], []).append(row["name"])
    for why, names in whys.items():
        out().print(f"  barred: {', '.join(names)}: {why}", style="dim", markup=False)


def plan(page: Facts) -> None:
    """The tree as text."""
    console = out()
    console.print(Text(page["title"], "bold"))
    if page["halt"]:
        console.print(page["halt"], style="bold", markup=False)
    else:
        for line in tree_lines(page["tree"]):
            console.print(line, markup=False)
    console.print(page["deference"], style="dim")


def proof(page: Facts) -> None:
    """The verdict, what is missing, and what to read."""
    console = out()
    names = ", ".join(f"{fault['id']} {fault['title']}" for fault in page["repaired"])
    said = "if repaired" if page["planned"] else "repaired"
    # The verdict first: everything below it is its reason
    console.print(Text(f"{page['verdict']}: {said} {names}", "bold"))
    console.print(
        f"  a cause is left with {percent(page['left_now'])}; right after the repair {percent(page['left_at_repair'])}; "
        f"the shop's limit is {percent(page['limit'])}"
    )
    if page["mild"] >= 0.01:
        console.print(
            f"  beside that, {percent(page['mild'])} that some other cause is there, too mild to show: the machine does what it should",
            markup=False,
        )
    # What is missing stands before what is there: that is what is still to do
    for missing in page["missing"]:
        console.print(f"  missing: {missing}", markup=False)
    for r in page["read"]:
        console.print(f"  read as used: {r['check']} {r['title']}: {r['shows']}", markup=False)
    _to_read(page)
    for row in page["settle"]:
        console.print(
            f"  to settle it: {row['check']} {row['title']}, {row['minutes']:g} min, state {row['state']}", markup=False
        )
    if page["settle"]:
        console.print(f"  a cause is then left with {percent(page['left_settled'])}, which proves it", markup=False)
    console.print(f"  {page['advice']}", style="bold", markup=False)
    for line in page["after"]:
        console.print(f"  {line}", markup=False)
    console.print(f"  whole proof of this complaint: {page['whole_proof']}", markup=False)
    console.print(page["deference"], style="dim")


def _to_read(page: Facts) -> None:
    console, grid = (
        out(),
        table("read, as used", "", "healthy (90 %)", "as found (90 %)", "read then", "as left (90 %)"),
    )
    for row in page["checks"]:
        grid.add_row(
            row["check"], row["title"], row["healthy"], row["as_found"], row["read_then"], row["as_left"]
        )
    # No table where nothing is left to read
    if not page["checks"]:
        return
    console.print(grid)
    then = f"a cause is left with {percent(page['left_then'])} when all read so"
    end = (
        "which proves it"
        if page["settles"]
        else "which alone does not prove it"
    )
    console.print(
        f"  {page['minutes']:.0f} min, {page['cost']:.0f} {page['currency']}; {then}, {end}", markup=False
    )
