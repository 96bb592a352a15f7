"""The same store in a file and on a server: the same rows, the same refusals, the same steps from form to form.

What only a file can do is in test_event_file.py and test_event_troubles.py. The tests with a server are marked `engines`.
"""

from __future__ import annotations

import os
import random
import secrets
import signal
import sqlite3
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import closing
from dataclasses import astuple, replace
from pathlib import Path
from typing import Any

import pytest
from place_maker import KINDS, place_for, server_address
from sqlalchemy import Connection, inspect, text
from store_maker import OPENING, clock_at, filled, many, reading, source
from test_event_kill import HERE, ROOT

from tundish.call import bodies, codec
from tundish.call.errors import MoveError
from tundish.call.fold import fold
from tundish.store import schema
from tundish.store.connecting import connected, forget
from tundish.store.errors import StoreError, Trouble
from tundish.store.events import EventFile, Taken, open_events, record_all
from tundish.store.lines import export, import_from
from tundish.store.marks import APPLICATION, read_marks, write_marks
from tundish.store.merge import unite
from tundish.store.moving import content_of
from tundish.store.places import Place, Server
from tundish.store.stock import lines_of, record_moves, stock_of, take_lines
from tundish.store.tables import METADATA
from tundish.van.part import PartKey
from tundish.van.stock import Movement

HOSE = PartKey("any", "fill hose")


@pytest.fixture(params=KINDS)
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Place]:
    with place_for(request.param, tmp_path) as found:
        yield found


def plain(file: EventFile) -> Any:
    """The driver's own connection, as another program would have it."""
    return file.connection


def test_what_goes_in_comes_out(place: Place) -> None:
    with open_events(place) as file:
        call = filled(file, 3, name="Blue door")
        event = file.record(call, bodies.NoteAdded("Grüße, 漏水, \U0001f6b0, 'x', %s, \\, ?, :name"), source(2))
        record_moves(file, [Movement("receive", HOSE, 3), Movement("take", HOSE, 1, call)], source(3))
        before = file.events_of(call), lines_of(file)
    with open_events(place, create=False) as file:
        assert (file.events_of(call), lines_of(file)) == before
        assert event in before[0] and len(before[0]) == 5
        assert stock_of(file).levels[HOSE].balance == 2
        assert file.verify() == () and file.resolve("blue") == call
        assert [(head.call, head.name, head.events) for head in file.calls()] == [(call, "Blue door", 5)]


def test_the_tables_are_those_defined(place: Place) -> None:
    """What the steps made is what the definition says: columns, types, keys, checks and index."""
    with open_events(place) as file:
        look = inspect(file.base.connection)
        assert set(METADATA.tables) <= set(look.get_table_names())
        for name, table in METADATA.tables.items():
            found = {column["name"]: column for column in look.get_columns(name)}
            assert list(found) == [column.name for column in table.columns]
            for column in table.columns:
                made = found[column.name]
                assert not made["nullable"], column.name
                assert str(made["type"]).split()[0] in ({"TEXT"} if str(column.type) == "TEXT" else {"INTEGER", "BIGINT"})
                # A server's own language must not decide what comes first
                assert made["type"].python_type is int or file.base.connection.dialect.name == "sqlite" or made["type"].collation == "C"
            assert look.get_pk_constraint(name)["constrained_columns"] == ["id"]
            assert len(look.get_check_constraints(name)) == (6 if name == "events" or isinstance(place, Path) else 5) + (name == "stock")
        assert [index["column_names"] for index in look.get_indexes("events")] == [["call", "id"]]


