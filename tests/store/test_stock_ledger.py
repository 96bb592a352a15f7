"""The ledger of parts: only added to, once, by one at a time; two of them become one by union."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
import threading
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from store_maker import filled, reading, source
from troubles import no_file_longer_than

import tundish
from tundish.call.errors import MoveError
from tundish.store import schema
from tundish.store.connecting import connected
from tundish.store.errors import StoreError
from tundish.store.events import Taken, open_events, record_all
from tundish.store.merge import merge
from tundish.store.stock import MOST, Line, lines_of, record_moves, stock_of, take_lines
from tundish.van.errors import VanError
from tundish.van.part import PartKey
from tundish.van.stock import STEPS, Level, Movement

ROOT = Path(tundish.__file__).parents[1]
HOSE, PUMP = PartKey("any", "fill hose"), PartKey("dishwasher", "drain pump")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "calls.sqlite"


def stocked(path: Path, *moves: Movement, seed: int = 1) -> tuple[Line, ...]:
    with open_events(path) as file:
        return record_moves(file, moves or [Movement("receive", HOSE, 3)], source(seed))


def levels(path: Path) -> dict[PartKey, Level]:
    with open_events(path) as file:
        return stock_of(file).levels


def test_what_is_recorded_is_there_when_opened_again(path: Path) -> None:
    stocked(
        path, Movement("receive", HOSE, 3), Movement("take", HOSE, 1, "k7f3q0"), Movement("order", PUMP, 2)
    )
    stocked(path, Movement("arrive", PUMP, 2), Movement("minimum", PUMP, 1), seed=2)
    assert levels(path) == {HOSE: Level(2), PUMP: Level(2, 0, 1)}
    with open_events(path) as file:
        lines = lines_of(file)
    assert [line.id for line in lines] == sorted({line.id for line in lines})
    assert lines[1].call == "k7f3q0" and lines[1].part == "any: fill hose"


def test_other_programs_can_read_it_and_not_change_it(path: Path) -> None:
    stocked(path)
    plain = sqlite3.connect(path)
    assert plain.execute("SELECT kind, part, count, call FROM stock").fetchall() == [
        ("receive", "any: fill hose", 3, "")
    ]
    for sql in (
        "UPDATE stock SET count = 9",
        "DELETE FROM stock",
        "REPLACE INTO stock SELECT id, at, device, kind, part, 9, call FROM stock",
    ):
        with pytest.raises(sqlite3.IntegrityError, match="stock are append-only"):
            plain.execute(sql)
    for count in ("'many'", "-1", "1.5"):
        with pytest.raises(sqlite3.IntegrityError, match="CHECK"):
            plain.execute(
                f"INSERT INTO stock VALUES ('{'x' * 36}', '{'y' * 24}', 'd', 'take', 'p', {count}, '')"
            )
    plain.close()
    assert levels(path) == {HOSE: Level(3)}


def test_a_part_that_is_not_there_cannot_be_taken(path: Path) -> None:
    stocked(path, Movement("receive", HOSE, 1))
    with pytest.raises(
        VanError, match="saw take 2 of any: fill hose with 1 on van; allowed: up to 1; receive"
    ):
        stocked(path, Movement("receive", PUMP, 5), Movement("take", HOSE, 2))
    # None of the two is there
    assert levels(path) == {HOSE: Level(1)}


@pytest.mark.parametrize(
    ("part", "count"),
    [
        (PartKey("any", "fill\nhose"), 1),
        (PartKey("any ", "fill hose"), 1),
        (PartKey("a: b", "fill hose"), 1),
        (PartKey("any", "x" * 500), 1),
        (HOSE, MOST + 1),
        (HOSE, 10**30),
    ],
)
def test_what_would_not_be_read_back_is_not_written(path: Path, part: PartKey, count: int) -> None:
    with pytest.raises(VanError, match="correct the n"):
        stocked(path, Movement("receive", part, count))
    assert levels(path) == {}


def test_the_same_line_twice_is_there_once(path: Path) -> None:
    lines = stocked(path)
    with open_events(path.with_name("other.sqlite")) as other:
        assert take_lines(other, lines) == Taken(1, 0)
        assert take_lines(other, lines) == Taken(0, 1)
        clash = take_lines(other, [replace(lines[0], count=99)])
        assert clash.added == 0 and "a different stock line" in clash.refused[0].why
        assert stock_of(other).levels == {HOSE: Level(3)}


@pytest.mark.parametrize(
    "bad",
    [
        {"id": "7"},
        {"at": "today"},
        {"part": "hose"},
        {"count": -1},
        {"count": 0},
        {"count": "3"},
        {"part": "any:  hose"},
    ],
)
def test_an_unsound_line_is_named_and_the_others_are_taken(path: Path, bad: dict[str, object]) -> None:
    good = stocked(path)[0]
    with open_events(path.with_name("other.sqlite")) as other:
        taken = take_lines(other, [replace(good, **{"id": good.id[:-1] + "0", **bad}), good])  # type: ignore[arg-type]
        assert taken.added == 1 and len(taken.refused) == 1
        assert stock_of(other).levels == {HOSE: Level(3)}


def test_two_devices_become_one_by_union_in_either_order(path: Path, tmp_path: Path) -> None:
    stocked(path, Movement("receive", HOSE, 2))
    phone, back = tmp_path / "phone.sqlite", tmp_path / "back.sqlite"
    with open_events(phone) as file:
        merge(file, path)
        filled(file, 2)
    with open_events(back) as file:
        merge(file, phone)
    stocked(path, Movement("take", HOSE, 2), seed=3)
    stocked(phone, Movement("take", HOSE, 2), seed=4)
    for one, other in ((path, phone), (phone, path)):
        with open_events(one) as file:
            taken = merge(file, other)
            assert taken.refused == () and merge(file, other).added == 0
    assert levels(path) == levels(phone)
    # Each device saw two hoses: the union took four, which says that somebody has to count
    assert levels(path)[HOSE] == Level(-2) and levels(path)[HOSE].short == 2
    stocked(path, Movement("count", HOSE, 0), seed=5)
    assert levels(path)[HOSE] == Level(0)


MOVES = st.builds(
    Movement,
    st.sampled_from(sorted(STEPS)),
    st.sampled_from([HOSE, PUMP]),
    st.integers(1, 5),
)


# Every line is flushed to the disk, so a few examples take a second
@settings(max_examples=20)
@given(st.lists(st.tuples(st.integers(0, 1), MOVES), max_size=12), st.randoms(use_true_random=False))
def test_any_order_and_repeats_of_lines_give_the_same_stock(
    tmp_path_factory: pytest.TempPathFactory, moves: list[tuple[int, Movement]], order: object
) -> None:
    folder = tmp_path_factory.mktemp("union")
    lines: list[Line] = []
    for device, move in moves:
        try:
            lines += stocked(folder / f"{device}.sqlite", move, seed=len(lines) + 100 * device)
        except VanError:
            continue
    shuffled = [*lines, *lines]
    order.shuffle(shuffled)  # type: ignore[attr-defined]
    with open_events(folder / "a.sqlite") as one, open_events(folder / "b.sqlite") as other:
        take_lines(one, lines)
        for start in range(0, len(shuffled), 5):
            take_lines(other, shuffled[start : start + 5])
        assert stock_of(one) == stock_of(other) and lines_of(one) == lines_of(other)
        assert len(lines_of(one)) == len(lines)


def test_kinds_of_a_newer_version_are_kept_and_told(path: Path) -> None:
    line = replace(stocked(path)[0], id="019ab697-e802-7000-8000-000000000000", kind="lend")
    with open_events(path) as file:
        assert take_lines(file, [line]).added == 1
        found = stock_of(file)
        assert found.levels == {HOSE: Level(3)} and found.unread == (line,)


def test_nonsense_of_another_program_is_named(path: Path) -> None:
    line = stocked(path)[0]
    plain = sqlite3.connect(path)
    plain.execute("INSERT INTO stock VALUES (?, ?, 'd', 'take', 'no part', 1, '')", ("x" * 36, line.at))
    plain.commit()
    plain.close()
    with open_events(path) as file, pytest.raises(StoreError, match=f"stock line {'x' * 36} of .*no part"):
        stock_of(file)
    # The cure the message names works
    with open_events(path.with_name("new.sqlite")) as new:
        assert [refusal.where for refusal in merge(new, path).refused] == [f"stock line {'x' * 36}"]
        assert stock_of(new).levels == {HOSE: Level(3)}


def test_events_and_stock_are_written_together_or_not_at_all(path: Path) -> None:
    stocked(path, Movement("receive", HOSE, 1))
    with open_events(path) as file:
        call = filled(file, 1)
        with pytest.raises(VanError), file.writing():
            record_all(file, call, [reading(1.0)], source(2))
            record_moves(file, [Movement("take", HOSE, 2, call)], source(3))
        assert len(file.events_of(call)) == 2
        with pytest.raises(MoveError), file.writing():
            record_moves(file, [Movement("take", HOSE, 1, call)], source(4))
            record_all(file, "nocall", [reading(1.0)], source(5))
        assert stock_of(file).levels == {HOSE: Level(1)}
        with file.writing():
            record_all(file, call, [reading(1.0)], source(2))
            record_moves(file, [Movement("take", HOSE, 1, call)], source(3))
        assert len(file.events_of(call)) == 3 and stock_of(file).levels == {HOSE: Level(0)}


def test_a_full_disk_loses_nothing(path: Path) -> None:
    before = stocked(path)
    with (
        no_file_longer_than(path.stat().st_size),
        pytest.raises(StoreError, match="this one was not recorded"),
    ):
        stocked(path, *[Movement("receive", PartKey("any", "x" * 150), 1)] * 100)
    with open_events(path) as file:
        assert lines_of(file) == before and file.verify() == ()


def test_two_takers_never_take_more_than_there_is(path: Path) -> None:
    stocked(path, Movement("receive", HOSE, 20))
    refused = []

    def take(seed: int) -> None:
        for number in range(15):
            try:
                stocked(path, Movement("take", HOSE, 1), seed=1000 * seed + number)
            except VanError as error:
                refused.append(error)

    takers = [threading.Thread(target=take, args=(seed,)) for seed in (1, 2)]
    for taker in takers:
        taker.start()
    for taker in takers:
        taker.join()
    assert levels(path) == {HOSE: Level(0)} and len(refused) == 10


def test_a_kill_loses_no_acknowledged_line(path: Path) -> None:
    stocked(path)
    code = f"""if True:
        import sys
        from pathlib import Path
        from tundish.store.clock import system
        from tundish.store.events import open_events
        from tundish.store.stock import record_moves
        from tundish.van.part import PartKey
        from tundish.van.stock import Movement
        with open_events(Path({str(path)!r})) as file:
            while True:
                two = [Movement("receive", PartKey("any", "fill hose"), 1)] * 2
                print(*[line.id for line in record_moves(file, two, system("van"))], flush=True)"""
    acknowledged: set[str] = set()
    for round_number in range(6):
        environment = {**os.environ, "PYTHONPATH": str(ROOT)}
        with subprocess.Popen(
            [sys.executable, "-c", code], stdout=subprocess.PIPE, text=True, env=environment
        ) as one:
            assert one.stdout is not None
            said = [one.stdout.readline() for _ in range(3 + round_number)]
            one.send_signal(signal.SIGKILL)
            said += one.stdout.readlines()
        acknowledged |= {word for line in said if line.endswith("\n") for word in line.split()}
        with open_events(path) as file:
            there = {line.id for line in lines_of(file)}
            assert file.verify() == () and acknowledged <= there
            # Two lines a commit, and one line before: never half a commit
            assert len(there) % 2 == 1
    assert len(acknowledged) >= 2 * 6 * 3


def test_a_file_of_the_first_form_gets_the_ledger_and_keeps_its_events(path: Path) -> None:
    with connected(path) as connection:
        schema.migrate(connection, schema.MIGRATIONS[:1])
        assert schema.form(connection) == 1
    with open_events(path) as file:
        filled(file, 2)
        assert schema.form(file.base.connection) == 2 and lines_of(file) == ()
    # The other file is only read by a merge, though it is of the older form
    older = path.with_name("older.sqlite")
    with connected(older) as connection:
        schema.migrate(connection, schema.MIGRATIONS[:1])
    before = older.read_bytes()
    with open_events(path) as file:
        assert merge(file, older) == Taken(0, 0)
    assert older.read_bytes() == before
