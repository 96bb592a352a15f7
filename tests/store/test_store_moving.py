"""Calls move from place to place: all of them, compared, the old place as it was, and no event lost on the way."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from place_maker import KINDS, place_for
from store_maker import filled, reading, source
from test_event_kill import ROOT
from troubles import no_file_longer_than

from tundish.call import bodies
from tundish.call.codec import Written
from tundish.store import moving
from tundish.store.base import Base, open_target
from tundish.store.errors import StoreError
from tundish.store.events import EventFile, open_events
from tundish.store.moving import content_of, join, move
from tundish.store.opening import open_calls
from tundish.store.places import FILE, VARIABLE, Place, place_of
from tundish.store.stock import record_moves
from tundish.van.part import PartKey
from tundish.van.stock import Movement

HOSE = PartKey("any", "fill hose")
NO: dict[str, str] = {}


@pytest.fixture(params=KINDS)
def target(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Place]:
    with place_for(request.param, tmp_path, "new/calls.sqlite") as found:
        yield found


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A data folder with calls, stock, and a row that another program spoilt."""
    folder = tmp_path / "data"
    with open_calls(folder, NO) as file:
        shop(file)
    return folder


def shop(file: EventFile) -> None:
    for number in range(3):
        filled(file, 10, given=source(number, start=1_764_000_000_000 + number * 10**8), name=f"Door {number}")
    record_moves(file, [Movement("receive", HOSE, 3), Movement("take", HOSE, 1)], source(8))
    odd = Written("019ab697-e802-7000-8000-00000000000f", "k7f", "x" * 24, "v\n\"\\ü", "from the future", 7, '{ "a":1 , "b": 1e400}')
    with file.writing():
        file.base.add("events", [(odd.id, odd.call, odd.at, odd.device, odd.kind, odd.schema, odd.body)])


def held(place: Place) -> moving.Content:
    with open_events(place, create=False) as file:
        return content_of(file.base)


def test_there_and_back(folder: Path, target: Place) -> None:
    old = folder / "calls.sqlite"
    before, content = old.read_bytes(), held(old)
    moved = move(folder, target, environ=NO)
    assert (moved.source, moved.target, moved.content) == (old, target, content)
    assert (content.events, content.stock) == (34, 2)
    assert place_of(folder, NO) == target and held(target) == content
    # Left as it was, to the byte
    assert old.read_bytes() == before
    with open_calls(folder, NO) as file:
        assert file.record(file.resolve("Door 1"), reading(9.0), source(9)).id
    later = held(target)
    assert later.events == 35 and later.sha256 != content.sha256
    back = folder / "back.sqlite"
    assert move(folder, back, environ=NO).content == later
    assert place_of(folder, NO) == back and held(back) == later == held(target)
    assert (folder / FILE).read_text() == "back.sqlite\n" and old.read_bytes() == before


def test_an_empty_shop_moves_too(tmp_path: Path, target: Place) -> None:
    assert move(tmp_path / "data", target, environ=NO).content.events == 0
    with open_calls(tmp_path / "data", NO) as file:
        assert file.path == (target if isinstance(target, Path) else str(target)) and len(file.events_of(filled(file))) == 4


@pytest.mark.parametrize("table", ["events", "stock"])
def test_a_target_that_holds_anything_is_refused_and_left_alone(folder: Path, target: Place, table: str) -> None:
    with open_events(target) as file:
        if table == "events":
            filled(file, 1)
        else:
            record_moves(file, [Movement("receive", HOSE, 1)], source(8))
    content = held(target)
    with pytest.raises(StoreError, match=r"with \d rows in it; allowed: an empty place; .*tundish store join"):
        move(folder, target, environ=NO)
    assert held(target) == content and place_of(folder, NO) == folder / "calls.sqlite"
    # Moved to the same place again: it is where the calls lie
    with pytest.raises(StoreError, match="where the calls lie already"):
        move(folder, folder / "x" / ".." / "calls.sqlite", environ=NO)


def test_an_empty_target_that_is_there_is_filled(folder: Path, target: Place) -> None:
    open_events(target).close()
    assert move(folder, target, environ=NO).content == held(target)


