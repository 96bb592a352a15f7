"""The calls of the shop: events that are only added, in one SQLite file or on a PostgreSQL server.

An event is acknowledged when the call that recorded it returns. From then on it is on the disk.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import astuple, dataclass
from itertools import groupby
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any, Self

from tundish.call import codec, handle, moves
from tundish.call.bodies import Body, CallOpened, Corrected
from tundish.call.codec import Written
from tundish.call.doings import CallEnded
from tundish.call.errors import CallError
from tundish.call.events import Event
from tundish.call.fold import fold
from tundish.call.handle import CallHead
from tundish.call.identity import CALL_BYTES, ID_BYTES, call_id, mint, moment
from tundish.store.clock import Source
from tundish.store.errors import StoreError
from tundish.store.places import Place
from tundish.store.rows import ALLOWED, Row, unholdable

if TYPE_CHECKING:
    from tundish.store.base import Base

# How long to wait for another program's writing, [s]. Our choice.
WAIT = 10.0


@dataclass(frozen=True)
class Refusal:
    """Something that was not taken in. where : the line or event. why : in words."""

    where: str
    why: str


@dataclass(frozen=True)
class Taken:
    """What came of taking events in. added : new here. known : were here already, the same."""

    added: int
    known: int
    refused: tuple[Refusal, ...] = ()


class EventFile:
    """Open events; `open_events` makes one. Use it in a `with` statement, or close it.

    path : where they lie, as it is shown. base : the rows. connection : of the driver, to look at the database itself.
    still : called as writing begins; raises when the events lie elsewhere by then.
    """

    def __init__(self, base: Base, still: Callable[[], None] = lambda: None) -> None:
        self.path: Path | str = base.where
        self.base = base
        self.connection: Any = base.driver
        self.still = still

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file, or leave the server."""
        self.base.close()

    def append(self, events: Iterable[Event]) -> Taken:
        """Add finished events, all or none. An event that is here already is not added again.

        StoreError when another event has the same id, and for all troubles of the disk.
        """
        with self.writing():
            taken = _insert(self.base, [(f"event {event.id}", codec.write(event)) for event in events])
            if taken.refused:
                raise StoreError(
                    seen=f"{taken.refused[0].where}: {taken.refused[0].why}",
                    allowed="a fresh id for a new event",
                    do="record it anew; nothing was added",
                )
        return taken

    def record(self, call: str, body: Body, source: Source) -> Event:
        """Check the move against the call as it stands, stamp the event and add it, in one transaction.

        MoveError when the move is not legal.
        """
        with self.writing():
            return self._add(call, body, source)

    def open_call(self, body: CallOpened, source: Source) -> Event:
        """Open a new call; the event returned tells its id. StoreError when another call has that name."""
        with self.writing():
            others = [
                head.call for head in self.calls() if body.name and head.name.lower() == body.name.lower()
            ]
            if others:
                raise StoreError(
                    seen=f"call name {body.name!r}, the name of call {others[0]}",
                    allowed="a name no other call has",
                    do="choose another name, or none",
                )
            return self._add(call_id(source.random_bytes(CALL_BYTES)), body, source)

    def events_of(self, call: str) -> tuple[Event, ...]:
        """All events of a call, sorted by id; none when there is no such call."""
        return tuple(_read(row, self.path) for row in self.rows(call))

    def rows(self, call: str | None = None) -> Iterator[Written]:
        """Events as they lie in the file, of one call or of all, sorted by id."""
        for row in self.base.rows("events", None if call is None else {"call": (call,)}):
            yield Written(*row)

    def calls(self) -> tuple[CallHead, ...]:
        """All calls, in order of opening."""
        tallies = self.base.tallies()
        openings = _openings(self)
        heads = [_head(call, count, last, openings.get(call, ())) for call, count, last, _ in tallies]
        return tuple(sorted(heads, key=lambda head: (head.opened, head.call)))

    def resolve(self, text: str) -> str:
        """The id of the call meant by a short name. HandleError when no call or several fit."""
        return handle.resolve(text, self.calls())

    def take(self, rows: Iterable[tuple[str, Written]]) -> Taken:
        """Take in what others wrote, each with a word on where it stood.

        Sound rows are added, the others named in the answer. All of it is one transaction: a full disk adds
        nothing.
        """
        sound: list[tuple[str, Written]] = []
        refused: list[Refusal] = []
        for where, row in rows:
            try:
                codec.read(row)
                sound.append((where, row))
            except CallError as error:
                refused.append(Refusal(where, str(error)))
        with self.writing():
            taken = _insert(self.base, sound)
        return Taken(taken.added, taken.known, (*refused, *taken.refused))

    def verify(self) -> tuple[str, ...]:
        """What is wrong with the file: nothing, for a sound one."""
        return (*self.base.unsound(), *_unsound(self.rows()))

    def _add(self, call: str, body: Body, source: Source) -> Event:
        # Read inside the transaction: no other program can record between the check and the writing.
        state = fold(self.events_of(call))
        moves.check(state, body)
        event = _stamped(call, body, source, state.last)
        if _insert(self.base, [(event.id, codec.write(event))]).added != 1:
            raise StoreError(
                seen=f"a fresh id {event.id} that is taken already",
                allowed="random bytes that never repeat",
                do="record it again; if it happens twice, the source of randomness is broken",
            )
        return event

    @contextmanager
    def writing(self) -> Iterator[None]:
        """One transaction, alone: what is read in it is still so when it ends. StoreError for troubles of the disk.

        Inside another one it is a part of that: events and stock can be written together or not at all.
        """
        outermost = not self.base.within
        with self.base.writing():
            # Somebody may have moved the calls while this waited for its turn
            if outermost:
                self.still()
            yield


