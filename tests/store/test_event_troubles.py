"""Full disks, broken files, forbidden folders: a clear refusal, and nothing lost."""

from __future__ import annotations

import os
import sqlite3
import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from store_maker import OPENING, filled, reading, source
from troubles import no_file_longer_than, without_rights

from tundish.call import bodies
from tundish.store.errors import StoreError
from tundish.store.events import open_events
from tundish.store.lines import export, import_from
from tundish.store.merge import merge

BIG = bodies.NoteAdded("x" * 20_000)


@pytest.fixture
def path(tmp_path: Path) -> Path:
    return tmp_path / "calls.sqlite"


def three_parts(error: pytest.ExceptionInfo[StoreError], path: Path) -> str:
    refusal = error.value
    assert refusal.seen and refusal.allowed and refusal.do
    assert str(path) in refusal.seen
    return str(refusal)


def test_disk_full_by_page_count(path: Path) -> None:
    with open_events(path) as file:
        call = filled(file)
        before = file.events_of(call)
        pages = file.connection.execute("PRAGMA page_count").fetchone()[0]
        file.connection.execute(f"PRAGMA max_page_count = {pages}")
        with pytest.raises(StoreError) as error:
            file.record(call, BIG, source(2))
        text = three_parts(error, path)
        assert "database or disk is full (SQLITE_FULL)" in text
        assert "what was recorded before is untouched, this one was not recorded" in text
        assert file.events_of(call) == before
        # With room again the same file goes on.
        file.connection.execute("PRAGMA max_page_count = 1000000")
        file.record(call, BIG, source(3))
    with open_events(path) as file:
        assert file.events_of(call)[:-1] == before
        assert file.verify() == ()


def test_disk_full_by_the_system(path: Path) -> None:
    with open_events(path) as file:
        call = filled(file)
        before = file.events_of(call)
        with no_file_longer_than(path.stat().st_size), pytest.raises(StoreError) as error:
            file.record(call, BIG, source(2))
        assert "this one was not recorded" in three_parts(error, path)
        assert file.events_of(call) == before
        file.record(call, BIG, source(3))
    with open_events(path) as file:
        assert file.events_of(call)[:-1] == before
        assert file.verify() == ()


def test_disk_full_while_a_batch_is_added(path: Path) -> None:
    with open_events(path) as file:
        call = filled(file)
        before = file.events_of(call)
        batch = [*before]
    with open_events(path.with_name("other.sqlite")) as other:
        more = filled(other, 200, given=source(5))
        batch = list(other.events_of(more))
    with open_events(path) as file:
        with no_file_longer_than(path.stat().st_size + 8192), pytest.raises(StoreError):
            file.append(batch)
        assert file.events_of(more) == () and file.events_of(call) == before
        assert file.append(batch).added == 201


def test_disk_full_while_the_file_is_made(path: Path) -> None:
    with no_file_longer_than(1000), pytest.raises(StoreError):
        open_events(path)
    with open_events(path) as file:
        assert len(file.events_of(filled(file))) == 4


def test_disk_full_while_exporting_keeps_the_older_export(path: Path, tmp_path: Path) -> None:
    with open_events(path) as file:
        filled(file)
        out = tmp_path / "copy.jsonl"
        export(file, out)
        older = out.read_bytes()
        filled(file, 50, given=source(2))
        with no_file_longer_than(4000), pytest.raises(StoreError) as error:
            export(file, out)
        assert "free space" in three_parts(error, out)
        assert out.read_bytes() == older
    assert sorted(os.listdir(tmp_path)) == ["calls.sqlite", "copy.jsonl"]


@pytest.mark.parametrize(
    "content", [b"this is not a database at all, only some text" * 40, b"\x00" * 5000, b"\xff" * 100]
)
def test_a_file_that_is_no_database(path: Path, content: bytes) -> None:
    path.write_bytes(content)
    with pytest.raises(StoreError) as error:
        open_events(path)
    assert "a file of events" in three_parts(error, path)
    assert path.read_bytes() == content


def test_a_broken_file_is_said_to_be_broken_and_kept(path: Path) -> None:
    with open_events(path) as file:
        call = filled(file, 100)
    whole = path.read_bytes()
    page = int.from_bytes(whole[16:18], "big")
    broken = whole[:page] + bytes(len(whole) - page)
    path.write_bytes(broken)
    with pytest.raises(StoreError) as error, open_events(path) as file:
        file.events_of(call)
    text = three_parts(error, path)
    assert "malformed" in text and "keep the file as it is" in text
    assert path.read_bytes() == broken


def test_a_torn_file_is_said_to_be_broken(path: Path) -> None:
    with open_events(path) as file:
        call = filled(file, 100)
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(StoreError) as error, open_events(path) as file:
        file.events_of(call)
    three_parts(error, path)


def test_verify_names_what_is_wrong(path: Path) -> None:
    with open_events(path) as file:
        call = filled(file, 1)
        file.connection.execute("DROP TRIGGER no_update")
        file.connection.execute("UPDATE events SET body = '{\"check\":1}' WHERE kind = 'reading taken'")
        bad = [row.id for row in file.rows(call)][1]
        assert len(file.verify()) == 1 and file.verify()[0].startswith(
            f"event '{bad}': saw a 'reading taken' body"
        )
        with pytest.raises(StoreError) as error:
            file.events_of(call)
        assert bad in three_parts(error, path)
        # The cure the message names works: the bad line is named and left out, the rest is there.
        out = path.with_name("lines.jsonl")
        export(file, out)
    with open_events(path.with_name("new.sqlite")) as new:
        taken = import_from(new, out)
        assert taken.added == 1 and [refusal.where for refusal in taken.refused] == ["line 2"]
        assert len(new.events_of(call)) == 1


