"""Routes of the job around the finding: Ask, Agree, Fix, Close, the van; and one way to record any event of a call."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from dataclasses import replace
from datetime import date
from typing import Annotated, Any

import msgspec

from tundish.appliance.records import Description
from tundish.call.bodies import Body, RepairDone
from tundish.call.codec import body_from
from tundish.call.doings import CallEnded
from tundish.call.fold import CallState, fold
from tundish.call.hazards import check_below, safety_of
from tundish.call.lawful import check_repair
from tundish.diagnosis.regrow import Progress
from tundish.documents.ask_facts import ask_facts
from tundish.documents.close_facts import close_facts
from tundish.documents.facts import cause_named
from tundish.documents.fix_facts import fix_facts
from tundish.documents.quote_facts import agreed_facts, quote_facts
from tundish.documents.van_facts import van_facts
from tundish.prices.settings import Settings
from tundish.store.clock import today_in
from tundish.store.counsel import Counsel, counsel
from tundish.store.loading import load_for, named
from tundish.store.mending import Fitted, fit
from tundish.store.phone import phone
from tundish.store.pricing import Wanted, offer, settings_for
from tundish.store.proving import check_proven, proving
from tundish.store.settings import settings_of
from tundish.store.stock import stock_of
from tundish.web.asked import Asked, Given, Later, Reply, Row, View, Word
from tundish.web.desk import description_of, opened
from tundish.web.errors import WebError
from tundish.web.find import CALL, NONE, Names, advised
from tundish.web.safe import Standing

Facts = dict[str, Any]
Show = Callable[[Counsel, Settings, str], Facts]


class Quoting(View, frozen=True):
    """What a quote is asked for. visit : no repair. free : why at nothing."""

    fault: Names = NONE
    visit: bool = False
    free: Word = ""


class Mending(Standing, frozen=True):
    """The causes to be mended; those agreed to if none is named."""

    fault: Names = NONE


class Day(View, frozen=True):
    """The day of the load, such as 2026-11-26; tomorrow if left out. call : instead of those booked for the day."""

    day: Word = ""
    call: Names = NONE


class Recorded(Given, frozen=True):
    """An event of a kind that docs/call.md lists, and its fields."""

    kind: Word
    body: dict[str, Any]


class Part(Given, frozen=True):
    """A part that goes in. from_van : the stock falls."""

    fault: Word
    count: Annotated[int, msgspec.Meta(ge=1, le=99)] = 1
    from_van: bool = True


def today(asked: Asked) -> date:
    """The shop's day, by its own time zone."""
    return today_in(int(asked.desk.config.now() * 1000), settings_of(asked.desk.own()).zone)


def priced(asked: Asked, show: Show) -> Later:
    """An answer from the planner and the shop's prices."""
    own = asked.desk.own()

    def page(asking: Counsel, units: str) -> Facts:
        matter = asking.found.matter
        return show(asking, settings_for(own, asking.found.description, matter.market), units)

    made = advised(asked, page)
    # What is owed and covered may change at midnight
    return Later((made.key, today(asked)), made.make)


def ask(asked: Asked) -> Later:
    """What to ask and say by phone, the price bracket, what is missing."""
    return priced(asked, lambda asking, settings, units: ask_facts(asking, phone(asking, settings)))


def agree(asked: Asked) -> Later:
    """The quote: lines, chance, options, keep or replace, and how it stands with consent."""
    known = description_of(asked.desk.state(asked.call))
    faults = tuple(cause_named(known, fault) for fault in asked.query.fault)
    wanted, day = Wanted(faults, asked.query.visit, None, asked.query.free), today(asked)
    return priced(
        asked,
        lambda asking, settings, units: quote_facts(asking, offer(asking, settings, wanted, today=day)),
    )


def fix(asked: Asked) -> Facts:
    """The steps of the repair with their cautions, the part to take, photos to make."""
    state = asked.desk.state(asked.call)
    description, market = description_of(state), opened(state).market
    faults = [_fault(description, name) for name in asked.query.fault] or agreed_facts(state)["covers"]
    with asked.desk.calls() as file:
        levels = stock_of(file).levels
    working, currency = asked.desk.working(asked.query.qualified), description.markets[market].currency
    return fix_facts(state, description, faults, levels, currency=currency, who=working)


