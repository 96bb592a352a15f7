"""A server and a phone for each test. Without Chromium or Playwright these tests are skipped, with a line that says so."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from bench_server import Server, chromium, phone
from hand import Hand


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """Playwright itself."""
    if os.environ.get("CI"):
        pytest.skip("browser tests skipped: CI is set; they are for a person's own computer")
    driver = pytest.importorskip(
        "playwright.sync_api", reason="browser tests skipped: Playwright is not installed"
    )
    if chromium() is None:
        pytest.skip("browser tests skipped: no Chromium on this computer")
    with driver.sync_playwright() as one:
        yield one


@pytest.fixture(scope="session")
def machines(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Simulated machines, shared by all tests of a run."""
    return tmp_path_factory.mktemp("machines")


@pytest.fixture
def server(tmp_path: Path, machines: Path) -> Iterator[Server]:
    """A server over an empty folder of records."""
    (tmp_path / "data").mkdir()
    one = Server(tmp_path / "data", machines)
    one.start()
    yield one
    one.kill()


@pytest.fixture
def hand(browser: Any, server: Server, tmp_path: Path) -> Iterator[Hand]:
    """A hand on a phone of 360 x 740; no page may have thrown when the test is over."""
    with phone(browser, tmp_path / "phone") as context:
        one = Hand(context.pages[0], server)
        yield one
        # What the page looked like when a test failed
        if not one.page.is_closed():
            one.page.screenshot(path=str(tmp_path / "last.png"), full_page=True)
        assert one.troubles == []