def test_a_copy_that_differs_is_not_switched_to(folder: Path, target: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    """One row is spoilt on its way, with all counts right."""
    add = Base.add

    def spoilt(base: Base, table: str, rows: list[tuple[object, ...]]) -> None:
        add(base, table, [(*row[:-1], "{}") if number == 5 and table == "events" else row for number, row in enumerate(rows)])

    with monkeypatch.context() as patched:
        patched.setattr(Base, "add", spoilt)
        with pytest.raises(StoreError, match=r"saw 34 events and 2 lines .* in .*, 34 events and 2 lines .*; allowed: the same in both"):
            move(folder, target, environ=NO)
    assert place_of(folder, NO) == folder / "calls.sqlite"
    # Tried again it is still not the same, and nobody can take it for a store
    with pytest.raises(StoreError, match="allowed: the same in both"):
        move(folder, target, environ=NO)
    with pytest.raises(StoreError, match="half-filled by a move that was cut off"):
        open_events(target)
    with open_calls(folder, NO) as file:
        assert len(file.calls()) == 4


def test_a_move_cut_off_goes_on(folder: Path, target: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(moving, "TOGETHER", 10)

    def cut(share: float) -> None:
        if share > 0.5:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        move(folder, target, environ=NO, progress=cut)
    assert place_of(folder, NO) == folder / "calls.sqlite"
    for create in (True, False):
        with pytest.raises(StoreError, match="half-filled by a move that was cut off; .*; move again"):
            open_events(target, create=create)
    # Work goes on meanwhile, and is moved too
    with open_calls(folder, NO) as file:
        file.record(file.resolve("Door 1"), reading(9.0), source(9))
    fresh: list[int] = []
    add = Base.add
    monkeypatch.setattr(Base, "add", lambda base, table, rows: (fresh.append(len(rows)), add(base, table, rows))[1])
    assert move(folder, target, environ=NO).content == held(target)
    # Twenty rows were there
    assert sum(fresh) == 35 + 2 - 20
    assert held(target) == held(folder / "calls.sqlite")


def test_a_move_cut_off_after_the_switch_is_as_good_as_ended(folder: Path, target: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    def cut(base: Base) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(Base, "settle", cut)
        with pytest.raises(KeyboardInterrupt):
            move(folder, target, environ=NO)
    assert place_of(folder, NO) == target
    # Another computer cannot know that it was compared
    with pytest.raises(StoreError, match="half-filled"):
        open_calls(folder.with_name("other"), {"TUNDISH_DATA": str(folder.with_name("other")), VARIABLE: str(target)})
    with open_calls(folder, NO) as file:
        assert content_of(file.base) == held(folder / "calls.sqlite")
    assert held(target).events == 34


def test_two_moves_at_once_do_not_mix(folder: Path, tmp_path: Path) -> None:
    """One computer, two windows: one moves, the other moves on from there or is refused."""
    start, said = threading.Barrier(2), []

    def go(name: str) -> None:
        start.wait()
        try:
            said.append(move(folder, tmp_path / name, environ=NO).content.events)
        except StoreError as error:
            said.append(str(error))

    movers = [threading.Thread(target=go, args=(name,)) for name in ("a.sqlite", "b.sqlite")]
    for mover in movers:
        mover.start()
    for mover in movers:
        mover.join()
    assert 34 in said
    with open_calls(folder, NO) as file:
        assert content_of(file.base).events == 34


def test_nothing_recorded_during_a_move_is_lost(folder: Path, target: Place) -> None:
    """Another window records all the while; what it is told is recorded is where the calls lie in the end."""
    go, recorded, refused = threading.Event(), [], []
    with open_calls(folder, NO) as file:
        call = file.resolve("Door 1")

    def work() -> None:
        given = source(77)
        while not go.is_set() or len(recorded) < 3:
            try:
                with open_calls(folder, NO) as mine:
                    recorded.append(mine.record(call, reading(1.0), given).id)
            except StoreError as error:
                refused.append(str(error))

    worker = threading.Thread(target=work)
    worker.start()
    while not recorded:
        time.sleep(0.001)
    move(folder, target, environ=NO)
    after = len(recorded)
    while worker.is_alive() and len(recorded) < after + 3:
        time.sleep(0.001)
    go.set()
    worker.join()
    with open_calls(folder, NO) as file:
        there = {row.id for row in file.rows()}
    assert set(recorded) <= there and len(recorded) > after
    assert all("they were moved meanwhile" in one for one in refused)


def test_who_waited_for_the_move_is_told_and_writes_nothing_into_the_old_place(folder: Path, target: Place) -> None:
    with open_calls(folder, NO) as file:
        call, before = file.resolve("Door 1"), content_of(file.base)
        move(folder, target, environ=NO)
        with pytest.raises(StoreError, match=r"saw the calls in .*, not in .* any more; .*; record it again"):
            file.record(call, reading(1.0), source(5))
        assert content_of(file.base) == before


def test_a_full_disk_while_moving_switches_nothing(folder: Path, tmp_path: Path) -> None:
    with open_calls(folder, NO) as file:
        call = file.resolve("Door 1")
        for number in range(10):
            file.record(call, bodies.NoteAdded("x" * 20_000), source(20 + number))
    new = tmp_path / "new.sqlite"
    with no_file_longer_than(100_000), pytest.raises(StoreError, match="disk"):
        move(folder, new, environ=NO)
    assert place_of(folder, NO) == folder / "calls.sqlite"
    assert move(folder, new, environ=NO).content == held(new)


def test_the_variable_is_not_moved_behind_its_back(folder: Path, tmp_path: Path) -> None:
    for act in (move, join):
        with pytest.raises(StoreError, match=f"saw {VARIABLE} naming .*other.sqlite; .*; unset it first"):
            act(folder, tmp_path / "x.sqlite", environ={"TUNDISH_DATA": str(folder), VARIABLE: "other.sqlite"})


def test_a_second_computer_joins(folder: Path, target: Place, tmp_path: Path) -> None:
    move(folder, target, environ=NO)
    second = tmp_path / "second"
    with open_calls(second, NO) as file:
        own = filled(file, 2, given=source(50), name="Own door")
        record_moves(file, [Movement("receive", HOSE, 5)], source(51))
    # What both have is there once
    shutil.copy(folder / "calls.sqlite", tmp_path / "copy.sqlite")
    with open_calls(second, NO) as file, open_events(tmp_path / "copy.sqlite") as other:
        file.take(("x", row) for row in list(other.rows())[:12])
    before = (second / "calls.sqlite").read_bytes()
    taken = join(second, target, environ=NO)
    assert (taken.added, taken.known) == (3 + 1, 11) and taken.refused == ()
    assert (second / "calls.sqlite").read_bytes() == before
    for one in (folder, second):
        with open_calls(one, NO) as file:
            assert file.resolve("own") == own and len(file.calls()) == 5
            assert content_of(file.base).stock == 3


def test_joining_what_is_no_store_is_refused(folder: Path, target: Place) -> None:
    with pytest.raises(StoreError, match="saw no calls in|saw no file"):
        join(folder, target, environ=NO)
    open_target(target, wait=1.0).close()
    with pytest.raises(StoreError, match="half-filled"):
        join(folder, target, environ=NO)
    assert place_of(folder, NO) == folder / "calls.sqlite"


def test_a_password_is_nowhere(folder: Path, target: Place, monkeypatch: pytest.MonkeyPatch) -> None:
    """Neither in the data folder nor in what is said; the folder holds files only that we know."""
    word = os.environ.get("PGPASSWORD", "no password at all")
    moved = move(folder, target, environ=NO)
    assert word not in repr(moved)
    assert all(word.encode() not in path.read_bytes() for path in folder.rglob("*") if path.is_file())
    with pytest.raises(StoreError) as error:
        open_calls(folder, {"TUNDISH_DATA": str(folder), VARIABLE: "postgresql://ann@127.0.0.1:1/x"})
    assert word not in str(error.value)


# Kills itself with signal 9 at a step: the n-th piece copied, or before or after a function of the module.
MOVER = """
import os, signal, sys
from pathlib import Path
from tundish.store import moving
from tundish.store.base import Base
from tundish.store.places import place_from

def die(*words):
    os.kill(os.getpid(), signal.SIGKILL)

def dying(function, last):
    return lambda *words: (function(*words), die())[1] if last else die()

def count(share, done=[0]):
    done[0] += 1
    if sys.argv[3] == str(done[0]):
        die()

moving.TOGETHER = 5
folder = Path(sys.argv[1])
if sys.argv[3] == "before the switch":
    moving.keep_place = die
if sys.argv[3] == "after the switch":
    moving.keep_place = dying(moving.keep_place, True)
if sys.argv[3] == "at the end":
    Base.settle = dying(Base.settle, True)
moving.move(folder, place_from(sys.argv[2], folder), environ={}, progress=count)
"""


def test_a_move_killed_at_any_step_can_be_made_again(folder: Path, target: Place) -> None:
    """Killed at a piece, then at a later one, and so on; then at the switch. The calls are all there each time."""
    before, environment = held(folder / "calls.sqlite"), {**os.environ, "PYTHONPATH": str(ROOT)}
    for step in ("1", "2", "4", "6", "before the switch", "after the switch"):
        command = [sys.executable, "-c", MOVER, str(folder), str(target), step]
        assert subprocess.run(command, env=environment, check=False).returncode == -signal.SIGKILL, step
        switched = place_of(folder, NO) == target
        assert switched == (step == "after the switch")
        if not switched:
            with pytest.raises(StoreError, match="half-filled"):
                open_events(target, create=False)
        with open_calls(folder, NO) as file:
            assert content_of(file.base) == before
    assert held(target) == before == held(folder / "calls.sqlite")
    # From there on to a file, killed when all is done but the answer
    third = folder / "calls.sqlite"
    third.unlink()
    command = [sys.executable, "-c", MOVER, str(folder), str(third), "at the end"]
    assert subprocess.run(command, env=environment, check=False).returncode == -signal.SIGKILL
    assert place_of(folder, NO) == third and held(third) == before