@pytest.mark.parametrize("table", ["events", "stock"])
@pytest.mark.parametrize(
    ("sql", "words"),
    [
        ("UPDATE {} SET device = 'x'", "are append-only: "),
        ("DELETE FROM {}", "are append-only: "),
        ("INSERT INTO {} SELECT * FROM {} LIMIT 1", "are append-only: a.* with this id is there"),
        ("INSERT INTO {} SELECT * FROM {} WHERE true ON CONFLICT (id) DO UPDATE SET device = 'x'", "are append-only: "),
        ("INSERT INTO {} SELECT * FROM {} WHERE true ON CONFLICT DO NOTHING", "are append-only: "),
    ],
)
def test_other_programs_cannot_change_it(place: Place, table: str, sql: str, words: str) -> None:
    with open_events(place) as file:
        call = filled(file)
        record_moves(file, [Movement("receive", HOSE, 3)], source(3))
        before = content_of(file.base)
        with pytest.raises(Exception, match=table + " " + words) as error:
            plain(file).execute(sql.format(table, table))
        # An integrity error, as the standard names it, whatever the driver
        assert "IntegrityError" in {kind.__name__ for kind in type(error.value).__mro__}
        assert content_of(file.base) == before and len(file.events_of(call)) == 4


@pytest.mark.engines
def test_a_server_refuses_to_empty_a_table_and_to_be_told_that_rows_only_pass_through(tmp_path: Path) -> None:
    with place_for("server", tmp_path) as place, open_events(place) as file:
        filled(file)
        for table in ("events", "stock"):
            with pytest.raises(Exception, match=f"{table} are append-only"):
                plain(file).execute(f"TRUNCATE {table}")
        plain(file).execute("SET session_replication_role = replica")
        with pytest.raises(Exception, match="events are append-only: record a correction"):
            plain(file).execute("DELETE FROM events")


@pytest.mark.parametrize(
    "values",
    [
        ("short", "k7f", "x" * 24, "van", "note added", 1, "{}"),
        ("x" * 36, "k7", "x" * 24, "van", "note added", 1, "{}"),
        ("x" * 36, "k7f", "x" * 23, "van", "note added", 1, "{}"),
        ("x" * 36, "k7f", "x" * 24, "", "note added", 1, "{}"),
        ("x" * 36, "k7f", "x" * 24, "van", "", 1, "{}"),
        ("x" * 36, "k7f", "x" * 24, "van", "note added", 0, "{}"),
        ("x" * 36, "k7f", "x" * 24, "van", "note added", None, "{}"),
    ],
)
def test_rows_that_make_no_sense_are_refused_by_the_table(place: Place, values: tuple[Any, ...]) -> None:
    with open_events(place) as file:
        with pytest.raises(Trouble, match="allowed: new events only; record a correction instead"), file.writing():
            file.base.add("events", [values])
        assert file.base.count("events") == 0


def test_a_row_whose_trouble_is_told_is_not_told_itself(place: Place) -> None:
    """A server quotes the row it refuses; that may hold a customer's name."""
    with open_events(place) as file:
        with pytest.raises(StoreError) as error, file.writing():
            file.base.add("events", [("x" * 36, "k7", "x" * 24, "van", "note added", 1, '{"text": "Mrs Blue"}')])
        assert "Blue" not in str(error.value) and str(place) in str(error.value)


def test_appending_is_all_or_nothing_and_once(place: Place, tmp_path: Path) -> None:
    with open_events(tmp_path / "elsewhere.sqlite") as other:
        events = other.events_of(many(other, 1200))
    with open_events(place) as file:
        clash = replace(events[7], device="other")
        with pytest.raises(StoreError, match=f"saw event {clash.id}: a different event has the id .*; nothing was added"):
            file.append([*events, clash])
        assert file.base.count("events") == 0
        assert file.append([*events, events[0]]) == Taken(1201, 1)
        assert file.append(reversed(events)) == Taken(0, 1201)


def test_an_interrupted_recording_leaves_no_trace(place: Place) -> None:
    with open_events(place) as file:
        call = filled(file)
        with pytest.raises(KeyboardInterrupt), file.writing():
            record_all(file, call, [reading(1.0), reading(2.0)], source(2))
            raise KeyboardInterrupt
        with pytest.raises(MoveError):
            record_all(file, call, [reading(1.0), OPENING], source(2))
        assert len(file.events_of(call)) == 4
        file.record(call, reading(1.0), source(2))
        assert len(file.events_of(call)) == 5