def fitted(asked: Asked) -> Facts:
    """Record that a part went in; the stock falls with it, or nothing is written."""
    # The stock falls with the event, or neither is written
    with asked.desk.calls() as file, file.writing():
        id = file.resolve(asked.call)
        state = fold(file.events_of(id))
        description = description_of(state)
        part = Fitted(_fault(description, asked.form.fault), asked.form.count, asked.form.from_van)
        currency = description.markets[opened(state).market].currency
        source = asked.desk.source(asked.device)
        events = fit(file, id, description, part, currency=currency, source=source)
    return {"call": id, "events": [event.id for event in events]}


def close(asked: Asked) -> Later:
    """How the call may end, what is owed, the warranty, what follows."""
    day = today(asked)

    def page(asking: Counsel, settings: Settings, units: str) -> Facts:
        # Nothing to prove where nothing was repaired
        verdict = proving(asking) if asking.state.repairs else None
        return close_facts(asking, verdict, settings, system=units, today=day)

    return priced(asked, page)


def van(asked: Asked) -> Later:
    """The load of a day: what to take, what each part saves, what to order."""
    desk, day = asked.desk, _day(asked)
    # All that the load rests on is read at one moment, before the work begins
    with desk.calls() as file:
        ids = named(file, asked.query.call, day)
        states, stock = [fold(file.events_of(id)) for id in ids], stock_of(file)
        marks = tuple(desk.mark(id) for id in ids)
    own = desk.own()

    def make(progress: Progress) -> Facts:
        # What is to be carried is decided without regard to what happens to lie on the van
        question = replace(desk.question(asked.machines, phone=True), stock={})
        asking = [counsel(state, desk.config.cache, question, progress=progress) for state in states]
        first = asking[0].found
        settings = settings_for(own, first.description, first.matter.market)
        with desk.calls() as file:
            found = load_for(asking, file, settings, stock.levels)
        return van_facts(asking, found, stock.levels, day=day.isoformat())

    return Later((*asked.key, asked.machines, day, marks, str(stock)), make)


def record(asked: Asked) -> Reply:
    """Record one event, judged as a move of the call as it stands."""
    body, desk = body_from(asked.form.kind, asked.form.body), asked.desk

    def judged(state: CallState) -> list[Body]:
        # Without its opening a call has no family that could be asked; the table of moves refuses it
        if state.opened is not None:
            _lawful(description_of(state), state, body)
        return [body]

    # Before the odds are asked: a danger that stands is told first, and at once
    before = judged(desk.state(asked.call))
    if any(isinstance(one, CallEnded) and one.as_ == "proven" for one in before):
        check_proven(counsel(desk.state(asked.call), desk.config.cache, desk.question(desk.config.machines)))
    (event,) = desk.record(asked.call, judged, asked.device)
    return Reply({"call": event.call, "event": event.id}, 201)


def _lawful(description: Description, state: CallState, body: Body) -> None:
    """MoveError for what the verbs would refuse beyond the table of moves: the danger that stands, the state of the machine."""
    check_below(description, state, body)
    if isinstance(body, RepairDone):
        fault = description.faults[_fault(description, body.fault)]
        check_repair(description, fault, safety_of(description, state))


def _fault(description: Any, name: str) -> str:
    found = cause_named(description, name)
    # Nothing wrong, or something not described, is no repair
    if found not in description.faults:
        raise WebError(400, f"cause {name!r}", "a cause that can be mended", "name one")
    return found


def _day(asked: Asked) -> date:
    with suppress(ValueError):
        if not asked.query.day:
            return date.fromordinal(today(asked).toordinal() + 1)
        return date.fromisoformat(asked.query.day)
    raise WebError(400, f"day {asked.query.day!r}", "a day as 2026-11-26", "write it so")


ROWS = (
    Row("GET", f"{CALL}/ask", "what to ask and say by phone", ask),
    Row("GET", f"{CALL}/agree", "the quote, and how consent stands", agree, query=Quoting),
    Row("GET", f"{CALL}/fix", "the steps of the repair", fix, query=Mending),
    Row("POST", f"{CALL}/fit", "records a part that went in", fitted, form=Part),
    Row("GET", f"{CALL}/close", "how the call may end, and what is owed", close),
    Row("POST", f"{CALL}/record", "records one event, judged as a move", record, form=Recorded),
    Row("GET", "/api/van", "the load of a day", van, query=Day),
)
