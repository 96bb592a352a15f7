"""The handbook sheet of a family as PDF: what every instrument should read on a healthy machine. It is no paper of a call."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from tundish.appliance.records import Description
from tundish.documents.facts import handbook_facts
from tundish.documents.paper import paper
from tundish.population.build import healthy, world
from tundish.prices.settings import Settings
from tundish.store.settings import Own, settings_of
from tundish.store.shelf import SEED

HANDBOOK = "handbook"
# As `tundish handbook` has, so that both say the same.
HEALTHY_MACHINES = 4_000


@dataclass(frozen=True)
class Sheet:
    """A sheet that was made. content : the PDF. told : what is told of it, with all that stands on it."""

    content: bytes
    told: dict[str, Any]


def handbook_sheet(
    description: Description, market: str, own: Own, *, day: date, size: str = "", units: str = ""
) -> Sheet:  # fmt: skip
    """The sheet of a family on a market. size : the shop's own if left out. units : the market's own if left out."""
    readings = healthy(world(description, market), HEALTHY_MACHINES, SEED)
    record = description.markets[market]
    facts = handbook_facts(description, market, readings, units or record.units)
    settings = settings_of(own, record.currency)
    facts |= {"date": day.isoformat(), **_head(settings)}
    sheet = size or settings.paper
    content = paper(HANDBOOK, facts, size=sheet, language=settings.language)
    told = {"call": "", "paper": HANDBOOK, "number": "", "date": facts["date"], "size": sheet}
    return Sheet(content, {**told, "bytes": len(content), "facts": facts})


def _head(settings: Settings) -> dict[str, Any]:
    # A sheet for the van needs no shop; a letter does
    return {"shop": {"name": settings.name, "lines": list(settings.letterhead)}} if settings.name else {}
