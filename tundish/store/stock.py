"""The ledger of parts, beside the events: what came, went, was counted and ordered. Lines are only added.

A line is acknowledged when the call that recorded it returns. From then on it is on the disk.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import astuple, dataclass

from tundish.call.errors import CallError
from tundish.call.identity import ID_BYTES, check_event_id, check_moment, mint, moment
from tundish.store.clock import Source
from tundish.store.errors import StoreError
from tundish.store.events import EventFile, Refusal, Taken, insert
from tundish.van.errors import VanError
from tundish.van.part import PartKey, key_of
from tundish.van.stock import STEPS, Level, Movement, checked, fold

# Typing errors lie beyond. Our choice.
MOST, LONGEST = 999_999, 200


@dataclass(frozen=True)
class Line:
    """A line as it lies in the file. id : UUID of version 7, orders the lines. at : the device's clock, as in an event.

    kind, part, count, call : of the movement; part as text, such as `any: fill hose`.
    """

    id: str
    at: str
    device: str
    kind: str
    part: str
    count: int
    call: str = ""

    def movement(self) -> Movement:
        """What the line says. VanError when it makes no sense."""
        return Movement(self.kind, key_of(self.part), self.count, self.call)


@dataclass(frozen=True)
class Stock:
    """What the ledger comes to. unread : lines of kinds that only a newer version knows; they are kept."""

    levels: dict[PartKey, Level]
    unread: tuple[Line, ...] = ()


def lines_of(file: EventFile) -> tuple[Line, ...]:
    """All lines of the ledger, sorted by id."""
    return tuple(Line(*row) for row in file.base.rows("stock"))


def stock_of(file: EventFile) -> Stock:
    """Levels of every part. StoreError naming the line when another program wrote nonsense into the ledger."""
    lines = lines_of(file)
    known = (_movement(line, file) for line in lines if line.kind in STEPS)
    return Stock(fold(known), tuple(line for line in lines if line.kind not in STEPS))


def record_moves(file: EventFile, movements: Iterable[Movement], source: Source) -> tuple[Line, ...]:
    """Check each movement against the levels with those before it, stamp and add it: all of them, or none.

    VanError when one would take more than there is.
    """
    with file.writing():
        levels = dict(stock_of(file).levels)
        last = file.base.newest("stock")
        lines: list[Line] = []
        for movement in movements:
            levels[movement.part] = checked(levels, movement)
            lines.append(_stamped(movement, source, lines[-1].id if lines else last))
            check_line(lines[-1])
            # A colon in the family would be read back as another part
            if lines[-1].movement() != movement:
                raise _no_name(str(movement.part))
        _insert(file, lines)
    return tuple(lines)


def take_lines(file: EventFile, lines: Iterable[Line]) -> Taken:
    """Take in lines of another ledger, each once; unsound ones are named in the answer, the others added.

    They are not checked against the levels: both devices saw what they wrote.
    """
    sound: list[Line] = []
    refused: list[Refusal] = []
    for line in lines:
        try:
            check_line(line)
            sound.append(line)
        except (CallError, VanError) as error:
            refused.append(Refusal(f"stock line {line.id}", str(error)))
    with file.writing():
        taken = _insert(file, sound)
    return Taken(taken.added, taken.known, (*refused, *taken.refused))


def check_line(line: Line) -> None:
    """VanError or EventError when a line makes no sense; a kind this version does not know is let pass."""
    check_event_id(line.id)
    check_moment(line.at)
    if not (type(line.count) is int and 0 <= line.count <= MOST and len(line.part) <= LONGEST):
        raise VanError(
            seen=f"{line.count!r} of {line.part[:LONGEST]!r}",
            allowed=f"up to {MOST} pieces of a part named in up to {LONGEST} letters",
            do="correct the number or the name",
        )
    if not line.part.isprintable() or (line.kind in STEPS and str(line.movement().part) != line.part):
        raise _no_name(line.part)


def _no_name(text: str) -> VanError:
    return VanError(
        seen=f"part {text!r}", allowed="one line, no blanks around its pieces", do="correct the name"
    )


def _movement(line: Line, file: EventFile) -> Movement:
    try:
        return line.movement()
    except VanError as error:
        raise StoreError(
            seen=f"stock line {line.id} of {file.path}: {error.seen}",
            allowed=error.allowed,
            do="another program wrote it: merge this file into a new one, which names and leaves out this line",
        ) from error


def _stamped(movement: Movement, source: Source, after: str | None) -> Line:
    now = source.milliseconds()
    id = mint(after, now, source.random_bytes(ID_BYTES))
    return Line(
        id, moment(now), source.device, movement.kind, str(movement.part), movement.count, movement.call
    )


def _insert(file: EventFile, lines: Iterable[Line]) -> Taken:
    # As with events: the same line again is fine, a different one is not.
    rows = [(f"stock line {line.id}", astuple(line)) for line in lines]
    return insert(file.base, "stock", rows, lambda here, row: here == row)
