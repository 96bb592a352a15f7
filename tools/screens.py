"""Pictures of every page on a phone and on a desk, from an invented call, into docs/screens: `python -m tools.screens`.

Wants Playwright and a Chromium on this computer; the pictures are 360 x 740 and 1280 x 800 and kept as small WebP files.
"""

from __future__ import annotations

import io
import json
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from pkgutil import resolve_name
from typing import Any

from PIL import Image

PAGES = Path(__file__).parents[1] / "docs" / "screens"
SIZES: Mapping[str, tuple[int, int]] = {"phone": (360, 740), "desk": (1280, 800)}
STAGES = ("ask", "load", "safe", "find", "agree", "fix", "prove", "close")
ROOMS: Mapping[str, str] = {
    "calls": "/", "new": "/calls/new", "van": "/van", "handbook": "/handbook/front-load%20washer",
    "bench": "/bench/front-load%20washer", "settings": "/settings",
}  # fmt: skip
# Enough for steady odds, few enough not to wait; the quality at which letters still stand clear.
MACHINES, QUALITY = 8000, 60
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-sync",
]
QUOTED = (
    "currency", "lines", "net", "tax", "gross", "taxes", "chance_cures", "options", "owed_if_refused", "valid_until",
)  # fmt: skip


class Bench:
    """A server that is running. url : its address."""

    def __init__(self, url: str) -> None:
        self.url, self.token = url, ""
        self.token = self.get("/api/me")["token"]

    def get(self, path: str) -> Any:
        """Facts; asked again while machines are simulated."""
        while True:
            with urllib.request.urlopen(self.url + path, timeout=60) as answer:
                found = json.loads(answer.read())
            if not (isinstance(found, dict) and "waiting" in found):
                return found
            time.sleep(0.3)

    def send(self, path: str, body: Mapping[str, Any]) -> Any:
        """Send facts."""
        headers = {"Content-Type": "application/json", "X-Tundish-Token": self.token}
        asked = urllib.request.Request(self.url + path, json.dumps(body).encode(), headers)
        with urllib.request.urlopen(asked, timeout=60) as answer:
            return json.loads(answer.read())


@contextmanager
def served() -> Iterator[Bench]:
    """A bench over an empty folder, gone when it is done with."""
    with tempfile.TemporaryDirectory() as folder, socket.create_server(("127.0.0.1", 0)) as free:
        port = int(free.getsockname()[1])
        free.close()
        here = {**os.environ, "TUNDISH_DATA": f"{folder}/data", "TUNDISH_CACHE": f"{folder}/cache"}
        Path(folder, "data").mkdir()
        words = [
            sys.executable,
            "-m",
            "tundish.cli.main",
            "serve",
            "--port",
            str(port),
            "--machines",
            str(MACHINES),
        ]
        process = subprocess.Popen(words, env=here, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        try:
            yield _answering(f"http://127.0.0.1:{port}")
        finally:
            process.terminate()
            process.wait()


def _answering(url: str) -> Bench:
    until = time.monotonic() + 60
    while True:
        try:
            return Bench(url)
        except OSError:
            if time.monotonic() > until:
                raise
            time.sleep(0.2)


def invented(bench: Bench) -> str:
    """A call in the middle of its work: looked at, two readings, a price agreed to. Its id."""
    opening = {
        "family": "front-load washer",
        "complaint": "SLOW",
        "age": 6,
        "told": ["house move"],
        "name": "orchard",
    }
    call = str(bench.send("/api/calls", opening)["call"])
    at = f"/api/calls/{call}"
    bench.send(f"{at}/do", {"action": "look, smell and ask"})
    for check, typed in (("C02", "flat spot"), ("C03", "220 s")):
        bench.send(f"{at}/reading", {"check": check, "typed": typed})
    quote = bench.get(f"{at}/agree?fault=S06")
    body = {name: quote[name] for name in QUOTED} | {"id": "1", "faults": ["S06"]}
    event = bench.send(f"{at}/record", {"kind": "quoted", "body": body})["event"]
    consent = {
        "quote": event,
        "name": "A. Customer",
        "minor": quote["gross"],
        "currency": quote["currency"],
        "how": "spoken",
    }
    bench.send(f"{at}/record", {"kind": "consent given", "body": consent})
    return call


def shoot(bench: Bench, call: str, folder: Path) -> int:
    """Take all pictures; how many bytes they have."""
    paths = {**{stage: f"/calls/{call}/{stage}" for stage in STAGES}, **ROOMS}
    chromium = next(filter(None, map(shutil.which, ("chromium", "chromium-browser", "google-chrome"))), None)
    total = 0
    with resolve_name("playwright.sync_api:sync_playwright")() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium, args=FLAGS)
        for size, (width, height) in SIZES.items():
            page = browser.new_page(viewport={"width": width, "height": height}, locale="en-GB")
            for name, path in paths.items():
                page.goto(bench.url + path)
                settle(page, name)
                total += kept(page.screenshot(), folder / f"{name}-{size}.webp")
    return total


def settle(page: Any, name: str) -> None:
    """Wait until a page stands still; choose a fault on the bench, so that there is something to see."""
    page.wait_for_selector("#page h1, #page .funnel", timeout=60_000)
    ready = "() => document.querySelector('#page h1, #page .funnel') && !document.querySelector('#page .progress')"
    page.wait_for_function(ready, timeout=90_000)
    if name == "calls":
        # What the machine does comes with the families
        page.wait_for_function(
            "() => document.querySelector('.rows')?.innerText.includes('·')", timeout=60_000
        )
    if name == "bench":
        page.locator("select").last.select_option("S04")
    page.wait_for_timeout(1500)


def kept(png: bytes, path: Path) -> int:
    """Keep a picture small; its bytes."""
    path.parent.mkdir(parents=True, exist_ok=True)
    Image.open(io.BytesIO(png)).convert("RGB").save(path, "WEBP", quality=QUALITY, method=6)
    return path.stat().st_size


def main() -> None:
    """Make the pictures anew."""
    with served() as bench:
        total = shoot(bench, invented(bench), PAGES)
    print(f"{len(list(PAGES.glob('*.webp')))} pictures, {total // 1000} kB, in {PAGES.name}")


if __name__ == "__main__":
    main()
