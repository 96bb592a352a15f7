"""A technician's hand on the page: taps by the words that are seen, never by what lies under them."""

from __future__ import annotations

import io
import re
from typing import Any

from bench_server import Server
from PIL import Image


class Hand:
    """One tab of one browser. page : of Playwright. server : whose pages they are."""

    def __init__(self, page: Any, server: Server) -> None:
        self.page, self.server, self.call, self.troubles = page, server, "", []
        page.on("pageerror", lambda error: self.troubles.append(str(error)))
        page.on("console", lambda line: self._heard(line))

    def _heard(self, line: Any) -> None:
        # A server that does not answer is told by the browser too, and is no fault of the page
        if line.type == "error" and "Failed to load resource" not in line.text and "ERR_" not in line.text:
            self.troubles.append(line.text)

    def go(self, path: str) -> None:
        """Open an address and wait until the page is there."""
        self.page.goto(self.server.url + path)
        self.page.wait_for_selector("#page")

    def settle(self) -> None:
        """Wait until the page has its facts. Behind it the call goes on being put into the pocket."""
        ready = "() => document.querySelector('#page .card, #page .funnel, #page .choices') && !document.querySelector('#page .progress')"
        self.page.wait_for_function(ready, timeout=90_000)
        self.page.wait_for_timeout(300)

    def stage(self, name: str) -> None:
        """Open a stage of the call."""
        self.go(f"/calls/{self.call}/{name}")
        self.page.wait_for_selector(".funnel", timeout=60_000)

    def tap(self, words: str, *, exact: bool = False) -> None:
        """Tap what carries these words."""
        pattern = re.compile(f"^{re.escape(words)}$" if exact else re.escape(words))
        self.page.locator("button:visible:enabled, a.tap:visible, summary:visible").filter(
            has_text=pattern
        ).first.click()

    def open_call(self, family: str, complaint: str, name: str) -> str:
        """Open a call from the first page; its id."""
        self.go("/")
        self.tap("New call")
        self.tap(family)
        self.tap(complaint)
        self.page.get_by_label("Short name for the call").fill(name)
        self.page.get_by_label("Age of the machine in years").fill("6")
        self.tap("Open the call")
        self.page.wait_for_url("**/ask")
        self.call = self.page.url.split("/")[4]
        return self.call

    def pick(self, check: str) -> None:
        """Take another check than the best, by its words."""
        if (
            self.page.locator(".funnel h1")
            .filter(has_text=re.compile(re.escape(check), re.IGNORECASE))
            .count()
        ):
            return
        others = self.page.locator("details", has_text="Other checks by value").first
        if not others.evaluate("one => one.open"):
            others.locator("summary").first.click()
        row = others.locator("li").filter(has_text=re.compile(re.escape(check), re.IGNORECASE)).first
        row.get_by_role("button").click()
        self.page.locator(".funnel h1").filter(
            has_text=re.compile(re.escape(check), re.IGNORECASE)
        ).wait_for()

    def key_in(self, number: str, unit: str) -> None:
        """Type a number on the pad and write it down."""
        self.page.locator(".units button").filter(has_text=re.compile(f"^{re.escape(unit)}$")).first.click()
        for key in number:
            self.page.locator(f".keys button[aria-label='{key}']").click()
        self.tap("Write down", exact=True)

    def count(self) -> int:
        """What the outbox says."""
        return int(self.page.locator(".tank").get_attribute("data-waiting"))

    def wait_sent(self) -> None:
        """Wait until nothing waits to be sent."""
        self.page.wait_for_selector(".tank[data-waiting='0']", timeout=60_000)

    def photo(self, label: str) -> None:
        """Take a photo, as the phone's camera would give it."""
        kept = io.BytesIO()
        # With the notes a camera writes, which must not get out
        notes = Image.Exif()
        notes[0x010F] = "a camera"
        Image.new("RGB", (64, 48), (180, 90, 20)).save(kept, "JPEG", exif=notes)
        files = {"name": "one.jpg", "mimeType": "image/jpeg", "buffer": kept.getvalue()}
        self.page.get_by_label(f"Take a photo: {label}", exact=True).first.set_input_files(files)

    def sign(self) -> None:
        """Sign in the field."""
        box = self.page.locator(".sign canvas").bounding_box()
        self.page.locator(".sign canvas").scroll_into_view_if_needed()
        box = self.page.locator(".sign canvas").bounding_box()
        mouse = self.page.mouse
        mouse.move(box["x"] + 20, box["y"] + 40)
        mouse.down()
        for step in range(12):
            mouse.move(box["x"] + 20 + 15 * step, box["y"] + 30 + 30 * (step % 2))
        mouse.up()

    def mend(self) -> None:
        """All steps of the repair as they come, each caution read."""
        page = self.page
        for _ in range(30):
            page.wait_for_selector(".funnel button.main:visible, .warn.good")
            if page.get_by_text("The repair is on record").count():
                return
            box = page.locator(".funnel input[type=checkbox]:visible")
            if box.count():
                box.first.check()
            before = page.locator(".funnel").inner_text()
            page.locator(".funnel button.main:visible:enabled").first.click()
            page.wait_for_function("was => document.querySelector('.funnel').innerText !== was", arg=before)
        raise AssertionError(f"after 30 steps the repair still shows {before[:80]!r}")
