"""`tundish quote`, `agree` and `pay`: the price, the customer's word on it, and the money."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from tundish.call.codec import body_from
from tundish.call.fold import CallState
from tundish.call.quotes import Quoted
from tundish.cli import show_money
from tundish.cli.at_hand import description_of
from tundish.cli.view import View, with_view
from tundish.cli.writing import priced, record, settings_now, state_of, today
from tundish.documents.facts import cause_named
from tundish.documents.quote_facts import agreed_facts, quote_facts, quoted_body
from tundish.documents.worth_svg import worth_svg
from tundish.prices.agreeing import consent_to, payment_of, refusal_of, sum_of
from tundish.prices.errors import PriceError
from tundish.store.pricing import Wanted, offer

SVG = click.Path(dir_okay=False, writable=True, path_type=Path)


@click.command()
@click.argument("call")
@click.argument("faults", nargs=-1)
@click.option("--visit", is_flag=True, help="No repair: the visit only.")
@click.option("--free", default="", help="At nothing, and why: under warranty, out of goodwill.")
@click.option(
    "--bought", default=None, help="What you pay for the part; the trade's usual price if left out."
)
@click.option(
    "--give", "given", is_flag=True, help="It is put before the customer: recorded, in place of the last."
)
@click.option("--number", default="", help="Its number on paper; counted by call if left out.")
@click.option("--svg", type=SVG, default=None, help="Draw keep or replace over the price into this file.")
@with_view
def quote(
    call: str, faults: tuple[str, ...], *, given: bool, number: str, svg: Path | None, view: View, **wanted: Any
) -> None:  # fmt: skip
    """The price of a repair, line by line; the chance that it alone cures; what else may be chosen; keep or replace.

    Of the likeliest cause if none is named. Such as: quote CALL F01; quote CALL F01 S04 --give; quote CALL --visit --give.
    """
    state = state_of(call)
    asked_for = _wanted(state, faults, **wanted)
    here = priced(call, view)
    made = offer(here.asked, here.settings, asked_for, today=today())
    page = quote_facts(here.asked, made)
    if svg is not None:
        _draw(page, svg)
    # What is put before the customer is what is shown here, to the cent
    if given:
        id = number or _number(state)
        record(call, lambda now: [body_from("quoted", quoted_body(page, id))])
        page = {**page, "given": id, "agreed": agreed_facts(state_of(call), here.settings.zone)}
    view.put(page, show_money.quote)


def _wanted(
    state: CallState, faults: tuple[str, ...], *, visit: bool, free: str, bought: str | None
) -> Wanted:
    description = description_of(state)
    named = tuple(cause_named(description, fault) for fault in faults)
    cost = None if bought is None else sum_of(bought, settings_now(state).currency)
    return Wanted(named, visit, cost, free)


def _number(state: CallState) -> str:
    """Counted by call, withdrawn quotes too, so that no number stands on two papers."""
    return f"{state.call[:4]}-{1 + sum(event.kind == Quoted.KIND for event in state.events)}"


def _draw(page: dict[str, Any], svg: Path) -> None:
    if page["worth"] is None:
        raise PriceError(
            seen="keep or replace to be drawn",
            allowed="a call whose machine's age is known",
            do=page["worth_unknown"],
        )
    svg.write_text(worth_svg(page["worth"], page["currency"]), encoding="utf-8")


@click.command()
@click.argument("call")
@click.option("--name", default="", help="Who agreed.")
@click.option("--spoken", is_flag=True, help="Said, not written: before a witness, or recorded.")
@click.option("--refused", is_flag=True, help="The customer said no.")
@click.option("--owed", default=None, help="What is owed after a refusal; as the quote said if left out.")
@click.option("--because", "why", default="", help="Why it was refused.")
@with_view
def agree(
    call: str, *, name: str, spoken: bool, refused: bool, owed: str | None, why: str, view: View
) -> None:  # fmt: skip
    """The customer's word on the newest quote: agreed to in writing, or spoken, or refused. Without a name: how it stands."""
    if refused and (name or spoken):
        raise PriceError(
            seen=f"a consent and a refusal of call {call} in one",
            allowed="--name, or --refused",
            do="say which of the two it is",
        )
    if owed is not None and not refused:
        raise PriceError(seen=f"--owed {owed} without --refused", allowed="both", do="say --refused with it")
    if spoken and not name:
        raise PriceError(
            seen=f"a consent to call {call} without a name", allowed="who agreed", do="say it with --name"
        )
    # Nobody signs on a terminal: in writing means on the paper quote
    if refused:
        record(call, lambda state: [refusal_of(state, minor=_minor(owed, state), why=why)])
    elif name:
        how = "spoken" if spoken else "written"
        record(call, lambda state: [consent_to(state, settings_now(state), name=name, how=how)])
    _put_agreed(call, view)


def _minor(typed: str | None, state: CallState) -> int | None:
    return None if typed is None else sum_of(typed, settings_now(state).currency).minor


@click.command()
@click.argument("call")
@click.argument("amount")
@click.option("--means", required=True, help="Cash, card, transfer.")
@with_view
def pay(call: str, amount: str, *, means: str, view: View) -> None:
    """Write down money that came in: an AMOUNT such as 121.50, or all that is due."""
    record(
        call,
        lambda state: [payment_of(state, amount, currency=settings_now(state).currency, means=means)],
    )
    _put_agreed(call, view)


def _put_agreed(call: str, view: View) -> None:
    state = state_of(call)
    view.put(agreed_facts(state, settings_now(state).zone), show_money.agreed)


VERBS: tuple[click.Command, ...] = (quote, agree, pay)
