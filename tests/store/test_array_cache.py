"""The cache of arrays: mapped, whole or not there, never in the way."""

from __future__ import annotations

import json
import os
import resource
import shutil
import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import pytest

from tundish.store import array_files, cache_room
from tundish.store.array_files import END, MANIFEST
from tundish.store.cache import Arrays, Loaded, load_or_build
from tundish.store.errors import StoreError
from tundish.store.folders import cache_folder, data_folder, events_path

KEY = "0123456789abcdef"
MADE: dict[str, npt.NDArray[Any]] = {
    "C05.cold": np.linspace(0, 1, 1000).reshape(10, 100),
    "names/with: odd letters": np.arange(7, dtype=np.int16),
    "columns first": np.asfortranarray(np.arange(12.0, dtype=np.float32).reshape(3, 4)),
    "empty": np.zeros((0, 5)),
    "one number": np.array(3.5),
    "yes": np.array([True, False]),
    "words": np.array(["lever", "globe"]),
    "large": np.random.default_rng(1).normal(size=3 * END // 8),
}


class Builder:
    """Counts how often it had to build."""

    def __init__(self, arrays: Arrays) -> None:
        self.arrays, self.count = arrays, 0

    def __call__(self) -> Arrays:
        self.count += 1
        return self.arrays


def same(loaded: Arrays, made: Arrays) -> None:
    assert list(loaded) == list(made)
    for name, array in made.items():
        assert (loaded[name].dtype, loaded[name].shape) == (array.dtype, array.shape), name
        np.testing.assert_array_equal(loaded[name], array)
        assert not loaded[name].flags.writeable


def damaged(folder: Path, damage: Callable[[Path], object]) -> Loaded:
    """Keep arrays, damage their entry, ask again."""
    load_or_build(KEY, Builder(MADE), folder)
    damage(folder / KEY)
    builder = Builder(MADE)
    again = load_or_build(KEY, builder, folder)
    assert builder.count == 1
    return again


def test_built_once_then_mapped(tmp_path: Path) -> None:
    builder = Builder(MADE)
    first = load_or_build(KEY, builder, tmp_path / "not yet there")
    second = load_or_build(KEY, builder, tmp_path / "not yet there")
    assert builder.count == 1
    assert (first.built, second.built) == (True, False)
    assert first.notices == second.notices == ()
    for loaded in (first, second):
        same(loaded, MADE)
        assert loaded.mapped and isinstance(loaded["large"], np.memmap)
    assert os.listdir(tmp_path / "not yet there") == [KEY]


def test_anyone_can_read_the_files(tmp_path: Path) -> None:
    load_or_build(KEY, Builder(MADE), tmp_path)
    manifest = json.loads((tmp_path / KEY / MANIFEST).read_text())
    item = manifest["arrays"]["C05.cold"]
    assert (item["shape"], item["dtype"]) == ([10, 100], "<f8")
    np.testing.assert_array_equal(np.load(tmp_path / KEY / item["file"]), MADE["C05.cold"])


def test_another_key_is_another_entry(tmp_path: Path) -> None:
    load_or_build(KEY, Builder(MADE), tmp_path)
    other = {"x": np.ones(3)}
    same(load_or_build(KEY + "0", Builder(other), tmp_path), other)
    same(load_or_build(KEY, Builder({}), tmp_path), MADE)


def flip(path: Path, place: int) -> None:
    content = bytearray(path.read_bytes())
    content[place] ^= 0xFF
    path.write_bytes(content)


def empty(entry: Path) -> None:
    shutil.rmtree(entry)
    entry.mkdir()


def replaced(entry: Path) -> None:
    shutil.rmtree(entry)
    entry.write_text("x")


def grow(path: Path) -> None:
    path.write_bytes(path.read_bytes() + b"x")


def cut_out(path: Path) -> None:
    content = path.read_bytes()
    path.write_bytes(content[: END + 8] + content[-END:])


def forge(entry: Path, **changes: Any) -> None:
    manifest = json.loads((entry / MANIFEST).read_text())
    manifest["arrays"]["C05.cold"] |= changes
    (entry / MANIFEST).write_text(json.dumps(manifest))


DAMAGES: dict[str, tuple[Callable[[Path], object], str]] = {
    "no manifest": (lambda entry: (entry / MANIFEST).unlink(), "manifest unreadable"),
    "half a manifest": (lambda entry: (entry / MANIFEST).write_text("{"), "manifest unreadable"),
    "empty folder": (lambda entry: empty(entry), "manifest unreadable"),
    "a newer format": (
        lambda entry: (entry / MANIFEST).write_text('{"format": 2, "arrays": {}}'),
        "format 2; allowed: 1",
    ),
    "an array gone": (lambda entry: (entry / "0000.npy").unlink(), "array 'C05.cold' in 0000.npy"),
    "an array cut off": (
        lambda entry: os.truncate(entry / "0007.npy", 5000),
        "array 'large' in 0007.npy has 5000 bytes",
    ),
    "an array grown": (lambda entry: grow(entry / "0000.npy"), "has 8129 bytes, of 8128"),
    "the middle cut out": (lambda entry: cut_out(entry / "0007.npy"), "bytes, of"),
    "head changed": (lambda entry: flip(entry / "0000.npy", 200), "or its ends differ"),
    "tail changed": (lambda entry: flip(entry / "0007.npy", -1), "or its ends differ"),
    "shape forged": (lambda entry: forge(entry, shape=[100, 10]), "not <f8 (100, 10)"),
    "type forged": (lambda entry: forge(entry, dtype="<i8"), "not <i8 (10, 100)"),
    "a file in its place": (lambda entry: replaced(entry), "manifest unreadable"),
}


@pytest.mark.parametrize(("damage", "says"), DAMAGES.values(), ids=DAMAGES.keys())
def test_a_broken_entry_is_built_anew_with_a_notice(
    tmp_path: Path, damage: Callable[[Path], object], says: str
) -> None:
    loaded = damaged(tmp_path, damage)
    same(loaded, MADE)
    assert loaded.built and loaded.mapped
    assert (
        len(loaded.notices) == 1 and says in loaded.notices[0].seen and loaded.notices[0].done == "built anew"
    )
    assert os.listdir(tmp_path) == [KEY]
    again = load_or_build(KEY, Builder({}), tmp_path)
    assert not again.built and again.notices == ()


def test_a_full_disk_falls_back_to_memory(tmp_path: Path) -> None:
    builder = Builder(MADE)
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (20_000, hard))
    try:
        loaded = load_or_build(KEY, builder, tmp_path)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))
    same(loaded, MADE)
    assert loaded.built and not loaded.mapped
    assert "could not be written" in loaded.notices[0].seen and "memory" in loaded.notices[0].done
    assert os.listdir(tmp_path) == []
    assert MADE["large"].flags.writeable, "the builder's own arrays stay as they were"
    # With room again it is kept.
    assert load_or_build(KEY, builder, tmp_path).mapped and builder.count == 2


