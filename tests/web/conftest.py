"""A fresh bench for each test; simulated machines are shared by all tests of a run."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from bench_maker import WASHER, Bench, Browser


@pytest.fixture
def bench(tmp_path: Path, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Bench:
    cache = tmp_path_factory.getbasetemp() / "web-cache"
    static = tmp_path / "static"
    static.mkdir()
    (static / "index.html").write_text("<!doctype html><title>bench</title>", encoding="utf-8")
    (static / "service-worker.js").write_text("// worker\n", encoding="utf-8")
    (static / "app.js").write_text("export const one = 1;\n", encoding="utf-8")
    monkeypatch.setenv("TUNDISH_DATA", str(tmp_path / "data"))
    monkeypatch.setenv("TUNDISH_CACHE", str(cache))
    return Bench(tmp_path / "data", cache, static)


@pytest.fixture
def home(bench: Bench) -> Iterator[Browser]:
    """A browser on this computer."""
    with bench.browser(bench.home) as one:
        yield one


@pytest.fixture
def call(home: Browser) -> str:
    """An open call of the name smith."""
    opening = {"family": WASHER, "complaint": "SLOW", "age": 9, "told": ["house move"], "name": "smith"}
    return str(home.tell("/api/calls", opening, 201)["call"])
