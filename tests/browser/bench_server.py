"""A bench's server as its own process, so that it can be killed in mid-call, and a browser at the size of a phone or a desk."""

from __future__ import annotations

import os
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

MACHINES = 4000
PHONE, DESK = {"width": 360, "height": 740}, {"width": 1280, "height": 800}
# As root in a container, without sound, updates or telling anybody anything.
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--use-fake-ui-for-media-stream",
]  # fmt: skip


def chromium() -> str | None:
    """Where a Chromium is, by the usual names; None without one."""
    return next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)


class Server:
    """`tundish serve` on one port, over its own folder of records; it can be killed and started again."""

    def __init__(self, data: Path, cache: Path) -> None:
        self.data, self.cache, self.port = data, cache, free_port()
        self.process: subprocess.Popen[bytes] | None = None

    @property
    def url(self) -> str:
        """Its address."""
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        """Start it and wait until it answers."""
        here = {**os.environ, "TUNDISH_DATA": str(self.data), "TUNDISH_CACHE": str(self.cache)}
        words = [
            sys.executable,
            "-m",
            "tundish.cli.main",
            "serve",
            "--port",
            str(self.port),
            "--machines",
            str(MACHINES),
        ]
        with (self.data.parent / "server.log").open("ab") as log:
            self.process = subprocess.Popen(words, env=here, stdout=log, stderr=log)
        until = time.monotonic() + 40
        while time.monotonic() < until:
            try:
                urllib.request.urlopen(f"{self.url}/api/me", timeout=2).read()
                return
            except (urllib.error.URLError, OSError):
                time.sleep(0.1)
        raise RuntimeError(f"no answer from {self.url}; see {self.data.parent / 'server.log'}")

    def kill(self) -> None:
        """Kill it as a power cut would."""
        if self.process is not None:
            self.process.send_signal(signal.SIGKILL)
            self.process.wait()
            self.process = None

    def get(self, path: str) -> Any:
        """Facts, asked again while machines are simulated."""
        import json

        while True:
            with urllib.request.urlopen(self.url + path, timeout=60) as answer:
                found = json.loads(answer.read())
            if not (isinstance(found, dict) and "waiting" in found):
                return found
            time.sleep(0.2)

    def events(self, call: str) -> list[dict[str, Any]]:
        """All events of a call on the server's disk."""
        found: list[dict[str, Any]] = self.get(f"/api/calls/{call}/events")["events"]
        return found


def free_port() -> int:
    """A port nobody uses now."""
    with socket.create_server(("127.0.0.1", 0)) as one:
        return int(one.getsockname()[1])


@contextmanager
def phone(playwright: Any, folder: Path, size: dict[str, int] = PHONE, **more: Any) -> Iterator[Any]:
    """A browser with its own store, so that what was kept survives the tab; yields the context."""
    context = playwright.chromium.launch_persistent_context(
        str(folder),
        executable_path=chromium(),
        args=FLAGS,
        viewport=size,
        has_touch=size is PHONE,
        locale="en-GB",
        **more,
    )
    try:
        context.set_default_timeout(20_000)
        yield context
    finally:
        context.close()