def test_two_devices_write_at_once(place: Place) -> None:
    """Both record into one call and take from one shelf: nothing is lost, nothing is there twice, no level below nought."""
    with open_events(place) as file:
        call = filled(file, 0)
        record_moves(file, [Movement("receive", HOSE, 30)], source(9))
    start, short = threading.Barrier(2), []

    def write(device: str, seed: int) -> None:
        given = replace(source(seed, device), milliseconds=clock_at(5))
        start.wait()
        with open_events(place, create=False) as mine:
            for number in range(20):
                mine.record(call, reading(float(number)), given)
                try:
                    record_moves(mine, [Movement("take", HOSE, 1, call)], given)
                except ValueError:
                    short.append(device)

    writers = [threading.Thread(target=write, args=(device, seed)) for seed, device in enumerate(("van", "phone"))]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    with open_events(place) as file:
        events = file.events_of(call)
        assert len(events) == 41 and len({event.id for event in events}) == 41
        for device in ("van", "phone"):
            mine = [event.body for event in events[1:] if event.device == device]
            assert mine == [reading(float(number)) for number in range(20)]
        # Forty were wanted, thirty were there
        assert len(short) == 10 and stock_of(file).levels[HOSE].balance == 0


def test_the_same_event_from_two_devices_is_there_once(place: Place, tmp_path: Path) -> None:
    with open_events(tmp_path / "elsewhere.sqlite") as other:
        rows = [(f"event {row.id}", row) for call in [many(other, 400)] for row in other.rows(call)]
    start, taken = threading.Barrier(2), []
    open_events(place).close()

    def bring() -> None:
        start.wait()
        with open_events(place) as mine:
            taken.append(mine.take(rows))

    writers = [threading.Thread(target=bring) for _ in range(2)]
    for writer in writers:
        writer.start()
    for writer in writers:
        writer.join()
    assert sorted((one.added, one.known) for one in taken) == [(0, 401), (401, 0)]
    with open_events(place) as file:
        assert file.base.count("events") == 401


def test_two_programs_may_make_the_store_at_once(place: Place) -> None:
    start = threading.Barrier(4)

    def make(seed: int) -> None:
        start.wait()
        with open_events(place) as file:
            filled(file, 1, given=source(seed))

    makers = [threading.Thread(target=make, args=(seed,)) for seed in range(4)]
    for maker in makers:
        maker.start()
    for maker in makers:
        maker.join()
    with open_events(place) as file:
        assert len(file.calls()) == 4 and file.verify() == ()


