"""Routes that need no call: the handbook of a family, and the bench for what-if."""

from __future__ import annotations

from typing import Any, Literal

from tundish.call.entry import market_named
from tundish.diagnosis.regrow import Progress
from tundish.documents.facts import handbook_facts
from tundish.documents.handbook_sheet import HEALTHY_MACHINES, handbook_sheet
from tundish.documents.staircase import path, staircase_facts, with_steps
from tundish.documents.what_if import asked as wanted
from tundish.documents.what_if import pair, what_if_facts
from tundish.population.build import healthy, world
from tundish.store.shelf import SEED
from tundish.web.asked import Asked, Later, Reply, Row, View, Word
from tundish.web.find import NONE, Names
from tundish.web.job import today
from tundish.web.known import family_list, load
from tundish.web.papers import as_pdf

Facts = dict[str, Any]


class InMarket(View, frozen=True):
    """The market of a machine; the family's first if left out."""

    market: Word | None = None


class OnPaper(InMarket, frozen=True):
    """The sheet of paper. size : the shop's own if left out."""

    size: Literal["", "A4", "Letter"] = ""


class WhatIf(InMarket, frozen=True):
    """A machine with faults and values chosen, in the words of `tundish bench`."""

    fault: Names = NONE
    severity: Names = NONE
    set: Names = NONE
    setup: Word | None = None


def listed(asked: Asked) -> list[Facts]:
    """The families to choose from."""
    return family_list()


def handbook(asked: Asked) -> Later:
    """What every instrument should read on a healthy machine."""
    description = load(asked.path["family"])
    market = market_named(description, asked.query.market)
    units = asked.query.units or description.markets[market].units

    def make(progress: Progress) -> Facts:
        # The seed of the command line, so that both print the same figures
        readings = healthy(world(description, market), HEALTHY_MACHINES, SEED)
        return handbook_facts(description, market, readings, units)

    return Later((*asked.key, description.digest), make)


def bench(asked: Asked) -> Later:
    """Every check on a middle machine, healthy and as chosen, and where the potential falls."""
    query: WhatIf = asked.query
    description = with_steps(load(asked.path["family"]))
    market = market_named(description, query.market)
    what = wanted(description, query.fault, query.severity, query.set)
    units = query.units or description.markets[market].units

    def make(progress: Progress) -> Facts:
        machines = pair(description, market, what)
        page = what_if_facts(description, market, what, machines=machines, system=units)
        # Not every setup has something that falls from step to step
        way = path(description, machines.healthy, query.setup)
        page["staircase"] = staircase_facts(description, way, machines, units) if way else None
        return page

    return Later((*asked.key, description.digest), make)


def sheet(asked: Asked) -> Reply:
    """The same as a sheet of paper, for the van."""
    description, query = load(asked.path["family"]), asked.query
    market, day = market_named(description, query.market), today(asked)
    made = handbook_sheet(description, market, asked.desk.own(), day=day, size=query.size, units=query.units or "")
    return as_pdf(made.content)


ROWS = (
    Row("GET", "/api/handbook", "families to choose from", listed),
    Row("GET", "/api/handbook/{family}", "healthy readings of a family", handbook, query=InMarket),
    Row("GET", "/api/handbook/{family}/paper", "the same as PDF", sheet, query=OnPaper),
    Row("GET", "/api/bench", "families to choose from", listed),
    Row("GET", "/api/bench/{family}", "what if: a machine with faults or values chosen", bench, query=WhatIf),
)
