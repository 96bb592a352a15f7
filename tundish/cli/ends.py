"""`tundish close` and `callback`: the end of a call, and the call that came back."""

from __future__ import annotations

import click

from tundish.call.bodies import Body
from tundish.call.closing import CallbackOf, FollowUpSet
from tundish.call.doing import Said, doing
from tundish.call.doings import ENDINGS
from tundish.call.errors import EventError, MoveError
from tundish.call.fold import CallState
from tundish.cli import at_hand, show_work
from tundish.cli.at_hand import description_of
from tundish.cli.view import View, with_view
from tundish.cli.writing import counsel_of, priced, record, settings_now, state_of, today
from tundish.documents.callback_facts import callback_facts, check_callback
from tundish.documents.close_facts import close_facts
from tundish.store.proving import check_proven, proving


@click.command()
@click.argument("call")
@click.option("--as", "ending", default=None, help=f"End it: {', '.join(ENDINGS)}.")
@click.option("--because", "why", default="", help="Why it ends so, or why somebody looks again.")
@click.option(
    "--follow-up",
    "again",
    default="",
    help="The day somebody looks again, such as 2026-12-11; needs --because.",
)
@with_view
def close(call: str, *, ending: str | None, why: str, again: str, view: View) -> None:
    """How the call may end, the proof, what is owed, the warranty, what follows; or end it, or set the follow-up.

    Such as: close CALL; close CALL --as proven; close CALL --follow-up 2026-12-11 --because "ask for the fill time".
    """
    if again and not why:
        raise EventError(
            seen=f"a follow-up on {again} without a reason",
            allowed="a day and why",
            do="say why with --because",
        )
    state = state_of(call)
    if ending is not None:
        # Proven is a matter of the odds, which the moves of a call do not know
        bodies = _end(state, ending, why)
        if any(getattr(body, "as_", "") == "proven" for body in bodies):
            check_proven(counsel_of(state, view))
    if ending is not None or again:
        record(
            call,
            lambda now: [
                *(_end(now, ending, why) if ending else ()),
                *([FollowUpSet(again, why)] if again else ()),
            ],
        )
    here = priced(call, view)
    # Nothing to prove where nothing was repaired
    verdict = proving(here.asked) if here.asked.state.repairs else None
    view.put(
        close_facts(here.asked, verdict, here.settings, system=here.units, today=today()), show_work.close
    )


def _end(state: CallState, ending: str, why: str) -> tuple[Body, ...]:
    return doing(description_of(state), state, f"end {ending}", Said("", why, at_hand.who(False)))


@click.command()
@click.argument("call")
@click.argument("earlier", required=False)
@click.option("--because", "why", default="", help="Why it is held to come back from that call.")
@with_view
def callback(call: str, earlier: str | None, *, why: str, view: View) -> None:
    """Link a call to the EARLIER one it came back from, and set the two side by side: what was predicted, what was proven."""
    if earlier is not None:
        before = state_of(earlier)
        check_callback(state_of(call), before)
        record(call, lambda state: [CallbackOf(before.call, why)])
    now = state_of(call)
    if now.job.callback is None:
        raise MoveError(
            seen=f"call {call} as a callback of no call",
            allowed="a call linked to an earlier one",
            do="name the earlier call: tundish callback CALL EARLIER",
        )
    # The odds of the earlier call as they were then, from its own readings
    asked = counsel_of(state_of(now.job.callback.body.earlier), view)
    verdict = proving(asked) if asked.state.repairs else None
    page = callback_facts(
        now, asked, verdict, settings_now(asked.state), system=view.units_for(asked.found), today=today()
    )
    view.put(page, show_work.callback)


VERBS: tuple[click.Command, ...] = (close, callback)