def test_a_busy_store_is_said_to_be_busy(place: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    with open_events(place) as file:
        call = filled(file)
        monkeypatch.setattr("tundish.store.events.WAIT", 0.05)
        with open_events(place) as other, file.writing():
            # Reading goes on; the file lets nobody read while it takes what was written, which is short
            assert len(other.events_of(call)) == 4
            with pytest.raises(Trouble, match="one writer at a time; .* then try again; what was recorded before is untouched"):
                other.record(call, reading(1.0), source(2))
        assert len(file.events_of(call)) == 4


def test_lines_go_out_and_in(place: Place, tmp_path: Path) -> None:
    with open_events(place) as file:
        filled(file, 30)
        assert export(file, tmp_path / "out.jsonl") == 31
        whole = content_of(file.base)
        assert import_from(file, tmp_path / "out.jsonl") == Taken(0, 31)
    with open_events(tmp_path / "new.sqlite") as new:
        assert import_from(new, tmp_path / "out.jsonl") == Taken(31, 0)
        assert content_of(new.base) == whole


def test_what_a_server_cannot_hold_neither_gets(place: Place, tmp_path: Path) -> None:
    with open_events(tmp_path / "elsewhere.sqlite") as other:
        call = filled(other, 2)
        good, nought, large = other.rows(call)
        lines = record_moves(other, [Movement("receive", HOSE, 1)], source(5))
    nought, large = replace(nought, device="a\0b"), replace(large, kind="of the future", schema=2**63)
    with open_events(place) as file:
        taken = file.take([("1", good), ("2", nought), ("3", large)])
        assert (taken.added, [one.where for one in taken.refused]) == (1, ["2", "3"])
        assert "'a\\x00b'" in taken.refused[0].why and str(2**63) in taken.refused[1].why
        assert take_lines(file, [replace(lines[0], device="a\0b")]).added == 0
        with pytest.raises(StoreError, match=r"saw 'a\\x00b' in row"), file.writing():
            file.base.add("events", [astuple(nought)])


def test_a_failing_step_changes_nothing(place: Place) -> None:
    def further(connection: Connection) -> None:
        connection.execute(text("CREATE TABLE extra (x TEXT)"))
        raise OSError("power cut")

    with open_events(place) as file:
        filled(file)
        before = content_of(file.base)
        with pytest.raises(OSError, match="power cut"):
            schema.migrate(file.base.connection, (*schema.MIGRATIONS, further))
        assert schema.form(file.base.connection) == len(schema.MIGRATIONS)
        assert "extra" not in inspect(file.base.connection).get_table_names()
        assert content_of(file.base) == before


def test_forms_go_up_and_down_and_up(place: Place) -> None:
    with open_events(place) as file:
        connection = file.base.connection
        filled(file)
        before = content_of(file.base)
        schema.step_back(connection, 1)
        assert schema.form(connection) == 1 and "stock" not in inspect(connection).get_table_names()
        assert read_marks(connection).mark == APPLICATION and file.base.count("events") == 4
        with pytest.raises(StoreError, match="saw 4 rows in events; allowed: no rows in a table that the older form has not"):
            schema.step_back(connection, 0)
        assert schema.form(connection) == 1 and file.base.count("events") == 4
    # Opening brings it up again, with all it held and all that guards it
    with open_events(place) as file:
        assert content_of(file.base) == before
        record_moves(file, [Movement("receive", HOSE, 1)], source(4))
        for table in ("events", "stock"):
            with pytest.raises(Exception, match=f"{table} are append-only"):
                plain(file).execute(f"DELETE FROM {table}")
        with pytest.raises(StoreError, match="saw 1 rows in stock"):
            schema.step_back(file.base.connection, 1)
        assert schema.form(file.base.connection) == 2


def test_an_empty_store_goes_down_to_nothing(place: Place) -> None:
    with open_events(place) as file:
        schema.step_back(file.base.connection, 0)
        found = read_marks(file.base.connection)
        assert (found.mark, found.tables, found.form) == (0, 0, 0)
    with open_events(place) as file:
        assert len(file.events_of(filled(file))) == 4


def test_a_newer_form_is_refused_and_left_alone(place: Place) -> None:
    with open_events(place) as file:
        filled(file)
        with file.writing():
            write_marks(file.base.connection, APPLICATION, 9)
    with pytest.raises(StoreError, match="in form 9; allowed: forms up to 2; update this program"):
        open_events(place)
    with connected(place) as connection:
        assert read_marks(connection).form == 9


def test_another_programs_tables_are_refused_and_left_alone(place: Place) -> None:
    with connected(place) as connection:
        if not isinstance(place, Path):
            connection.execute(text("CREATE SCHEMA tundish"))
        connection.execute(text("CREATE TABLE recipes (name TEXT)"))
    with pytest.raises(StoreError, match="a database of another program"):
        open_events(place)
    with connected(place) as connection:
        assert inspect(connection).get_table_names() == ["recipes"]


def test_openings_are_found_though_they_were_corrected(place: Place) -> None:
    with open_events(place) as file:
        call = filled(file, name="Blue door")
        better = bodies.CallOpened("front-load washer", "EU", "NOFILL", name="Green door")
        file.record(call, bodies.Corrected(file.events_of(call)[0].id, better), source(2))
        other = filled(file, name="Red door", given=source(3))
        assert [(head.name, head.complaint) for head in file.calls()] == [("Green door", "NOFILL"), ("Red door", "SLOW")]
        assert [row[0] for row in file.base.tallies()] == sorted([call, other])


def test_closed_calls_are_taken_from_either(place: Place, tmp_path: Path) -> None:
    """What is learned from is the same, wherever the calls lie."""
    pytest.importorskip("pyarrow")
    from tundish.call.closing import CallbackOf
    from tundish.call.doings import CallEnded
    from tundish.store.closed import Stated, update
    from tundish.store.shelved import files, read_list

    with open_events(tmp_path / "elsewhere.sqlite") as other:
        given = source(4)
        calls = [filled(other, 2, given=given, name=f"call {number}") for number in range(6)]
        for call in calls:
            other.record(call, CallEnded("nothing wrong"), given)
        back = filled(other, 0, given=given)
        other.record(back, CallbackOf(calls[2], "again"), given)
        with open_events(place) as file:
            assert unite(file, other).refused == ()
            shelves = []
            for one, folder in ((other, tmp_path / "a"), (file, tmp_path / "b")):
                done = update(one, folder, lambda state: Stated({"S04": 0.5}, {}))
                assert (done.new, done.left_out) == (6, ())
                assert update(one, folder, lambda state: Stated({}, {})).new == 0
                shelves.append((folder, read_list(folder)))
    (a, first), (b, second) = shelves
    assert first == second
    for name, paths in files(a, first).items():
        assert [path.read_bytes() for path in paths] == [path.read_bytes() for path in files(b, second)[name]]


@pytest.mark.engines
def test_kills_on_a_server_lose_nothing_that_was_acknowledged(tmp_path: Path) -> None:
    draw, acknowledged = random.Random(11), set()
    with place_for("server", tmp_path) as place:
        for seed in range(10):
            environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT), str(HERE)])}
            command = [sys.executable, str(HERE / "kill_writer.py"), str(place), str(seed)]
            with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as writer:
                assert writer.stdout is not None
                said = [writer.stdout.readline() for _ in range(draw.randint(1, 8))]
                time.sleep(draw.uniform(0, 0.01))
                writer.send_signal(signal.SIGKILL)
                said += writer.stdout.readlines()
            acknowledged |= {word for line in said if line.endswith("\n") for word in line.split()}
            with open_events(place) as file:
                assert file.verify() == ()
                assert acknowledged <= {row.id for row in file.rows()}, f"after kill {seed}"
    assert len(acknowledged) > 100


