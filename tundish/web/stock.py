"""Routes of the parts on the van."""

from __future__ import annotations

from typing import Annotated, Any, Literal

import msgspec

from tundish.appliance.refusals import listed
from tundish.store.events import EventFile
from tundish.store.library import families
from tundish.store.stock import MOST, record_moves, stock_of
from tundish.store.stock_table import stock_facts
from tundish.van.part import PartKey, key_of, shared
from tundish.van.stock import Movement
from tundish.web.asked import Asked, Given, Row, Word
from tundish.web.errors import WebError
from tundish.web.known import load

Facts = dict[str, Any]
Kind = Literal["receive", "take", "count", "order", "arrive", "cancel", "send back", "minimum"]


class Moved(Given, frozen=True):
    """A part that came, went, was counted or ordered. new : it is in no description and not yet in the stock."""

    kind: Kind
    part: Word
    count: Annotated[int, msgspec.Meta(ge=0, le=MOST)] = 1
    call: Word = ""
    new: bool = False


def shown(asked: Asked) -> Facts:
    """What is on the van and on order."""
    with asked.desk.calls() as file:
        return stock_facts(stock_of(file))


def moved(asked: Asked) -> Facts:
    """Write one line into the ledger of parts."""
    form: Moved = asked.form
    # The answer is the stock as this line left it, whatever came after
    with asked.desk.calls() as file, file.writing():
        call = file.resolve(form.call) if form.call else ""
        move = Movement(form.kind, _named(file, form.part, new=form.new), form.count, call)
        record_moves(file, [move], asked.desk.source(asked.device))
        return stock_facts(stock_of(file))


def _named(file: EventFile, text: str, *, new: bool) -> PartKey:
    """The part meant. WebError for one that nobody knows, so that a slip does not open a second heap of the same part."""
    wanted, held = key_of(text.strip()), set(stock_of(file).levels)
    # Reading all descriptions takes long the first time, so it is tried last
    if new or wanted in held or wanted in (every := described()):
        return wanted
    near = sorted(str(part) for part in held | every if wanted.name.lower() in part.name.lower())
    raise WebError(
        400, f"part {text!r}", listed(near) if near else "the parts of /api/families", "name one of these, or say new"
    )


def described() -> set[PartKey]:
    """Every part that the descriptions name."""
    loaded = [load(name) for name in families()]
    return {shared(one.family, fault.part) for one in loaded for fault in one.faults.values()}


ROWS = (
    Row("GET", "/api/stock", "what is on the van and on order", shown),
    Row("POST", "/api/stock", "writes down a part that came, went or was counted", moved, form=Moved),
)
