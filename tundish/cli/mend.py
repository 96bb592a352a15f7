"""`tundish fix`: the steps of a repair with their cautions, and what was done of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import click

from tundish.appliance.records import Description
from tundish.call.doing import Said, doing
from tundish.call.errors import MoveError
from tundish.call.fold import CallState, fold
from tundish.call.hazards import check_below
from tundish.cli import at_hand, show_work
from tundish.cli.view import View, with_view
from tundish.cli.writing import source
from tundish.documents.fix_facts import fault_named, fix_facts, numbered, step_bodies
from tundish.documents.quote_facts import agreed_facts
from tundish.store.events import EventFile, record_all
from tundish.store.mending import Fitted, fit, part_for
from tundish.store.stock import stock_of

ALL = "all"


@dataclass(frozen=True)
class _Done:
    """What was done of a repair. steps : their numbers, or all. part : pieces that went in. bought : not from the van."""

    steps: tuple[str, ...]
    heeded: bool
    part: int
    bought: bool
    repaired: bool
    said: Said


@click.command()
@click.argument("call")
@click.argument("faults", nargs=-1)
@click.option(
    "--step", "steps", multiple=True, help="A step that was made, by its number, or all; may be repeated."
)
@click.option("--heeded", is_flag=True, help="The cautions of these steps were heeded.")
@click.option(
    "--part",
    type=click.IntRange(0, 99),
    default=0,
    help="So many pieces of the part went in; the stock falls.",
)
@click.option("--bought", is_flag=True, help="The part came from elsewhere, not from the van.")
@click.option("--repaired", is_flag=True, help="The repair is made.")
@click.option("--because", "why", default="", help="A note on the repair.")
@click.option(
    "--qualified", is_flag=True, help="You are trained and authorised for live work under local rules."
)
@with_view
def fix(call: str, faults: tuple[str, ...], *, why: str, qualified: bool, view: View, **told: Any) -> None:
    """How a cause is mended: the way to a safe state, steps with their cautions, photos, the part; and record what was done.

    What was agreed to if no cause is named. Such as: fix CALL F01; fix CALL F01 --step 1 --step 2 --heeded; fix CALL
    F01 --step all --heeded --part 1 --repaired. All of one command is recorded, or nothing.
    """
    done = _Done(said=Said("", why, at_hand.who(qualified)), **told)
    with at_hand.calls() as file:
        id = file.resolve(call)
        state = fold(file.events_of(id))
        description = at_hand.description_of(state)
        named = tuple(fault_named(description, fault) for fault in faults)
        if done.steps or done.part or done.repaired:
            _record(file, id, description, fault=_only(named or _left(state)), done=done)
        after, levels = fold(file.events_of(id)), stock_of(file).levels
    chosen = named or tuple(agreed_facts(after)["covers"])
    if not chosen:
        raise MoveError(
            seen=f"no cause to mend in call {id}",
            allowed="a cause named, or one that was quoted",
            do="name it: tundish fix CALL CAUSE",
        )
    currency = _currency(after, description)
    units = view.units or description.markets[at_hand.market_of(after)].units
    page = fix_facts(after, description, chosen, levels, currency=currency, who=done.said.who)
    view.put({**page, "units": units}, show_work.fix)


def _left(state: CallState) -> list[str]:
    """The causes that were agreed to and are not repaired yet."""
    repaired = {fact.body.fault for fact in state.repairs}
    return [fault for fault in agreed_facts(state)["covers"] if fault not in repaired]


def _only(faults: Sequence[str]) -> str:
    if len(faults) != 1:
        raise MoveError(
            seen=f"work on {', '.join(faults) or 'no cause'}",
            allowed="what was done for one cause at a time",
            do="name the cause: tundish fix CALL CAUSE",
        )
    return faults[0]


def _record(file: EventFile, id: str, description: Description, *, fault: str, done: _Done) -> None:
    """Steps, then the part, then the repair: written together with the stock, or not at all."""
    record = description.faults[fault]
    with file.writing():
        state = fold(file.events_of(id))
        currency = _currency(state, description)
        part = part_for(description, record, currency)
        known = numbered(record, part=part is not None)
        numbers = list(known) if ALL in done.steps else [_number(step) for step in done.steps]
        made = step_bodies(record, numbers, state, part=part is not None, heeded=done.heeded)
        # Below a danger nothing is mended, whatever was agreed to
        for body in made:
            check_below(description, state, body)
        record_all(file, id, made, source())
        if done.part:
            # Consent and stock are both asked here, and either refusal undoes the steps above
            fitted = Fitted(fault, done.part, from_van=not done.bought)
            fit(file, id, description, fitted, currency=currency, source=source())
        if done.repaired:
            record_all(file, id, doing(description, fold(file.events_of(id)), fault, done.said), source())


def _number(step: str) -> int:
    if not step.isascii() or not step.isdecimal():
        raise MoveError(
            seen=f"step {step!r}", allowed=f"a number, or {ALL}", do="name steps by the numbers shown"
        )
    return int(step)


def _currency(state: CallState, description: Description) -> str:
    return description.markets[at_hand.market_of(state)].currency