@pytest.mark.engines
def test_a_server_that_goes_away_is_said_and_found_again(tmp_path: Path) -> None:
    psycopg = pytest.importorskip("psycopg")
    with place_for("server", tmp_path) as place, open_events(place) as file:
        call = filled(file)
        with psycopg.connect(server_address(), autocommit=True) as other:
            other.execute("SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = %s", (str(place).rpartition("/")[2],))
        with pytest.raises(Trouble, match="a server that answers|terminating connection"):
            file.record(call, reading(1.0), source(2))
        file.close()
        with open_events(place) as again:
            assert len(again.events_of(call)) == 4
            again.record(call, reading(1.0), source(3))
            assert len(again.events_of(call)) == 5


@pytest.mark.engines
def test_a_user_who_may_only_add_can_work_and_change_nothing(tmp_path: Path) -> None:
    """The grants of docs/store.md suffice."""
    psycopg = pytest.importorskip("psycopg")
    role, word = f"tundish_test_{secrets.token_hex(4)}", secrets.token_hex(8)
    with place_for("server", tmp_path) as place, psycopg.connect(str(place), autocommit=True) as owner:
        with open_events(place) as file:
            call = filled(file)
        owner.execute(f"CREATE ROLE {role} LOGIN PASSWORD '{word}'")
        try:
            owner.execute(f"GRANT USAGE ON SCHEMA tundish TO {role}")
            owner.execute(f"GRANT SELECT, INSERT ON tundish.events, tundish.stock TO {role}")
            owner.execute(f"GRANT SELECT ON tundish.form TO {role}")
            address = str(place)
            mine = Server(f"postgresql://{role}@{address.rpartition('//')[2].rpartition('@')[2]}")
            before, os.environ["PGPASSWORD"] = os.environ.get("PGPASSWORD"), word
            try:
                with open_events(mine, create=False) as file:
                    file.record(call, reading(1.0), source(2))
                    record_moves(file, [Movement("receive", HOSE, 1)], source(3))
                    assert len(file.events_of(call)) == 5
                    with pytest.raises(Exception, match="permission denied|must be owner"):
                        plain(file).execute("DROP TABLE tundish.events")
                    with pytest.raises(Exception, match="permission denied|must be owner"):
                        plain(file).execute("UPDATE events SET device = 'x'")
            finally:
                forget()
                os.environ.pop("PGPASSWORD") if before is None else os.environ.update(PGPASSWORD=before)
        finally:
            owner.execute(f"DROP OWNED BY {role}")
            owner.execute(f"DROP ROLE {role}")


