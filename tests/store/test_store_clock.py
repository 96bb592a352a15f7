"""The system's clock and the device's name."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from tundish.call.bodies import CallOpened, NoteAdded
from tundish.call.events import Event
from tundish.call.identity import CALL_BYTES, ID_BYTES, call_id, mint, moment
from tundish.store.clock import device_name, system
from tundish.store.errors import StoreError
from tundish.store.events import open_events


def test_the_system_clock_counts_milliseconds() -> None:
    before = time.time()
    now = system("van").milliseconds() / 1000
    assert before - 0.001 <= now <= time.time()


def test_noise_is_fresh() -> None:
    given = system("van")
    assert len({given.random_bytes(ID_BYTES) for _ in range(1000)}) == 1000
    assert len({call_id(given.random_bytes(CALL_BYTES))[:8] for _ in range(1000)}) == 1000


def test_a_thousand_ids_in_a_row_rise() -> None:
    given, ids = system("van"), [""]
    for _ in range(1000):
        ids.append(mint(ids[-1] or None, given.milliseconds(), given.random_bytes(ID_BYTES)))
    assert ids == sorted(set(ids))


def test_a_device_is_named_once(tmp_path: Path) -> None:
    name = device_name(tmp_path / "new")
    assert device_name(tmp_path / "new") == name
    assert device_name(tmp_path / "other") != name
    from_body = Event(mint(None, 0, bytes(ID_BYTES)), name, moment(0), "k7f", NoteAdded("x"))
    assert from_body.device == name and len(name) == len("device-") + 6


def test_a_name_given_by_hand_is_used(tmp_path: Path) -> None:
    (tmp_path / "device").write_text("  van one \n")
    assert device_name(tmp_path) == "van one"


def test_a_name_lost_by_a_kill_is_made_again(tmp_path: Path) -> None:
    (tmp_path / "device").write_text("")
    assert device_name(tmp_path).startswith("device-")


def test_a_folder_that_cannot_be(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(StoreError, match="check the path, the permissions"):
        device_name(tmp_path / "file")


def test_the_real_clock_and_noise_in_a_file(tmp_path: Path) -> None:
    with open_events(tmp_path / "calls.sqlite") as file:
        opened = file.open_call(CallOpened("front-load washer", "EU", "SLOW"), system(device_name(tmp_path)))
        assert file.resolve(opened.call[:6]) == opened.call
