"""The tables of closed calls: only what changed is written anew, and an update cut off leaves what was there."""

from __future__ import annotations

from itertools import count

import pytest

from tundish.call.bodies import CallOpened, Corrected, NoteAdded, ReadingTaken, RepairDone
from tundish.call.closing import CallbackOf
from tundish.call.doings import CallEnded
from tundish.call.events import Event
from tundish.call.identity import ID_BYTES, mint, moment
from tundish.history import asked
from tundish.history.tables import TABLES
from tundish.store import shelved
from tundish.store.clock import Source
from tundish.store.closed import Stated, update
from tundish.store.engines import duckdb, rows
from tundish.store.errors import StoreError
from tundish.store.events import open_events
from tundish.store.shelved import files, read_list, schema_of

pytest.importorskip("ibis")
DAY = 86_400_000
LATER = 10**18


class Shop:
    """A file of events with a clock of its own, and the calls whose odds were asked for."""

    def __init__(self, folder):
        self.file, self.folder = open_events(folder / "calls.sqlite"), folder / "closed"
        self.asked, self.now = [], 1_700_000_000_000
        self.fresh = count(1)
        self.source = Source(self.clock, lambda many: next(self.fresh).to_bytes(many, "big"), "van")

    def clock(self):
        self.now += 60_000
        return self.now

    def record(self, call, body):
        """Whatever the moves say: a call of an older version, or of another device, has no consent."""
        events = self.file.events_of(call)
        now = self.clock()
        stamp = mint(events[-1].id, now, self.source.random_bytes(ID_BYTES))
        self.file.append([Event(stamp, "van", moment(now), call, body)])

    def call(self, name, complaint="SLOW", *, earlier="", ending="unproven"):
        opened = self.file.open_call(CallOpened("toy", "EU", complaint, 5.0, (), name=name), self.source).call
        if earlier:
            self.record(opened, CallbackOf(earlier, "again"))
        self.record(opened, ReadingTaken("C05.cold", 43.0, None, "exact", "43 psi"))
        self.record(opened, RepairDone("S04"))
        if ending:
            self.record(opened, CallEnded(ending))
        return opened

    def state(self, state):
        self.asked.append(state.call)
        return Stated({"S04": 0.8, "S06": 0.1}, {}, "")

    def update(self):
        self.asked.clear()
        return update(self.file, self.folder, self.state)

    def table(self, name):
        engine = duckdb(files(self.folder, read_list(self.folder)))
        found = rows(engine.tables[name])
        engine.close()
        return found


@pytest.fixture
def shop(tmp_path):
    made = Shop(tmp_path)
    yield made
    made.file.close()


def written(folder):
    return {path: path.stat().st_mtime_ns for path in folder.rglob("*.parquet")}


def test_new_calls_come_in_new_files_and_nothing_else_is_touched(shop):
    first, waiting = shop.call("a"), shop.call("open", ending="")
    assert (shop.update().new, shop.asked) == (1, [first])
    before = written(shop.folder)
    done = shop.update()
    assert (done.new, done.changed, done.gone, shop.asked) == (0, 0, 0, [])
    assert written(shop.folder) == before
    second = shop.call("b")
    assert (shop.update().new, shop.asked) == (1, [second])
    after = written(shop.folder)
    assert before.items() <= after.items() and len(after) > len(before)
    shop.record(waiting, CallEnded("unproven"))
    assert (shop.update().new, shop.asked) == (1, [waiting])
    assert sorted(row["call"] for row in shop.table("calls")) == sorted([first, second, waiting])


def test_a_changed_call_is_there_once(shop):
    call, other = shop.call("a"), shop.call("b")
    shop.update()
    shop.record(call, NoteAdded("the customer called"))
    done = shop.update()
    assert (done.new, done.changed, shop.asked) == (0, 1, [call])
    assert sorted(row["call"] for row in shop.table("calls")) == sorted([call, other])
    ending = next(event for event in shop.file.events_of(call) if isinstance(event.body, CallEnded))
    shop.record(call, Corrected(ending.id, None, "not yet"))
    assert shop.update().gone == 1
    for name in TABLES:
        assert {row["call"] for row in shop.table(name)} <= {other}


def test_a_callback_comes_to_the_earlier_call(shop):
    first = shop.call("a")
    shop.update()
    assert shop.table("calls")[0]["back"] is None
    shop.now += 3 * DAY
    shop.call("again", earlier=first)
    assert shop.update().changed == 1
    (row,) = [row for row in shop.table("calls") if row["call"] == first]
    assert 2.9 * DAY < (row["back"] - row["ended"]) / 1000 < 3.1 * DAY
    engine = duckdb(files(shop.folder, read_list(shop.folder)))
    found = rows(asked.returns(engine.tables["repairs"], LATER))
    engine.close()
    assert sum(row["calls"] for row in found if row["is_back"]) == 1 and sum(row["calls"] for row in found) == 2
    # Another complaint is no callback of this one
    shop.call("other", "NOFILL", earlier=first)
    assert shop.update().changed == 0


def test_an_update_cut_off_leaves_what_was_there(shop, monkeypatch):
    first = shop.call("a")
    shop.update()
    shop.call("b")

    def full(*_):
        raise StoreError(seen="a full disk", allowed="room", do="make room")

    monkeypatch.setattr(shelved, "_write_list", full)
    with pytest.raises(StoreError):
        shop.update()
    monkeypatch.undo()
    assert [row["call"] for row in shop.table("calls")] == [first]
    assert shop.update().new == 1
    assert len(shop.table("calls")) == 2
    named = {path for some in files(shop.folder, read_list(shop.folder)).values() for path in some}
    assert {path for path in shop.folder.rglob("*.parquet") if not path.name.startswith("empty")} <= named


def test_a_call_that_cannot_be_stated_is_named_and_the_others_go_on(shop):
    bad, good = shop.call("a"), shop.call("b")

    def state(found):
        if found.call == bad:
            raise ValueError("no such family")
        return shop.state(found)

    done = update(shop.file, shop.folder, state)
    assert done.left_out == ((bad, "no such family"),) and done.new == 1
    assert [row["call"] for row in shop.table("calls")] == [good]


def test_the_schema_is_as_said(shop):
    from pyarrow.parquet import read_schema

    shop.call("a")
    shop.update()
    assert str(schema_of("calls").field("ended_at").type) == "timestamp[us, tz=UTC]"
    for name in TABLES:
        for path in files(shop.folder, read_list(shop.folder))[name]:
            assert read_schema(path).equals(schema_of(name))


def test_a_broken_or_newer_list_is_refused_with_the_cure(shop):
    shop.call("a")
    shop.update()
    path = shop.folder / "list.json"
    path.write_text('{"form": 9}')
    with pytest.raises(StoreError, match="newer version"):
        shop.update()
    path.write_text("{")
    with pytest.raises(StoreError, match="delete the folder"):
        shop.update()
