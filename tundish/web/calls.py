"""Routes of calls: the list, a new one, and what was recorded of one."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Any

import msgspec

from tundish.appliance.records import Description
from tundish.call import codec
from tundish.call.bodies import CallOpened
from tundish.call.entry import complaint_in, market_named, one_of
from tundish.documents import facts
from tundish.web.asked import Asked, Given, Reply, Row, Text, Word
from tundish.web.errors import WebError
from tundish.web.known import family_list, load

Facts = dict[str, Any]


class Opening(Given, frozen=True):
    """A new call, as `tundish open` takes it."""

    family: Word
    complaint: Word
    market: Word | None = None
    age: Annotated[float, msgspec.Meta(ge=0, le=200)] | None = None
    told: Annotated[list[Word], msgspec.Meta(max_length=50)] = msgspec.field(default_factory=list)
    facts: Text = ""
    name: Word = ""


def listed(asked: Asked) -> list[Facts]:
    """The calls on this device."""
    with asked.desk.calls() as file:
        return facts.calls_facts(file.calls())


def open_call(asked: Asked) -> Reply:
    """Open a call."""
    form: Opening = asked.form
    description = load(form.family)
    market = market_named(description, form.market)
    body = CallOpened(
        description.family,
        market,
        complaint_in(description, market, form.complaint),
        form.age,
        told(description, form.told),
        form.facts,
        form.name,
    )
    # The name is judged in the same transaction, so two phones cannot both take it
    with asked.desk.calls() as file:
        event = file.open_call(body, asked.desk.source(asked.device))
    return Reply({"call": event.call, "event": event.id}, 201)


def one(asked: Asked) -> Facts:
    """One row of the list of calls."""
    with asked.desk.calls() as file:
        # The first letters are enough, as on the command line
        id = file.resolve(asked.call)
        return next(row for row in facts.calls_facts(file.calls()) if row["call"] == id)


def events(asked: Asked) -> Reply:
    """All events of a call as they lie in the file: what a second phone needs."""
    with asked.desk.calls() as file:
        lines = [codec.to_line(row) for row in file.rows(file.resolve(asked.call))]
    # The text itself: numbers that went through a float could lose digits
    return Reply(f'{{"events": [{",".join(lines)}]}}'.encode())


def known(asked: Asked) -> list[Facts]:
    """Families of machines with their markets, complaints and circumstances."""
    return family_list()


def told(description: Description, names: Iterable[str]) -> tuple[str, ...]:
    """Circumstances as the description writes them."""
    found = tuple(one_of(name, description.circumstances, "circumstance") for name in names)
    # A call takes each circumstance once; a list that names one twice is a slip
    if len(set(found)) < len(found):
        raise WebError(400, f"circumstances {', '.join(found)}", "each once", "leave the second out")
    return found


ROWS = (
    Row("GET", "/api/families", "families, markets, complaints, circumstances", known),
    Row("GET", "/api/calls", "the calls on this device", listed),
    Row("POST", "/api/calls", "opens a call", open_call, form=Opening),
    Row("GET", "/api/calls/{call}", "one call of the list", one),
    Row("GET", "/api/calls/{call}/events", "all events of a call", events),
)
