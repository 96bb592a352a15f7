"""One call by tapping alone, from the phone to the money."""

from __future__ import annotations

import io
import re
from typing import Any

from hand import Hand
from pypdf import PdfReader


def shown(facts: list[dict[str, Any]], title: str) -> str:
    """What a check must read after the repair: the middle, without its span."""
    row = next(row for row in facts if row["title"] == title)
    return str(row["as_left"])


def answer(hand: Hand, says: str) -> None:
    """Read what a sound machine shows: an answer, or a number in its unit."""
    number = re.match(r"([\d.]+) ([^\s(]+)", says)
    if number:
        hand.page.wait_for_selector(".keys", timeout=60_000)
        hand.key_in(number[1], number[2])
    else:
        hand.page.locator(".card .choices button").first.wait_for(timeout=60_000)
        hand.tap(re.split(r" \d", says)[0], exact=True)


def prove(hand: Hand) -> bool:
    """Readings as the customer uses the machine until it is proven, or no further one is wanted."""
    page = hand.page
    for _ in range(8):
        page.wait_for_timeout(800)
        if page.locator(".funnel h1").inner_text() == "Proven":
            return True
        step = page.locator(".card button:visible").filter(has_text="Done:")
        if step.count():
            step.first.click()
            continue
        facts = hand.server.get(f"/api/calls/{hand.call}/prove")["checks"]
        if (
            page.get_by_role("button", name="It works", exact=True).count()
            and not page.locator(".done", has_text="It worked").count()
        ):
            hand.tap("It works", exact=True)
            continue
        title = page.locator(".card.check > h2")
        if not title.count():
            return False
        wanted = title.inner_text()
        if not any(row["title"] == wanted for row in facts):
            continue
        count = len(hand.server.events(hand.call))
        answer(hand, shown(facts, wanted))
        while len(hand.server.events(hand.call)) == count:
            page.wait_for_timeout(200)
    return False


def named(hand: Hand) -> None:
    """Give the shop its name, without which no paper is made."""
    hand.go("/settings")
    row = hand.page.locator("li").filter(has=hand.page.locator("summary span", has_text=re.compile("^name$")))
    row.locator("summary").click()
    row.get_by_label("name", exact=True).fill("The Bench")
    row.locator("button", has_text="Keep").click()
    row.locator("summary", has_text="The Bench").wait_for()


def test_the_golden_call_by_tapping(hand: Hand) -> None:
    page = hand.page
    named(hand)
    call = hand.open_call("front-load washer", "fills slowly", "orchard")
    hand.tap("none", exact=True)
    page.get_by_label("Name", exact=True).fill("A. Customer")
    page.get_by_label("Address", exact=True).fill("3 Orchard Lane")
    hand.tap("Keep", exact=True)
    page.get_by_text("Customer: A. Customer").wait_for()
    hand.stage("safe")
    barred = page.locator("button[aria-disabled=true]").filter(has_text="open BACK")
    assert barred.count() == 1
    hand.tap("Done: look, smell and ask")
    page.get_by_text("none seen", exact=True).first.wait_for()
    hand.stage("find")
    hand.pick("hose route")
    hand.tap("flat spot", exact=True)
    page.get_by_role("heading", name="Readings").wait_for()
    hand.pick("time of the cold fill, as installed")
    hand.key_in("220", "s")
    page.locator(".lines b", has_text="220 s").first.wait_for()
    hand.go(f"/calls/{call}/agree?fault=S06")
    hand.tap("Name this price")
    page.get_by_label("Name of who agrees").fill("A. Customer")
    hand.sign()
    hand.tap("Agreed, signed")
    page.get_by_text("agreed to").wait_for()
    hand.stage("fix")
    hand.mend()
    hand.stage("prove")
    proven = prove(hand)
    hand.stage("close")
    hand.tap("Proven" if proven else "Repaired, unproven", exact=True)
    page.get_by_text("Ended as").wait_for()
    hand.tap("Card", exact=True)
    hand.wait_sent()
    # To the PDF, as the customer gets it by a link
    hand.tap("Invoice", exact=True)
    page.locator("a", has_text="Open: invoice").wait_for(timeout=90_000)
    hand.tap("Link", exact=True)
    link = page.locator("a[href^='/report/']")
    link.wait_for()
    paper = page.request.get(hand.server.url + str(link.get_attribute("href"))).body()
    text = "".join(part.extract_text() for part in PdfReader(io.BytesIO(paper)).pages)
    quote = next(e["body"] for e in hand.server.events(call) if e["kind"] == "quoted")
    assert f"{quote['gross'] / 100:.2f}" in text
    kinds = [event["kind"] for event in hand.server.events(call)]
    assert (
        kinds.count("consent given")
        == kinds.count("paid")
        == kinds.count("repair done")
        == kinds.count("call ended")
        == 1
    )
    money = hand.server.get(f"/api/calls/{call}/close")
    assert money["due"] == 0
    assert money["ended"] == ("proven" if proven else "unproven")
    strokes = next(e["body"]["strokes"] for e in hand.server.events(call) if e["kind"] == "consent given")
    assert len(strokes) == 1
    assert len(strokes[0]) > 5
