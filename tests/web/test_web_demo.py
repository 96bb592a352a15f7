"""The program that `python3 do.py run` starts: an address is printed, the first page has its calls, Ctrl-C ends it."""

from __future__ import annotations

import os
import re
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import httpx2
import pytest

ADDRESS = re.compile(r"http://127\.0\.0\.1:(\d+)/")


@contextmanager
def demo(folder: Path, *words: str) -> Iterator[tuple[subprocess.Popen[str], Path]]:
    """The program, and the file of what it says."""
    environ = {**os.environ, "TUNDISH_DATA": str(folder / "data"), "TUNDISH_CACHE": str(folder / "cache")}
    # No terminal and no browser: the address must come all the same
    said = folder / f"said-{len(list(folder.glob('said-*')))}.txt"
    command = [sys.executable, "-u", "-m", "tundish.cli.main", "serve", "--demo", *words]
    with said.open("w", encoding="utf-8") as out:
        program = subprocess.Popen(command, env=environ, stdout=out, stderr=subprocess.STDOUT, stdin=subprocess.DEVNULL, text=True)
    try:
        yield program, said
    finally:
        program.kill()
        program.wait(timeout=20)


def port_of(program: subprocess.Popen[str], said: Path) -> int:
    """The port it says, once it answers there."""
    for _ in range(1200):
        found = ADDRESS.search(said.read_text(encoding="utf-8"))
        if found:
            try:
                httpx2.get(f"http://127.0.0.1:{found[1]}/", timeout=5)
                return int(found[1])
            except httpx2.HTTPError:
                pass
        assert program.poll() is None, said.read_text(encoding="utf-8")
        time.sleep(0.1)
    raise AssertionError("it does not start")


@pytest.mark.skipif(os.name == "nt", reason="signals")
def test_the_demo_starts_serves_its_calls_and_stops(tmp_path: Path) -> None:
    with demo(tmp_path) as (program, said):
        port = port_of(program, said)
        page = httpx2.get(f"http://127.0.0.1:{port}/", timeout=5)
        calls = httpx2.get(f"http://127.0.0.1:{port}/api/calls", timeout=20).json()
        assert page.status_code == 200 and "<!doctype html>" in page.text.lower()
        assert {call["name"] for call in calls} == {"mill-row", "orchard-lane", "kettle-court", "thimble-lane"}
        # Nothing of it is in the user's own records
        assert not (tmp_path / "data").exists() and (tmp_path / "data-demo").is_dir()
        # A second start beside it: the usual port is taken now, and the same shop is there at once
        with demo(tmp_path) as (second, words):
            other = port_of(second, words)
            assert other != port and len(httpx2.get(f"http://127.0.0.1:{other}/api/calls", timeout=20).json()) == 4
            assert "Making" not in words.read_text(encoding="utf-8")
            second.send_signal(signal.SIGINT)
            assert second.wait(timeout=30) == 0
        # A port that was named is not exchanged for another
        with demo(tmp_path, "--port", str(port)) as (third, words):
            assert third.wait(timeout=60) == 2
            assert f"saw port {port}" in words.read_text(encoding="utf-8")
        program.send_signal(signal.SIGINT)
        assert program.wait(timeout=30) == 0
        lines = said.read_text(encoding="utf-8").splitlines()
        assert lines[-1].startswith("Stopped.") and not any("Traceback" in line for line in lines)
