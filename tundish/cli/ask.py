"""`tundish ask`, `book` and `machine`: the call on the phone, its visit, and the machine's plate."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import click

from tundish.appliance.refusals import listed
from tundish.ask.record import record_answer
from tundish.call.asking import TENURES, CustomerNamed, MachineSeen
from tundish.call.bodies import Body, CallOpened, Corrected, NoteAdded
from tundish.call.closing import FollowUpSet
from tundish.call.entry import EntryError, market_named
from tundish.call.fold import CallState
from tundish.cli import show_ask
from tundish.cli.at_hand import description_of
from tundish.cli.view import View, with_view
from tundish.cli.writing import priced, record, state_of
from tundish.documents.ask_facts import VISIT, ask_facts, booked_facts, first_facts, meant_facts
from tundish.store.heard import meant
from tundish.store.library import families, load
from tundish.store.phone import phone


@click.command()
@click.argument("call", required=False)
@click.argument("question", required=False)
@click.argument("answer", nargs=-1)
@click.option(
    "--seconds", type=click.FloatRange(0), default=0.0, help="Phone time the answer took, in seconds."
)
@click.option(
    "--said", default="", help="What the customer said in his own words; words of danger end all advice."
)
@click.option("--unsaid", is_flag=True, help="Take back what was said last: it was heard wrongly.")
@click.option("--family", default=None, help="Before the call is opened: what to ask first about a family.")
@click.option("--market", default=None, help="Market of the machine, with --family.")
@with_view
def ask(
    call: str | None, question: str | None, answer: tuple[str, ...], *, family: str | None, market: str | None,
    view: View, **heard: Any,
) -> None:  # fmt: skip
    """What to ask next, what it may cost and take, what may be said by phone, what is missing; or record an answer.

    Such as: ask --family dryer; ask --family dryer --said "the clothes stay wet"; ask CALL; ask CALL Q5 some warm;
    ask CALL --said "it tingles when I touch it".
    """
    # Only the class of the complaint says what could be simulated, so before it nothing is
    if family is not None:
        description = load(family)
        chosen = market_named(description, market)
        pairs = meant(description, chosen, heard["said"]) if heard["said"] else []
        view.put({**first_facts(description, chosen), **meant_facts(description, heard["said"], pairs)}, show_ask.first)
        return
    if call is None:
        raise EntryError(
            f"ask: saw no call; allowed: a call, or --family with {listed(families())}; open it, or name the family"
        )
    if question or heard["said"] or heard["unsaid"]:
        # On the disk before anything is computed, so an interrupted simulation loses nothing
        record(call, lambda state: _told(state, question, " ".join(answer), **heard))
    here = priced(call, view)
    view.put(ask_facts(here.asked, phone(here.asked, here.settings)), show_ask.ask)


def _told(
    state: CallState, question: str | None, answer: str, *, seconds: float, said: str, unsaid: bool
) -> list[Body]:
    bodies: list[Body] = [_unsaid(state)] if unsaid else []
    bodies += [NoteAdded(said)] if said else []
    if question:
        bodies += record_answer(description_of(state), state, question, answer, seconds=seconds)
    return bodies


def _unsaid(state: CallState) -> Corrected:
    # What he said before the call was opened stands in the opening itself
    if not state.notes and state.opened is not None and state.opened.body.facts:
        return Corrected(state.opened.event, replace(state.opened.body, facts=""), "heard wrongly")
    if not state.notes:
        raise EntryError(
            f"ask: saw --unsaid in call {state.call}; allowed: it takes back what was said last, and nothing that was said "
            "is there; leave it out"
        )
    return Corrected(state.notes[-1].event, None, "heard wrongly")


@click.command()
@click.argument("call")
@click.argument("day", required=False)
@click.option("--name", default=None, help="Who asked for help.")
@click.option("--phone", default=None, help="Telephone number.")
@click.option("--mail", default=None, help="Mail address.")
@click.option("--address", default=None, help="Where the machine is.")
@click.option("--access", default=None, help="Stairs, parking, dog, keys.")
@click.option("--may-consent", default=None, help="Who may say yes to a price.")
@click.option(
    "--tenure", type=click.Choice([t for t in TENURES if t]), default=None, help="What he is to the place."
)
@with_view
def book(call: str, day: str | None, *, view: View, **told: str | None) -> None:
    """Write down the customer, and the DAY of the visit such as 2026-11-30; what is not named stays as it was."""
    record(call, lambda state: _booked(state, day, {k: v for k, v in told.items() if v is not None}))
    view.put(booked_facts(state_of(call)), show_ask.booked)


def _booked(state: CallState, day: str | None, told: dict[str, Any]) -> list[Body]:
    bodies: list[Body] = []
    if told:
        known = state.job.customer
        if known is None and "name" not in told:
            raise EntryError(
                f"book: saw {listed(told)} without a name; allowed: the name with the rest; say it with --name"
            )
        # The last one counts as a whole, so what was told before goes into it again
        bodies.append(replace(known.body, **told) if known else CustomerNamed(**told))
    if day:
        bodies.append(FollowUpSet(day, VISIT))
    return bodies


@click.command()
@click.argument("call")
@click.option("--model", default=None, help="As the plate reads: your own note.")
@click.option("--serial", default=None, help="As the plate reads.")
@click.option("--age", type=click.FloatRange(0, 200), default=None, help="Age in years.")
@with_view
def machine(call: str, *, model: str | None, serial: str | None, age: float | None, view: View) -> None:
    """Write down what the machine's plate says, and its age."""
    record(call, lambda state: _seen(state, model, serial, age))
    view.put(booked_facts(state_of(call)), show_ask.booked)


def _seen(state: CallState, model: str | None, serial: str | None, age: float | None) -> list[Body]:
    bodies: list[Body] = []
    if model is not None or serial is not None:
        known = state.job.machine.body if state.job.machine else None
        before = (known.model, known.serial) if known else ("", "")
        bodies.append(
            MachineSeen(
                *(new if new is not None else old for new, old in zip((model, serial), before, strict=True))
            )
        )
    if age is not None and state.opened is not None and state.opened.body.age != age:
        bodies.append(_aged(state.opened.event, state.opened.body, age))
    return bodies


def _aged(event: str, opening: CallOpened, age: float) -> Corrected:
    # The age changes the odds of wear, so the opening itself is put right
    return Corrected(event, replace(opening, age=age), "age told later")


VERBS: tuple[click.Command, ...] = (ask, book, machine)