def record_all(file: EventFile, call: str, bodies: Iterable[Body], source: Source) -> tuple[Event, ...]:
    """Record several events of a call in one transaction, each checked against the call with those before it.

    MoveError when one is not legal; then none of them is added.
    """
    with file.writing():
        return tuple(file._add(call, body, source) for body in bodies)


def open_events(
    place: Place, *, create: bool = True, still: Callable[[], None] = lambda: None, filled: bool = False
) -> EventFile:
    """Open the events of a place; a new one is made, with its folder, unless `create` is false.

    still : as in EventFile. filled : a move into it is known to have been compared. StoreError when it is not there, broken,
    another program's, of a newer form, or half-filled by a move.
    """
    # Verbs without calls need not wait for it
    from tundish.store.base import open_base  # noqa: PLC0415

    return EventFile(open_base(place, create=create, wait=WAIT, filled=filled), still)


def insert(
    base: Base, table: str, rows: Sequence[tuple[str, Row]], same: Callable[[Row, Row], bool]
) -> Taken:
    """Add rows that are not there, inside a transaction; each comes with a word on where it stood.

    same : whether two rows with one id say the same. A different one is refused, and the one that is there kept.
    """
    # Looked up, not left to a conflict clause: the same row again is fine, a different one is not.
    there = base.found(table, [row[0] for _, row in rows])
    known, fresh = 0, []
    refused = []
    for where, row in rows:
        if row[0] not in there and not (cell := unholdable(row)):
            there[row[0]] = row
            fresh.append(row)
        elif row[0] not in there:
            refused.append(Refusal(where, f"saw {cell}; allowed: {ALLOWED}; correct it"))
        elif same(there[row[0]], row):
            known += 1
        else:
            word = f"event has the id {row[0]}" if table == "events" else f"stock line {row[0]} is here"
            refused.append(Refusal(where, f"a different {word} already; that one was kept"))
    base.add(table, fresh)
    return Taken(len(fresh), known, tuple(refused))


def _insert(base: Base, rows: Iterable[tuple[str, Written]]) -> Taken:
    return insert(base, "events", [(where, astuple(row)) for where, row in rows], _same)


def _openings(file: EventFile) -> dict[str, tuple[Event, ...]]:
    # Openings, endings and corrections by call: all that a list of calls needs
    rows = file.base.rows("events", {"kind": (CallOpened.KIND, CallEnded.KIND, Corrected.KIND)})
    events = sorted((_read(Written(*row), file.path) for row in rows), key=lambda event: (event.call, event.id))
    return {call: tuple(group) for call, group in groupby(events, key=lambda event: event.call)}


def _read(row: Written, path: Path | str) -> Event:
    try:
        return codec.read(row)
    except CallError as error:
        raise StoreError(
            seen=f"event {row.id!r} of {path}: {error.seen}",
            allowed=error.allowed,
            do="another program changed the file: export it and import the lines into a new file, "
            "which names and leaves out this one",
        ) from error


def _stamped(call: str, body: Body, source: Source, after: str | None) -> Event:
    now = source.milliseconds()
    return Event(mint(after, now, source.random_bytes(ID_BYTES)), source.device, moment(now), call, body)


def _same(here: Row, row: Row) -> bool:
    # Whether two rows say the same, though the text of the body may be spaced or ordered in another way
    if here == row:
        return True
    try:
        return codec.read(Written(*here)) == codec.read(Written(*row))
    except CallError:
        return False


def _head(call: str, count: int, last: str, events: tuple[Event, ...]) -> CallHead:
    state = fold(events)
    ended = state.ended.body.as_ if state.ended else ""
    if state.opened is None:
        return CallHead(call, "", "", "", "", last, count, ended)
    told = state.opened.body
    return CallHead(call, told.name, told.family, told.complaint, state.opened.at, last, count, ended)


def _unsound(rows: Iterable[Written]) -> Iterator[str]:
    for row in rows:
        try:
            codec.read(row)
        except CallError as error:
            yield f"event {row.id!r}: {error}"