def test_a_folder_that_cannot_be_falls_back_to_memory(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    loaded = load_or_build(KEY, Builder(MADE), tmp_path / "file")
    same(loaded, MADE)
    assert not loaded.mapped and len(loaded.notices) == 1


def test_an_error_of_the_builder_passes_and_leaves_nothing(tmp_path: Path) -> None:
    def fail() -> Arrays:
        raise ZeroDivisionError("the builder's own")

    with pytest.raises(ZeroDivisionError, match="the builder's own"):
        load_or_build(KEY, fail, tmp_path)
    with pytest.raises(TypeError, match=r"saw object for 0000.npy; allowed: numbers and fixed text"):
        load_or_build(KEY, Builder({"x": np.array([None])}), tmp_path)
    assert os.listdir(tmp_path) == []


@pytest.mark.parametrize(
    "key", ["", "short", "../../../etc", "a/b/c/d/e", ".hidden00", "x" * 129, "white space"]
)
def test_a_key_that_is_no_hash_is_refused(tmp_path: Path, key: str) -> None:
    with pytest.raises(
        StoreError, match=r"saw cache key .*; allowed: 8 to 128 letters, digits, - and _; use a hash"
    ):
        load_or_build(key, Builder(MADE), tmp_path)


def test_many_at_once_all_get_the_arrays(tmp_path: Path) -> None:
    results: list[Loaded] = []
    start = threading.Barrier(6)

    def ask() -> None:
        start.wait()
        results.append(load_or_build(KEY, Builder(MADE), tmp_path))

    askers = [threading.Thread(target=ask) for _ in range(6)]
    for asker in askers:
        asker.start()
    for asker in askers:
        asker.join()
    assert len(results) == 6
    for loaded in results:
        same(loaded, MADE)
        assert loaded.mapped and loaded.notices == ()
    assert os.listdir(tmp_path) == [KEY]


def test_the_loser_of_a_race_takes_the_winners_work(tmp_path: Path) -> None:
    def slow() -> Arrays:
        array_files.save(tmp_path / KEY, MADE)
        return MADE

    loaded = load_or_build(KEY, slow, tmp_path)
    same(loaded, MADE)
    assert loaded.notices == () and os.listdir(tmp_path) == [KEY]


def kept(folder: Path, name: str, used: float) -> None:
    """An entry of 8,000 bytes and a little, last used at a time."""
    load_or_build(name, Builder({"x": np.zeros(1000)}), folder)
    os.utime(folder / name, (used, used))


def test_the_longest_unused_go_first(tmp_path: Path) -> None:
    now = time.time()
    for age, name in enumerate(["newest00", "middle00", "oldest00"]):
        kept(tmp_path, name, now - 100 * age)
    # A load counts as use.
    load_or_build("oldest00", Builder({}), tmp_path)
    load_or_build("another0", Builder({"x": np.zeros(1000)}), tmp_path, limit=27_000)
    assert sorted(os.listdir(tmp_path)) == ["another0", "newest00", "oldest00"]


def test_the_entry_just_built_stays_even_when_it_is_too_large(tmp_path: Path) -> None:
    kept(tmp_path, "older000", time.time() - 100)
    loaded = load_or_build("larger00", Builder({"x": np.zeros(10_000)}), tmp_path, limit=1000)
    assert os.listdir(tmp_path) == ["larger00"] and loaded.mapped


def test_arrays_in_use_outlive_their_entry(tmp_path: Path) -> None:
    loaded = load_or_build(KEY, Builder(MADE), tmp_path)
    assert cache_room.sweep(tmp_path, 0) == (KEY,)
    assert os.listdir(tmp_path) == []
    same(loaded, MADE)


def test_leavings_of_killed_programs_are_swept_after_a_day(tmp_path: Path) -> None:
    for name, age in ((".old.1234", 2 * cache_room.STALE), (".new.1234", 60.0)):
        (tmp_path / name).mkdir()
        (tmp_path / name / "0000.npy").write_bytes(b"x" * 100)
        os.utime(tmp_path / name, (time.time() - age,) * 2)
    load_or_build(KEY, Builder(MADE), tmp_path)
    assert sorted(os.listdir(tmp_path)) == [".new.1234", KEY]


def test_the_default_limit_is_four_gigabytes() -> None:
    assert cache_room.LIMIT == 4_000_000_000


def test_the_default_folder_is_asked_for(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TUNDISH_CACHE", str(tmp_path / "c"))
    load_or_build(KEY, Builder(MADE))
    assert os.listdir(tmp_path / "c") == [KEY]


@pytest.mark.parametrize(
    ("environ", "platform", "cache", "data"),
    [
        ({}, "linux", "~/.cache/tundish", "~/.local/share/tundish"),
        ({"XDG_CACHE_HOME": "/c", "XDG_DATA_HOME": "/d"}, "linux", "/c/tundish", "/d/tundish"),
        (
            {"XDG_CACHE_HOME": "c", "XDG_DATA_HOME": "d"},
            "linux",
            "~/.cache/tundish",
            "~/.local/share/tundish",
        ),
        ({}, "darwin", "~/Library/Caches/tundish", "~/Library/Application Support/tundish"),
        ({}, "win32", "~/AppData/Local/tundish", "~/AppData/Roaming/tundish"),
        ({"LOCALAPPDATA": "/l", "APPDATA": "/r"}, "win32", "/l/tundish", "/r/tundish"),
        ({"TUNDISH_CACHE": "/x", "TUNDISH_DATA": "~/y", "XDG_CACHE_HOME": "/c"}, "linux", "/x", "~/y"),
        ({"TUNDISH_CACHE": "", "TUNDISH_DATA": ""}, "linux", "~/.cache/tundish", "~/.local/share/tundish"),
    ],
)
def test_folders(environ: dict[str, str], platform: str, cache: str, data: str) -> None:
    assert cache_folder(environ, platform=platform) == Path(cache).expanduser()
    assert data_folder(environ, platform=platform) == Path(data).expanduser()


def test_the_usual_file_of_events() -> None:
    assert events_path({"TUNDISH_DATA": "/d"}) == Path("/d/calls.sqlite")
