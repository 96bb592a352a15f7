"""Routes of Find: odds, the next action, why, what to expect, the staircase; and what is read, told and taken back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any

import msgspec

from tundish.appliance.possible import checks_of
from tundish.call.answering import denied
from tundish.call.bodies import Body, CircumstanceAdded, Corrected, ReadingTaken
from tundish.call.entry import check_in, one_of, reading_of
from tundish.call.fold import CallState
from tundish.call.hazards import safety_of
from tundish.call.lawful import before_reading
from tundish.diagnosis.regrow import Progress
from tundish.documents import facts
from tundish.documents.advice import advice_facts, plan_facts
from tundish.documents.doings import state_facts
from tundish.documents.staircase_bands import bands_facts
from tundish.store.counsel import Counsel, counsel
from tundish.store.desk import Diagnosis
from tundish.store.pocketing import packed_call
from tundish.store.since import diagnose_now, now_of
from tundish.web.asked import Asked, Given, Later, Reply, Row, Text, View, Word
from tundish.web.desk import description_of, opened
from tundish.web.errors import WebError

Facts = dict[str, Any]
Names = Annotated[list[Word], msgspec.Meta(max_length=60)]
NONE: Any = msgspec.field(default_factory=list)


class Advised(View, frozen=True):
    """How advice is asked, as `tundish next` takes it."""

    exact: bool = False
    phone: bool = False
    qualified: bool = False
    depth: Annotated[int, msgspec.Meta(ge=1, le=8)] = 3


class Packed(View, frozen=True):
    """For whom a call is packed. repaired : causes about to be repaired; the machine is packed as that would leave it."""

    qualified: bool = False
    repaired: Names = NONE


class Expecting(View, frozen=True):
    """Which checks are asked about, and causes taken as cured."""

    check: Names = NONE
    repaired: Names = NONE


class Stairs(View, frozen=True):
    """The setup of a staircase."""

    setup: Word | None = None


class Read(Given, frozen=True):
    """What a check showed, as it is typed."""

    check: Word
    typed: Word
    note: Text = ""


class Told(Given, frozen=True):
    """A circumstance that the customer told, or denied."""

    circumstance: Word
    denied: bool = False


class Withdrawn(Given, frozen=True):
    """The last reading of a check is taken back."""

    check: Word
    why: Text = ""


def found(asked: Asked, show: Callable[[Diagnosis, str], Any]) -> Later:
    """An answer from the odds of a call. show : gives the facts, in the units named."""
    state, machines, units = asked.desk.state(asked.call), asked.machines, asked.query.units
    opened(state)

    # Nothing of the request is used in there but the call as it stood: the answer is kept by it
    def make(progress: Progress) -> Any:
        diagnosis = diagnose_now(
            state, asked.desk.config.cache, size=machines, progress=progress, learned=asked.desk.config.learned
        )
        return show(diagnosis, units or diagnosis.description.markets[diagnosis.matter.market].units)

    return Later(_key(asked), make)


def advised(asked: Asked, show: Callable[[Counsel, str], Any]) -> Later:
    """An answer from the planner about a call."""
    state, query = asked.desk.state(asked.call), asked.query
    opened(state)
    said = {name: getattr(query, name, False) for name in ("qualified", "exact", "phone")}
    question = asked.desk.question(asked.machines, **said)

    def make(progress: Progress) -> Any:
        asking = counsel(state, asked.desk.config.cache, question, progress=progress)
        market = asking.found.description.markets[asking.found.matter.market]
        return show(asking, query.units or market.units)

    return Later(_key(asked), make)


def odds(asked: Asked) -> Later:
    """Odds of every cause."""
    call = asked.desk.state(asked.call).call
    return found(asked, lambda diagnosis, units: {"call": call, **facts.odds_facts(diagnosis, units)})


def next_action(asked: Asked) -> Later:
    """The next action, the others, and what is barred."""
    return advised(asked, lambda asking, units: advice_facts(asking))


def plan(asked: Asked) -> Later:
    """The plan as a tree."""
    return advised(asked, lambda asking, units: plan_facts(asking, asked.query.depth))


def find(asked: Asked) -> Later:
    """All that the page Find shows: state, odds and next action, from one weighing."""
    working = asked.desk.working(asked.query.qualified)

    def page(asking: Counsel, units: str) -> Facts:
        return {
            "state": state_facts(asking.state, asking.found.description, working),
            "odds": {"call": asking.state.call, **facts.odds_facts(now_of(asking), units)},
            "next": advice_facts(asking),
        }

    return advised(asked, page)


def why(asked: Asked) -> Later:
    """What each reading did to one cause."""
    cause = facts.cause_named(description_of(asked.desk.state(asked.call)), asked.path["cause"])
    return found(asked, lambda diagnosis, units: facts.why_facts(diagnosis, cause, units))


def expect(asked: Asked) -> Later:
    """What checks should read: healthy, now, after a repair."""
    state = asked.desk.state(asked.call)
    description, market, query = description_of(state), opened(state).market, asked.query
    checks = [check_in(description, market, name).id for name in query.check]
    cured = [facts.cause_named(description, cause) for cause in query.repaired]
    # All that make sense on this market's machines
    every = checks or list(checks_of(description, market))
    return found(asked, lambda diagnosis, units: facts.expect_facts(diagnosis, every, units, cured))


def stairs(asked: Asked) -> Later:
    """The staircase of this machine, as bands with the readings in them."""
    return found(asked, lambda diagnosis, units: bands_facts(diagnosis, asked.query.setup, units))


def pack(asked: Asked) -> Later:
    """The call packed for the phone: bytes, see docs/pocket.md."""
    state, query = asked.desk.state(asked.call), asked.query
    opened(state)
    question = asked.desk.question(asked.machines, qualified=query.qualified)
    planned = [facts.cause_named(description_of(state), cause) for cause in query.repaired]

    def make(progress: Progress) -> Reply:
        content = packed_call(state, asked.desk.config.cache, question, planned=planned, progress=progress)
        return Reply(content, media_type="application/octet-stream")

    return Later(_key(asked), make)


def reading(asked: Asked) -> Facts:
    """Write down what a check showed."""
    form: Read = asked.form

    def taken(state: CallState) -> list[Body]:
        description = description_of(state)
        check = check_in(description, opened(state).market, form.check)
        read = reading_of(check, form.typed)
        body = ReadingTaken(read.check, read.value, read.answer, read.bound, form.typed, form.note)
        return [*before_reading(description, check, safety_of(description, state), answer=read.answer), body]

    return _recorded(asked, taken)


def told(asked: Asked) -> Facts:
    """Write down a circumstance."""

    def bodies(state: CallState) -> list[Body]:
        description = description_of(state)
        name = one_of(asked.form.circumstance, description.circumstances, "circumstance")
        # A no is an answer too: the circumstance is not asked again
        return [*denied(description, state, name)] if asked.form.denied else [CircumstanceAdded(name)]

    return _recorded(asked, bodies)


def withdraw(asked: Asked) -> Facts:
    """Take the last reading of a check back."""

    def bodies(state: CallState) -> list[Body]:
        taken = [fact.event for fact in state.readings if fact.body.check == asked.form.check]
        if not taken:
            read = ", ".join(dict.fromkeys(fact.body.check for fact in state.readings)) or "none was read yet"
            raise WebError(409, f"check {asked.form.check!r}", read, "name one of these")
        return [Corrected(taken[-1], None, asked.form.why)]

    return _recorded(asked, bodies)


def _recorded(asked: Asked, bodies: Callable[[CallState], list[Body]]) -> Facts:
    # The event is on the disk before any odds are computed: an answer that gets lost loses nothing
    events = asked.desk.record(asked.call, bodies, asked.device)
    return {"call": events[0].call, "events": [event.id for event in events]}


def _key(asked: Asked) -> tuple[Any, ...]:
    return *asked.key, asked.machines, *asked.desk.mark(asked.call)


CALL = "/api/calls/{call}"
ROWS = (
    Row("GET", f"{CALL}/find", "state, odds and next action", find, query=Advised),
    Row("GET", f"{CALL}/odds", "odds of every cause", odds),
    Row("GET", f"{CALL}/next", "the next action, the others, what is barred", next_action, query=Advised),
    Row("GET", f"{CALL}/plan", "the plan as a tree", plan, query=Advised),
    Row("GET", f"{CALL}/why/{{cause}}", "what each reading did to a cause", why),
    Row("GET", f"{CALL}/expect", "what checks should read", expect, query=Expecting),
    Row("GET", f"{CALL}/stairs", "the staircase with bands and readings", stairs, query=Stairs),
    Row("GET", f"{CALL}/pack", "the call packed for the phone, bytes", pack, query=Packed),
    Row("POST", f"{CALL}/reading", "writes down a reading", reading, form=Read),
    Row("POST", f"{CALL}/told", "writes down a circumstance", told, form=Told),
    Row("POST", f"{CALL}/withdraw", "takes a reading back", withdraw, form=Withdrawn),
)
