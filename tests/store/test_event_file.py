"""The file of events: what goes in comes out, nothing else can happen to it."""

from __future__ import annotations

import os
import sqlite3
import threading
from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import Connection
from store_maker import OPENING, clock_at, filled, reading, source

from tundish.call import bodies
from tundish.call.errors import HandleError, MoveError
from tundish.call.fold import fold
from tundish.store import schema
from tundish.store.errors import StoreError
from tundish.store.events import Taken, open_events


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "calls.sqlite"


def test_what_goes_in_comes_out_after_reopening(path: Path) -> None:
    with open_events(path) as file:
        given = source()
        opening = file.open_call(OPENING, given)
        first = file.record(opening.call, reading(1.0), given)
        fixed = file.record(opening.call, bodies.Corrected(first.id, reading(2.0), "wrong scale"), given)
    with open_events(path) as file:
        assert file.events_of(opening.call) == (opening, first, fixed)
        assert [fact.body.value for fact in fold(file.events_of(opening.call)).readings] == [2.0]
        assert file.events_of("nobody") == ()
        assert file.verify() == ()


def test_one_file_lies_there_at_rest(path: Path) -> None:
    """It is what a technician copies to a stick."""
    with open_events(path) as file:
        filled(file)
        assert os.listdir(path.parent) == [path.name]
    assert os.listdir(path.parent) == [path.name]


def test_anyone_can_read_the_table(path: Path) -> None:
    with open_events(path) as file:
        call = filled(file, 1)
    plain = sqlite3.connect(path)
    rows = plain.execute(
        "SELECT call, device, kind, schema, json_extract(body, '$.check') FROM events ORDER BY id"
    ).fetchall()
    plain.close()
    assert rows == [(call, "van", "call opened", 1, None), (call, "van", "reading taken", 1, "C04")]


def test_commits_are_flushed_to_the_disk(path: Path) -> None:
    """EXTRA is 3 (https://www.sqlite.org/pragma.html#pragma_synchronous)."""
    with open_events(path) as file:
        assert file.connection.execute("PRAGMA synchronous").fetchone()[0] == 3
        assert file.connection.execute("PRAGMA journal_mode").fetchone()[0] == "delete"


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE events SET body = '{}'",
        "DELETE FROM events",
        "INSERT OR REPLACE INTO events SELECT * FROM events",
        "REPLACE INTO events SELECT id, call, at, device, kind, schema, '{}' FROM events",
        "UPDATE OR IGNORE events SET kind = 'x'",
    ],
)
def test_other_programs_cannot_change_it(path: Path, sql: str) -> None:
    with open_events(path) as file:
        call = filled(file)
        before = file.events_of(call)
    plain = sqlite3.connect(path)
    with pytest.raises(sqlite3.IntegrityError, match="events are append-only"):
        plain.execute(sql)
    plain.close()
    with open_events(path) as file:
        assert file.events_of(call) == before


def test_appending_twice_adds_once(path: Path) -> None:
    with open_events(path) as file:
        events = file.events_of(filled(file))
    with open_events(path.with_name("other.sqlite")) as other:
        assert other.append(events) == Taken(4, 0)
        assert other.append(events) == Taken(0, 4)


def test_appending_is_all_or_nothing(path: Path) -> None:
    with open_events(path) as file:
        call = filled(file)
        events = file.events_of(call)
        fresh = replace(events[0], id=events[0].id[:-1] + "f")
        clash = replace(events[1], device="other")
        with pytest.raises(
            StoreError, match=f"saw event {clash.id}: a different event has the id .*; nothing was added"
        ):
            file.append([fresh, clash])
        assert file.events_of(call) == events


def test_illegal_moves_leave_no_trace(path: Path) -> None:
    with open_events(path) as file:
        with pytest.raises(MoveError, match="open the call first"):
            file.record("k7f3q0", reading(1.0), source())
        call = filled(file)
        with pytest.raises(MoveError, match="is open"):
            file.record(call, OPENING, source())
        assert len(file.events_of(call)) == 4 and len(file.calls()) == 1


def test_noise_that_repeats_is_noticed(path: Path) -> None:
    """The same clock and noise twice: another call must not melt into the first."""
    with open_events(path) as file:
        call = filled(file, 1, given=source(1))
        with pytest.raises(MoveError, match=f"saw 'call opened' while call {call} is open"):
            filled(file, 1, given=source(1))
        stuck = replace(source(5), milliseconds=clock_at(1_764_000_009_000), random_bytes=bytes)
        other = file.open_call(OPENING, stuck).call
        with pytest.raises(StoreError, match=r"saw a fresh id .* that is taken already; .*; record it again"):
            file.record("k7f3q0", OPENING, stuck)
        assert [head.call for head in file.calls()] == [call, other]


