"""The file of events: append-only, one SQLite file.

An event is acknowledged when the call that recorded it returns. From then on it is on the disk.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import astuple, dataclass
from itertools import groupby
from pathlib import Path
from types import TracebackType
from typing import Self

from tundish.call import codec, handle, moves
from tundish.call.bodies import Body, CallOpened, Corrected
from tundish.call.codec import Written
from tundish.call.errors import CallError
from tundish.call.events import Event
from tundish.call.fold import fold
from tundish.call.handle import CallHead
from tundish.call.identity import CALL_BYTES, ID_BYTES, call_id, mint, moment
from tundish.store import schema
from tundish.store.clock import Source
from tundish.store.errors import StoreError, clear_errors

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
    """An open file of events; `open_events` makes one. Use it in a `with` statement, or close it."""

    def __init__(self, path: Path, connection: sqlite3.Connection) -> None:
        self.path = path
        self.connection = connection

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the file."""
        self.connection.close()

    def append(self, events: Iterable[Event]) -> Taken:
        """Add finished events, all or none. An event that is here already is not added again.

        StoreError when another event has the same id, and for all troubles of the disk.
        """
        with self.writing():
            taken = _insert(self.connection, [(f"event {event.id}", codec.write(event)) for event in events])
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
        where, values = ("", ()) if call is None else (" WHERE call = ?", (call,))
        with clear_errors(self.path):
            for row in self.connection.execute(
                f"SELECT {schema.COLUMNS} FROM events{where} ORDER BY id", values
            ):
                yield Written(*row)

    def calls(self) -> tuple[CallHead, ...]:
        """All calls, in order of opening."""
        with clear_errors(self.path):
            counts = self.connection.execute(
                "SELECT call, count(*), max(at) FROM events GROUP BY call"
            ).fetchall()
            openings = _openings(self.connection, self.path)
        heads = [_head(call, count, last, openings.get(call, ())) for call, count, last in counts]
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
            taken = _insert(self.connection, sound)
        return Taken(taken.added, taken.known, (*refused, *taken.refused))

    def verify(self) -> tuple[str, ...]:
        """What is wrong with the file: nothing, for a sound one."""
        with clear_errors(self.path):
            report = [str(row[0]) for row in self.connection.execute("PRAGMA integrity_check")]
        return (*(line for line in report if line != "ok"), *_unsound(self.rows()))

    def _add(self, call: str, body: Body, source: Source) -> Event:
        # Read inside the transaction: no other program can record between the check and the writing.
        state = fold(self.events_of(call))
        moves.check(state, body)
        event = _stamped(call, body, source, state.last)
        if _insert(self.connection, [(event.id, codec.write(event))]).added != 1:
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
        if self.connection.in_transaction:
            yield
            return
        with clear_errors(self.path):
            self.connection.execute("BEGIN IMMEDIATE")
            try:
                yield
                self.connection.execute("COMMIT")
            except BaseException:
                # A full disk may have ended the transaction already.
                if self.connection.in_transaction:
                    self.connection.execute("ROLLBACK")
                raise


def record_all(file: EventFile, call: str, bodies: Iterable[Body], source: Source) -> tuple[Event, ...]:
    """Record several events of a call in one transaction, each checked against the call with those before it.

    MoveError when one is not legal; then none of them is added.
    """
    with file.writing():
        return tuple(file._add(call, body, source) for body in bodies)


def open_events(path: Path, *, create: bool = True) -> EventFile:
    """Open a file of events; a new one is made, with its folder, unless `create` is false.

    StoreError when it is not there, broken, another program's, or of a newer form.
    """
    with clear_errors(path):
        if create:
            path.parent.mkdir(parents=True, exist_ok=True)
        elif not path.exists():
            raise StoreError(seen=f"no file {path}", allowed="a file of events", do="check the name")
        # No isolation level: transactions begin and end where this file says so.
        connection = sqlite3.connect(path, timeout=WAIT, isolation_level=None)
        try:
            _settings(connection)
            schema.check(connection, path)
            schema.migrate(connection)
        except BaseException:
            connection.close()
            raise
    return EventFile(path, connection)


def _settings(connection: sqlite3.Connection) -> None:
    # One file, nothing beside it at rest; a commit reaches disk and folder (docs/call.md says why).
    connection.execute("PRAGMA trusted_schema = OFF")
    connection.execute("PRAGMA synchronous = EXTRA")
    if connection.execute("PRAGMA journal_mode").fetchone()[0] != "delete":
        connection.execute("PRAGMA journal_mode = DELETE")


def _insert(connection: sqlite3.Connection, rows: Iterable[tuple[str, Written]]) -> Taken:
    added = known = 0
    refused = []
    for where, row in rows:
        # Looked up, not left to a conflict clause: the same event again is fine, a different one is not.
        found = connection.execute(f"SELECT {schema.COLUMNS} FROM events WHERE id = ?", (row.id,)).fetchone()
        if found is None:
            connection.execute(
                f"INSERT INTO events ({schema.COLUMNS}) VALUES (?, ?, ?, ?, ?, ?, ?)", astuple(row)
            )
            added += 1
        elif _same(Written(*found), row):
            known += 1
        else:
            refused.append(
                Refusal(where, f"a different event has the id {row.id} already; that one was kept")
            )
    return Taken(added, known, tuple(refused))


def _openings(connection: sqlite3.Connection, path: Path) -> dict[str, tuple[Event, ...]]:
    # Openings and corrections by call: all that a list of calls needs
    rows = connection.execute(
        f"SELECT {schema.COLUMNS} FROM events WHERE kind IN (?, ?) ORDER BY call, id",
        (CallOpened.KIND, Corrected.KIND),
    )
    events = (_read(Written(*row), path) for row in rows)
    return {call: tuple(group) for call, group in groupby(events, key=lambda event: event.call)}


def _read(row: Written, path: Path) -> Event:
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


def _same(here: Written, row: Written) -> bool:
    # Whether two rows say the same, though the text of the body may be spaced or ordered in another way
    if here == row:
        return True
    try:
        return codec.read(here) == codec.read(row)
    except CallError:
        return False


def _head(call: str, count: int, last: str, events: tuple[Event, ...]) -> CallHead:
    opened = fold(events).opened
    if opened is None:
        return CallHead(call, "", "", "", "", last, count)
    return CallHead(call, opened.body.name, opened.body.family, opened.body.complaint, opened.at, last, count)


def _unsound(rows: Iterable[Written]) -> Iterator[str]:
    for row in rows:
        try:
            codec.read(row)
        except CallError as error:
            yield f"event {row.id!r}: {error}"
