"""The verbs of planning: what comes next, what was done, where the machine stands, whether the fix is proven."""

from __future__ import annotations

from pathlib import Path

import click

from tundish.call.doing import Said, doing
from tundish.call.doings import CallEnded
from tundish.call.fold import fold
from tundish.cli import at_hand, show_plan
from tundish.cli.view import View, with_view
from tundish.cli.waiting import waiting
from tundish.documents.advice import advice_facts, plan_facts
from tundish.documents.doings import state_facts
from tundish.documents.facts import cause_named
from tundish.documents.proof import proof_facts
from tundish.documents.tree_svg import tree_svg
from tundish.store.clock import device_name, system
from tundish.store.counsel import Asked, Counsel, counsel
from tundish.store.folders import cache_folder, data_folder
from tundish.store.mending import record_done
from tundish.store.proving import check_proven, proving

with_qualified = click.option(
    "--qualified", is_flag=True, help="You are trained and authorised for live work under local rules."
)


with_exact = click.option("--exact", is_flag=True, help="Ask the exact planner; it refuses large problems.")
with_phone = click.option("--phone", is_flag=True, help="The visit has not begun: questions come first.")


@click.command("next")
@click.argument("call")
@with_exact
@with_phone
@with_qualified
@with_view
def next_(call: str, *, exact: bool, phone: bool, qualified: bool, view: View) -> None:
    """The one action to do now: why, what it costs, what each outcome leads to; then the others, and what is barred."""
    asked = Asked(qualified, exact, phone, view.machines, at_hand.own(), stock=at_hand.levels())
    view.put(advice_facts(_counsel(call, asked)), show_plan.advice)


@click.command()
@click.argument("call")
@click.option("--depth", type=click.IntRange(1, 8), default=3, show_default=True, help="Actions in a row.")
@click.option("--svg", type=click.Path(dir_okay=False, path_type=Path), help="Draw the tree into this file.")
@with_exact
@with_phone
@with_qualified
@with_view
def plan(
    call: str, depth: int, svg: Path | None, *, exact: bool, phone: bool, qualified: bool, view: View
) -> None:
    """The plan as a tree, cut to what matters."""
    asked = Asked(qualified, exact, phone, view.machines, at_hand.own(), stock=at_hand.levels())
    page = plan_facts(_counsel(call, asked), depth)
    if svg is not None and page["tree"] is not None:
        svg.write_text(tree_svg(page), encoding="utf-8")
    view.put(page, show_plan.plan)


@click.command()
@click.argument("call")
@click.argument("action", nargs=-1, required=True)
@click.option("--proof", default="", help="What you saw that proves the step.")
@click.option("--because", "why", default="", help="Why, in a few words.")
@with_qualified
@with_view
def do(call: str, action: tuple[str, ...], *, proof: str, why: str, qualified: bool, view: View) -> None:
    """Record what was done: a safety step, a repair, a part, a hand over, the end.

    Such as: do CALL pull the plug; do CALL open TOP; do CALL S04; do CALL order F01; do CALL take F01; do CALL found
    power on; do CALL hazard --because "smell of gas"; do CALL hand over to a plumber --because "pressure"; do CALL
    end proven; do CALL undo.
    """
    said = Said(proof, why, at_hand.who(qualified))
    with at_hand.calls() as calls:
        id = calls.resolve(call)
        state = fold(calls.events_of(id))
        description = at_hand.description_of(state)
        bodies = doing(description, state, " ".join(action), said)
        # Proven is a matter of the odds, which the moves of a call do not know
        if any(isinstance(body, CallEnded) and body.as_ == "proven" for body in bodies):
            check_proven(
                counsel(
                    state, cache_folder(), Asked(size=view.machines, own=at_hand.own()), tell=at_hand.tell
                )
            )
        currency = description.markets[at_hand.market_of(state)].currency
        source = system(device_name(data_folder()))
        record_done(calls, id, description, bodies, currency=currency, source=source)
        after = fold(calls.events_of(id))
    view.put(state_facts(after, description, said.who), show_plan.state)


@click.command()
@click.argument("call")
@with_qualified
@with_view
def state(call: str, qualified: bool, view: View) -> None:
    """Where the machine stands, and which steps are open from there."""
    with at_hand.calls() as calls:
        found = fold(calls.events_of(calls.resolve(call)))
    view.put(state_facts(found, at_hand.description_of(found), at_hand.who(qualified)), show_plan.state)


@click.command()
@click.argument("call")
@click.option(
    "--repaired", multiple=True, help="Before the repair: the cause to be cured; the likeliest if left out."
)
@with_view
def prove(call: str, repaired: tuple[str, ...], view: View) -> None:
    """Whether the repair is proven, or what is missing: the checks as used, with their readings before and after."""
    asked = _counsel(call, Asked(size=view.machines, own=at_hand.own()))
    named = tuple(cause_named(asked.found.description, cause) for cause in repaired)
    found = proving(asked, named)
    view.put(proof_facts(asked, found, view.units_for(asked.found)), show_plan.proof)


def _counsel(call: str, asked: Asked) -> Counsel:
    with at_hand.calls() as calls, waiting("Simulating machines") as progress:
        found = fold(calls.events_of(calls.resolve(call)))
        return counsel(found, cache_folder(), asked, progress=progress, tell=at_hand.tell)


VERBS: tuple[click.Command, ...] = (next_, plan, do, prove, state)
