"""Routes of Make safe, of what was done, and of Prove."""

from __future__ import annotations

from typing import Any

from tundish.call.bodies import Body
from tundish.call.doing import Said, doing
from tundish.call.doings import CallEnded
from tundish.call.fold import CallState
from tundish.documents.doings import state_facts
from tundish.documents.facts import cause_named
from tundish.documents.proof import proof_facts
from tundish.store.counsel import Counsel, counsel
from tundish.store.proving import check_proven, proving
from tundish.web.asked import Asked, Given, Later, Row, Text, View, Word
from tundish.web.desk import description_of
from tundish.web.find import CALL, Expecting, advised

Facts = dict[str, Any]


class Standing(View, frozen=True):
    """Whether somebody qualified asks."""

    qualified: bool = False


class Done(Given, frozen=True):
    """What was done, in the words of `tundish do`."""

    action: Word
    proof: Text = ""
    why: Text = ""
    qualified: bool = False


def state(asked: Asked) -> Facts:
    """Where the machine stands, which steps are open from there, and why others are not."""
    found = asked.desk.state(asked.call)
    return state_facts(found, description_of(found), asked.desk.working(asked.query.qualified))


def do(asked: Asked) -> Facts:
    """Write down what was done: a safety step, a repair, a part, a hand over, the end."""
    form: Done = asked.form
    said = Said(form.proof, form.why, asked.desk.working(form.qualified))
    before = asked.desk.state(asked.call)

    def bodies(state: CallState) -> tuple[Body, ...]:
        return doing(description_of(state), state, form.action, said)

    # Proven is a matter of the odds, which the moves of a call do not know
    if any(isinstance(body, CallEnded) and body.as_ == "proven" for body in bodies(before)):
        desk = asked.desk
        check_proven(counsel(before, desk.config.cache, desk.question(desk.config.machines)))
    # Judged again on the call as it stands now: another phone may have been faster
    asked.desk.record(asked.call, bodies, asked.device)
    after = asked.desk.state(asked.call)
    return state_facts(after, description_of(after), said.who)


def prove(asked: Asked) -> Later:
    """Whether the repair is proven, or what is missing."""

    def page(asking: Counsel, units: str) -> Facts:
        # Before the repair: which causes are to be cured
        named = tuple(cause_named(asking.found.description, cause) for cause in asked.query.repaired)
        return proof_facts(asking, proving(asking, named), units)

    return advised(asked, page)


ROWS = (
    Row("GET", f"{CALL}/safe", "where the machine stands and which steps are open", state, query=Standing),
    Row("GET", f"{CALL}/state", "the same, by the name of the verb", state, query=Standing),
    Row("POST", f"{CALL}/do", "writes down what was done; a part ordered or taken stands in the stock too", do, form=Done),
    Row("GET", f"{CALL}/prove", "whether the repair is proven", prove, query=Expecting),
)
