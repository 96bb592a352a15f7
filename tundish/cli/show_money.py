"""Quote and agreement on the terminal. Everything said here is in the facts; this file only lays it out."""

from __future__ import annotations

from typing import Any

from rich.console import Console
from rich.text import Text

from tundish.call.amounts import spoken
from tundish.cli.show import out, table
from tundish.documents.numbers import percent

Facts = dict[str, Any]


def quote(page: Facts) -> None:
    """The quote: lines, sums, chance, what else may be chosen, keep or replace."""
    console, money = out(), page["currency"]
    what = "; ".join(f"{fault['id']} {fault['title']}" for fault in page["faults"]) or "the visit only"
    named = f"quote {page['given']}" if page["given"] else "quote, not given yet"
    console.print(Text(f"Call {page['call']}, {named}: {what}", "bold"))
    _lines(page, console)
    if page["faults"]:
        console.print(f"  That this alone cures: {percent(page['chance_cures'])}")
    for fault in page["faults"]:
        if fault["mistaken_for"]:
            console.print(f"  usual mistake at {fault['id']}: {', '.join(fault['mistaken_for'])}")
    grid = table("  or", f">{money}", ">cures", "")
    for option in page["options"]:
        # Nothing done cures nothing: a figure would look like a chance
        cures = percent(option["chance_cures"]) if option["chance_cures"] else "no"
        grid.add_row(f"  {option['name']}", _sum(option["gross"], money), cures, option["note"])
    console.print(grid)
    days = page["warranty_days"]
    share = f"{100 * float(page['over_run']):.0f} %"
    console.print(
        f"  Owed if refused {spoken(page['owed_if_refused'], money)}. Good until {page['valid_until']}. Asked again above "
        f"{share} more, or for another cause. Warranty: labour {days['labour']} days, parts {days['part']} days.",
        markup=False,
    )
    _worth(page, console)
    console.print(f"  {page['agreed']['says']}", style="bold", markup=False)
    console.print(page["deference"], style="dim")


def agreed(page: Facts) -> None:
    """What the customer said, what is owed, what was paid."""
    console, money = out(), page["currency"]
    console.print(Text(f"Call {page['call']}: {page['says']}", "bold"))
    quoted, consent = page["quote"], page["consent"]
    if quoted is not None:
        covers = ", ".join(page["covers"]) or "the visit only"
        console.print(f"  quote {quoted['id']}: {covers}, {spoken(quoted['gross'], money)}", markup=False)
    if consent is not None:
        console.print(
            f"  {consent['how']} by {consent['name']}, {consent['day']}; up to {spoken(consent['up_to'], money)}",
            markup=False,
        )
    for paid in page["paid"]:
        console.print(
            f"  paid {spoken(paid['minor'], paid['currency'])} {paid['means']}, {paid['date']}", markup=False
        )
    if money:
        console.print(f"  owed {spoken(page['owed'], money)}, due {spoken(page['due'], money)}")


def _lines(page: Facts, console: Console) -> None:
    money = page["currency"]
    grid = table("", "", ">each", ">net", ">tax", f">{money}")
    for line in page["lines"]:
        count = f"{line['quantity']} {line['unit']}".strip()
        sums = (_sum(line[name], money) for name in ("each", "net", "tax", "gross"))
        grid.add_row(f"  {line['what']}", count, *sums)
    grid.add_row(
        "  in all", "", "", *(_sum(page[name], money) for name in ("net", "tax", "gross")), style="bold"
    )
    console.print(grid)
    for tax in page["taxes"]:
        rate = f"{100 * float(tax['rate']):g} %"
        console.print(
            f"  {tax['name']} {rate} on {spoken(tax['net'], money)}: {spoken(tax['tax'], money)}",
            markup=False,
        )


def _worth(page: Facts, console: Console) -> None:
    worth, money = page["worth"], page["currency"]
    if worth is None:
        console.print(f"  Keep or replace: {page['worth_unknown']}", markup=False)
        return
    console.print(f"  Keep or replace, {money}: {worth['says']}", markup=False)
    rules = ", ".join(f"{rule['name']} {rule['price']:.0f}" for rule in worth["rules_of_thumb"])
    console.print(
        f"  It has {worth['remaining_years']:.1f} years left on average; a new one costs {worth['new_a_year']:.0f} {money} a "
        f"year. People also say, and it decides nothing: {rules}.",
        markup=False,
    )


def _sum(minor: int, money: str) -> str:
    # The column names the currency once
    return spoken(minor, money).removesuffix(money).strip()