@pytest.mark.engines
def test_a_database_that_cannot_hold_every_letter_is_refused(tmp_path: Path) -> None:
    with place_for("server", tmp_path, encoding="LATIN1") as place, pytest.raises(StoreError, match="saw a database in LATIN1; .*UTF8"):
        open_events(place)


# A file as the program before SQLAlchemy made it, word for word.
FORM_1 = """
CREATE TABLE events ( id TEXT NOT NULL PRIMARY KEY CHECK (length(id) = 36), call TEXT NOT NULL CHECK (length(call) >= 3),
 at TEXT NOT NULL CHECK (length(at) = 24), device TEXT NOT NULL CHECK (length(device) >= 1),
 kind TEXT NOT NULL CHECK (length(kind) >= 1), schema INTEGER NOT NULL CHECK (schema >= 1), body TEXT NOT NULL);
CREATE INDEX events_of_call ON events (call, id);
CREATE TRIGGER no_update BEFORE UPDATE ON events BEGIN SELECT RAISE(ABORT, 'events are append-only: record a correction'); END;
CREATE TRIGGER no_delete BEFORE DELETE ON events BEGIN SELECT RAISE(ABORT, 'events are append-only: record a correction'); END;
CREATE TRIGGER no_replace BEFORE INSERT ON events WHEN EXISTS (SELECT 1 FROM events WHERE id = NEW.id)
 BEGIN SELECT RAISE(ABORT, 'events are append-only: an event with this id is there'); END;
PRAGMA application_id = 0x54554E44;
PRAGMA user_version = 1;
"""


def test_a_file_of_the_program_before_is_read_and_brought_up(tmp_path: Path) -> None:
    with open_events(tmp_path / "new.sqlite") as other:
        rows = [astuple(row) for call in [filled(other, 5)] for row in other.rows(call)]
    path = tmp_path / "calls.sqlite"
    with closing(sqlite3.connect(path)) as old:
        old.executescript(FORM_1)
        old.executemany("INSERT INTO events VALUES (?, ?, ?, ?, ?, ?, ?)", rows)
        old.commit()
    with open_events(path) as file:
        assert [astuple(row) for row in file.rows()] == rows and file.verify() == ()
        assert schema.form(file.base.connection) == 2 and lines_of(file) == ()
        assert fold(file.events_of(rows[0][1])).opened is not None
        assert codec.read(codec.Written(*rows[0])).call == rows[0][1]
        with pytest.raises(sqlite3.IntegrityError, match="events are append-only"):
            plain(file).execute("DELETE FROM events")


def test_readers_see_a_whole_writing_or_nothing(place: Place) -> None:
    """A second connection looks while the first writes in pieces."""
    with open_events(place) as file, open_events(place) as other:
        call = filled(file, 0)
        with file.writing():
            file.record(call, reading(1.0), source(2))
            file.record(call, reading(2.0), source(3))
            assert len(other.events_of(call)) == 1
        assert len(other.events_of(call)) == 3
