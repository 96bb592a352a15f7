"""A repair recorded with its part: the call's events and the stock's lines are written together, or not at all."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from tundish.appliance.records import Description, Fault
from tundish.call.bodies import Body, Corrected
from tundish.call.doings import PartOrdered, PartTaken
from tundish.call.events import Event
from tundish.call.fixing import PartUsed
from tundish.call.fold import CallState, fold
from tundish.call.hazards import check_below
from tundish.call.moves import check
from tundish.store.clock import Source
from tundish.store.errors import StoreError
from tundish.store.events import EventFile, record_all
from tundish.store.stock import record_moves, stock_of
from tundish.van.catalogue import part_of
from tundish.van.part import PartKey
from tundish.van.stock import Level, Levels, Movement


@dataclass(frozen=True)
class Fitted:
    """A part that goes in. count : pieces. from_van : taken from the stock; else it came from elsewhere, and no stock falls."""

    fault: str
    count: int = 1
    from_van: bool = True


def part_for(description: Description, fault: Fault, currency: str) -> PartKey | None:
    """The part a repair takes; None where nothing is fitted."""
    return part_of(description, fault, currency)


def fit(
    file: EventFile, call: str, description: Description, fitted: Fitted, *, currency: str, source: Source
) -> tuple[Event, ...]:
    """Take the part for a cause in hand if it is not, record that it went in, and let the stock fall.

    MoveError when consent is wanting, VanError when the van has too few; then nothing is written.
    """
    key = part_for(description, description.faults[fitted.fault], currency)
    if key is None:
        raise StoreError(
            seen=f"a part for {fitted.fault}",
            allowed="a cause whose repair takes a part",
            do="leave the part out: nothing is fitted",
        )
    with file.writing():
        state = fold(file.events_of(call))
        used = PartUsed(str(key), fitted.fault, fitted.count)
        check_below(description, state, used)
        events = record_all(file, call, (*_in_hand(state, used), used), source)
        # Only what comes from the van leaves it
        if fitted.from_van:
            record_moves(file, [Movement("take", key, fitted.count, call)], source)
    return events


def record_done(
    file: EventFile, call: str, description: Description, bodies: Sequence[Body], *, currency: str, source: Source
) -> tuple[Event, ...]:  # fmt: skip
    """Record what was done; a part ordered, come in or cancelled for the call stands in the stock too, or nothing is written."""
    with file.writing():
        state, levels = fold(file.events_of(call)), stock_of(file).levels
        moves = list(_moves(state, description, bodies, levels, currency))
        events = record_all(file, call, bodies, source)
        if moves:
            record_moves(file, moves, source)
    return events


def _moves(
    state: CallState, description: Description, bodies: Sequence[Body], levels: Levels, currency: str
) -> Iterator[Movement]:
    for body in bodies:
        # An order that is taken back is an order no more
        undone = isinstance(body, Corrected) and body.by is None
        told = _ordered(state, body.target) if isinstance(body, Corrected) and undone else body
        if not isinstance(told, PartOrdered | PartTaken):
            continue
        key = part_for(description, description.faults[told.fault], currency)
        level = levels.get(key, Level()) if key else Level()
        if key is None:
            continue
        if isinstance(told, PartOrdered):
            if not undone:
                yield Movement("order", key, 1)
            elif level.on_order:
                yield Movement("cancel", key, 1)
        # What comes to hand without lying on the van is the piece that was ordered
        elif not undone and told.fault in state.ordered and level.on_order and not level.on_van:
            yield Movement("arrive", key, 1)


def _ordered(state: CallState, target: str) -> Body | None:
    body = state.settled.standing.get(target)
    return body if isinstance(body, PartOrdered) else None


def _in_hand(state: CallState, used: PartUsed) -> Sequence[Body]:
    if used.fault in (*state.parts, *state.job.fitted):
        return ()
    taken = PartTaken(used.fault, "from the van")
    check(state, taken)
    return (taken,)

