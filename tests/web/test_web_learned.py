"""A server uses what was learned in its own folder, and not what lies in the folder that a terminal would use."""

from __future__ import annotations

from pathlib import Path

import pytest
from bench_maker import WASHER, Bench, Browser

from tundish.history.learned import Learned, Provenance, Taught
from tundish.store.folders import LEARNED_FILE
from tundish.store.library import load
from tundish.store.taught import write_learned


def learned(cause: str) -> Learned:
    """A shop that saw little else than one cause."""
    washer = load(WASHER)
    known = washer.complaints["SLOW"].shares
    shares = dict.fromkeys(known, 0.1 / (len(known) - 1)) | {cause: 0.9}
    taught = Taught(
        shipped=washer.digest, shares={"SLOW": shares}, cures={}, minutes={}, mistakes={}, calls={"SLOW": 400.0}, unlisted={},
        worth=20.0,
    )  # fmt: skip
    return Learned({washer.family: taught}, Provenance(400, "2026-01-01", "2026-11-01", 1, "2026-11-02"))


def first(home: Browser, call: str) -> str:
    return str(home.facts(f"/api/calls/{call}/odds")["causes"][0]["id"])


def test_what_was_learned_is_read_from_the_servers_own_folder(
    bench: Bench, home: Browser, call: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # The terminal's folder is another one here, and has learned something else
    other = tmp_path / "other"
    other.mkdir()
    monkeypatch.setenv("TUNDISH_DATA", str(other))
    shipped = first(home, call)
    write_learned(other / LEARNED_FILE, learned("S09"))
    assert first(home, call) == shipped != "S09"
    # Learned while the server runs: the next answer has it, the kept one is not told again
    write_learned(bench.folder / LEARNED_FILE, learned("S11"))
    assert first(home, call) == "S11"
    page = home.facts(f"/api/calls/{call}/find")
    assert page["odds"]["causes"][0]["id"] == "S11"
    assert page["odds"]["shares"].startswith("own shares")
    # The plan, the price and the pack begin with the same odds
    assert home.get(f"/api/calls/{call}/agree").status_code in (200, 202)
    assert home.facts(f"/api/calls/{call}/agree")["faults"][0]["id"] == "S11"