def test_a_row_whose_body_is_no_json_survives_an_export(path: Path) -> None:
    with open_events(path) as file:
        filled(file, 1)
        file.connection.execute("DROP TRIGGER no_update")
        file.connection.execute("UPDATE events SET body = '{broken' WHERE kind = 'reading taken'")
        out = path.with_name("lines.jsonl")
        export(file, out)
    assert '"body":"{broken"' in out.read_text()


def test_a_newer_form_is_refused_and_left_alone(path: Path) -> None:
    with open_events(path) as file:
        filled(file)
        file.connection.execute("PRAGMA user_version = 9")
    before = path.read_bytes()
    with pytest.raises(StoreError) as error:
        open_events(path)
    text = three_parts(error, path)
    assert "in form 9; allowed: forms up to 2; update this program" in text
    assert path.read_bytes() == before
    with open_events(path.with_name("mine.sqlite")) as mine, pytest.raises(StoreError, match="in form 9"):
        merge(mine, path)


def test_another_programs_database_is_refused_and_left_alone(path: Path) -> None:
    other = sqlite3.connect(path)
    other.execute("CREATE TABLE recipes (name TEXT)")
    other.commit()
    other.close()
    before = path.read_bytes()
    with pytest.raises(StoreError) as error:
        open_events(path)
    assert "a database of another program" in three_parts(error, path)
    assert path.read_bytes() == before


@pytest.fixture
def open_folder() -> Iterator[Path]:
    """A folder that other users reach, unlike pytest's own."""
    with tempfile.TemporaryDirectory() as name:
        Path(name).chmod(0o755)
        yield Path(name)


def test_a_folder_that_may_not_be_written(open_folder: Path) -> None:
    folder = open_folder / "locked"
    path = folder / "calls.sqlite"
    with open_events(path) as file:
        call = filled(file)
        before = file.events_of(call)
    path.chmod(0o444)
    folder.chmod(0o555)
    try:
        with without_rights():
            with open_events(path) as file:
                assert file.events_of(call) == before
                with pytest.raises(StoreError) as error:
                    file.record(call, reading(9.0), source(2))
                text = three_parts(error, path)
                assert "readonly" in text and "allow writing or use another folder" in text
            with pytest.raises(StoreError) as error:
                open_events(folder / "new.sqlite")
            assert "check the path and the permissions" in three_parts(error, folder / "new.sqlite")
    finally:
        folder.chmod(0o755)
    path.chmod(0o644)
    with open_events(path) as file:
        assert file.events_of(call) == before


def test_a_path_that_cannot_be(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(StoreError, match="check the path"):
        open_events(tmp_path / "file" / "calls.sqlite")
    with pytest.raises(StoreError, match="check the path"):
        open_events(tmp_path)
    with pytest.raises(StoreError, match=r"saw no file .*; check the name"):
        open_events(tmp_path / "absent.sqlite", create=False)
    assert not (tmp_path / "absent.sqlite").exists()


def half_written(path: Path, to: Path) -> None:
    """A copy of a file and its journal as a killed program leaves them."""
    with open_events(path) as file:
        file.connection.execute("PRAGMA cache_size = 5")
        file.connection.execute("BEGIN IMMEDIATE")
        for number in range(100):
            values = (f"{number:036d}", "k7f", "x" * 24, "van", "note added", 1, "x" * 2000)
            file.connection.execute(f"INSERT INTO events VALUES ({', '.join('?' * 7)})", values)
        for end in ("", "-journal"):
            to.with_name(to.name + end).write_bytes(path.with_name(path.name + end).read_bytes())
        file.connection.execute("ROLLBACK")


def test_a_half_written_file_goes_back_to_what_was_acknowledged(path: Path) -> None:
    with open_events(path) as file:
        call = filled(file, 40)
        before = file.events_of(call)
    copy = path.with_name("copy.sqlite")
    half_written(path, copy)
    assert copy.stat().st_size > path.stat().st_size
    with open_events(copy) as file:
        assert tuple(row.id for row in file.rows()) == tuple(event.id for event in before)
        assert file.verify() == ()


def test_a_half_written_file_is_not_merged_before_it_was_opened(path: Path) -> None:
    with open_events(path) as file:
        filled(file, 40)
    copy = path.with_name("copy.sqlite")
    half_written(path, copy)
    with open_events(path.with_name("mine.sqlite")) as mine:
        with pytest.raises(StoreError) as error:
            merge(mine, copy)
        assert "open it once where it may be written" in three_parts(error, copy)
        open_events(copy).close()
        assert merge(mine, copy).added == 41


def test_a_busy_file_is_said_to_be_busy(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tundish.store.events.WAIT", 0.05)
    with open_events(path) as file, open_events(path) as other:
        call = filled(file)
        other.connection.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreError) as error:
            file.record(call, reading(1.0), source(2))
        assert "close the other program" in three_parts(error, path)
        other.connection.execute("ROLLBACK")
        file.record(call, reading(1.0), source(3))


def test_an_interrupted_recording_leaves_no_trace(path: Path) -> None:
    def interrupt(count: int) -> bytes:
        raise KeyboardInterrupt

    with open_events(path) as file:
        call = filled(file)
        given = source(2)
        with pytest.raises(KeyboardInterrupt):
            file.record(call, reading(1.0), type(given)(given.milliseconds, interrupt, "van"))
        assert len(file.events_of(call)) == 4
        file.record(call, reading(1.0), given)
        assert len(file.events_of(call)) == 5
        assert file.open_call(OPENING, given)