def test_new_events_sort_last_though_the_clock_runs_back(path: Path) -> None:
    with open_events(path) as file:
        given = source(tick=-5000)
        call = file.open_call(OPENING, given).call
        made = [file.record(call, reading(float(number)), given) for number in range(5)]
        assert [event.id for event in file.events_of(call)][1:] == [event.id for event in made]
        assert [fact.body.value for fact in fold(file.events_of(call)).readings] == [0.0, 1.0, 2.0, 3.0, 4.0]
        assert made[-1].at < made[0].at


def test_the_list_of_calls(path: Path) -> None:
    with open_events(path) as file:
        assert file.calls() == ()
        first = filled(file, 2, name="Blue door", given=source(1))
        second = filled(file, 1, given=source(2, start=1_765_000_000_000))
        heads = file.calls()
        assert [head.call for head in heads] == [first, second]
        assert (heads[0].name, heads[0].complaint, heads[0].events) == ("Blue door", "SLOW", 3)
        assert heads[0].opened < heads[0].last < heads[1].opened


def test_the_list_follows_a_corrected_opening(path: Path) -> None:
    with open_events(path) as file:
        call = filled(file, name="Blue door")
        opening = file.events_of(call)[0]
        better = bodies.CallOpened("front-load washer", "EU", "NOFILL", name="Green door")
        file.record(call, bodies.Corrected(opening.id, better), source())
        assert [(head.name, head.complaint) for head in file.calls()] == [("Green door", "NOFILL")]
        assert file.resolve("green") == call


def test_short_names(path: Path) -> None:
    with open_events(path) as file:
        call = filled(file, name="Blue door")
        assert file.resolve(call[:4]) == file.resolve("blue") == call
        with pytest.raises(HandleError, match=r"saw call 'red'; allowed: .*Blue door"):
            file.resolve("red")
        with pytest.raises(
            StoreError, match=r"saw call name 'blue DOOR', the name of call .*; choose another name"
        ):
            filled(file, name="blue DOOR", given=source(2))


def test_two_writers_do_not_disturb_each_other(path: Path) -> None:
    """Both record into one call at once: every event is there, in the order each wrote its own."""
    with open_events(path) as file:
        call = filled(file, 0)

    def write(device: str) -> None:
        with open_events(path) as mine:
            for number in range(20):
                mine.record(
                    call,
                    reading(float(number)),
                    replace(source(device == "van", device), milliseconds=clock_at(5)),
                )

    writers = [threading.Thread(target=write, args=(device,)) for device in ("van", "phone")]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    with open_events(path) as file:
        events = file.events_of(call)
        assert len(events) == 41
        for device in ("van", "phone"):
            mine = [event.body for event in events[1:] if event.device == device]
            assert mine == [reading(float(number)) for number in range(20)]


def test_two_programs_may_make_the_file_at_once(path: Path) -> None:
    start = threading.Barrier(4)

    def make(seed: int) -> None:
        start.wait()
        with open_events(path) as file:
            filled(file, 1, given=source(seed))

    makers = [threading.Thread(target=make, args=(seed,)) for seed in range(4)]
    for maker in makers:
        maker.start()
    for maker in makers:
        maker.join()
    with open_events(path) as file:
        assert len(file.calls()) == 4 and file.verify() == ()


def test_an_older_form_is_brought_up_with_its_events(path: Path) -> None:
    def further(connection: Connection) -> None:
        connection.exec_driver_sql("CREATE TABLE extra (x TEXT)")

    with open_events(path) as file:
        call = filled(file)
        schema.migrate(file.base.connection, (*schema.MIGRATIONS, further))
        assert schema.form(file.base.connection) == len(schema.MIGRATIONS) + 1
        assert len(file.events_of(call)) == 4


def test_a_failing_migration_changes_nothing(path: Path) -> None:
    def further(connection: Connection) -> None:
        connection.exec_driver_sql("CREATE TABLE extra (x TEXT)")
        raise OSError("power cut")

    with open_events(path) as file:
        call = filled(file)
        with pytest.raises(OSError, match="power cut"):
            schema.migrate(file.base.connection, (*schema.MIGRATIONS, further))
        assert schema.form(file.base.connection) == len(schema.MIGRATIONS)
        assert file.connection.execute(
            "SELECT count(*) FROM sqlite_master WHERE name = 'extra'"
        ).fetchone() == (0,)
        assert len(file.events_of(call)) == 4
