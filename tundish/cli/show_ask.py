"""The call on the phone on the terminal. Everything said here is in the facts; this file only lays it out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rich.console import Console
from rich.text import Text

from tundish.cli.show import out, table
from tundish.documents.numbers import percent

Facts = dict[str, Any]


def ask(page: Facts, most: int = 5) -> None:
    """What to say at once, then the questions, the price, the time, the advice, what is missing."""
    console = out()
    head = f"Call {page['call']}: {page['family']}, {page['complaint']}: {page['complaint_title']}"
    console.print(Text(head, "bold"))
    _stops(page, console)
    for told in page["answers"]:
        console.print(f"  told: {told['ask'] or told['question']} {told['answer']}", markup=False)
    _questions(page["questions"], most)
    _price(page, console)
    minutes = page["minutes_on_site"]
    console.print(
        f"On site: {minutes['usual']:.0f} min, {minutes['low']:.0f} to {minutes['high']:.0f}; "
        f"{minutes['repair']:.0f} of them on the repair",
        markup=False,
    )
    _say(page["advice"], console)
    for row in page["missing"]:
        share = row["lost_trip"]
        lost = (
            "no visit without it"
            if share >= 1
            else f"without it {percent(share)} of visits are lost or made twice"
        )
        console.print(f"Missing: {row['question']} {row['ask']} ({lost})", markup=False)
    for row in page["photos"]:
        console.print(f"Photo to ask for: {row['what']} ({row['question']})", markup=False)
    console.print(page["deference"], style="dim")


def first(page: Facts) -> None:
    """What to ask while the complaint is not known, and the words that end all advice."""
    console = out()
    if page.get("said"):
        meant(page)
    console.print(Text(f"{page['family']}, {page['market']}: ask first", "bold"))
    grid = table("question", "", ">s", "answer", "complaint, or stop")
    for question in page["questions"]:
        # The question stands beside its first answer only
        for number, answer in enumerate(question["answers"]):
            lead = ("", "", "") if number else (question["id"], question["ask"], f"{question['seconds']:g}")
            grid.add_row(
                *lead, answer["answer"], answer["complaint"] or (answer["stop"] and f"STOP: {answer['stop']}")
            )
    console.print(grid)
    for word in page["stop"]:
        console.print(f"! {word['name']}: {word['say']}{_refer(word)}", style="bold", markup=False)
    console.print(page["deference"], style="dim")


def meant(page: Facts) -> None:
    """Which class a customer's words point to. Danger stands before all else."""
    console = out()
    for word in page["danger"]:
        console.print(f"! {word['name']}: {word['say']}{_refer(word)}", style="bold", markup=False)
    if not page["meant"]:
        console.print("None of these words is known here: ask what it does, and name the class.")
        return
    grid = table(">", "class", "what it does")
    # The order is sound, the chances are too bold to be shown
    for place, one in enumerate(page["meant"], start=1):
        grid.add_row(f"{place}.", one["complaint"], one["title"])
    console.print(grid)
    console.print("Words are weak proof: read the likeliest back to the customer, then open the call with its class.", style="dim")


def booked(page: Facts) -> None:
    """The customer, the machine and the visit."""
    console = out()
    visit = page["visit"]
    says = f"{visit['why']} on {visit['date']}" if visit else "no visit is booked"
    console.print(Text(f"Call {page['call']}: {says}", "bold"))
    for what in ("customer", "machine"):
        for name, value in (page[what] or {}).items():
            if value:
                console.print(f"  {name.replace('_', ' ')}: {value}", markup=False)
    if page["age"] is not None:
        console.print(f"  age: {page['age']:g} years")


def _stops(page: Facts, console: Console) -> None:
    for word in page["stop"]:
        console.print(f"! STOP, {word['name']}: {word['say']}{_refer(word)}", style="bold", markup=False)


def _refer(word: Facts) -> str:
    return f" Then: {word['refer']}." if word["refer"] else ""


def _questions(rows: Sequence[Facts], most: int) -> None:
    grid = table("ask next", "", "answers", ">s", ">worth a s", "why")
    # What is worth nothing now is left out, unless nothing else is left to ask
    worth = [row for row in rows if row["worth"] > 0 or row["why"].startswith("safety")][:most]
    for row in worth or rows[:1]:
        answers = ", ".join(one["answer"] for one in row["answers"]) or "in his own words"
        each = f"{row['worth_a_second']:.2f}"
        grid.add_row(row["id"], row["ask"], answers, f"{row['seconds']:g}", each, row["why"])
    if rows:
        out().print(grid)


def _price(page: Facts, console: Console) -> None:
    said, money = page["bracket"], page["currency"]
    console.print(
        f"Price: {said['low']:.0f} to {said['high']:.0f} {money}, tax included; one bill in ten is dearer, one cheaper. "
        f"The visit alone {said['visit']:.0f} {money}.",
        style="bold",
        markup=False,
    )
    for reason in said["reasons"]:
        # Something not described has no id of its own
        cause = " ".join(dict.fromkeys((reason["cause"], reason["title"])))
        console.print(
            f"  as wide because of {cause}: {percent(reason['chance'])}, "
            f"{reason['low']:.0f} to {reason['high']:.0f} {money}",
            markup=False,
        )
    if said["elsewhere"] >= 0.01:
        console.print(f"  {percent(said['elsewhere'])}: another trade bills beside it")
    asking = said["question"]
    if asking is not None:
        console.print(
            f"  narrowed most by {asking['id']}: {asking['ask']} ({asking['narrows']:.0f} {money})",
            markup=False,
        )


def _say(advice: Facts, console: Console) -> None:
    if advice["why_not"]:
        console.print(f"By phone: {advice['why_not']}", markup=False)
    for tip in advice["say"]:
        console.print(f"Say: {tip['say']}", markup=False)
    console.print(advice["line"], markup=False)
    console.print(f"Never by phone: {'; '.join(advice['never'])}", style="dim", markup=False)
