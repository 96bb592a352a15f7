"""Below a danger the pages that would go on with the work show what is to be done instead; taken back, they go on."""

from __future__ import annotations

import re

from hand import Hand


def test_a_hazard_that_was_seen_leaves_no_price_no_repair_and_no_proof(hand: Hand) -> None:
    hand.open_call("front-load washer", "fills slowly", "danger")
    hand.stage("safe")
    hand.tap("Done: look, smell and ask")
    hand.tap("It stands otherwise")
    hand.page.locator("details[open] input, details[open] textarea").last.fill("smell of burning")
    hand.tap("Hazard! Stop here")
    hand.page.locator("dd.not", has_text="seen").wait_for()
    for stage in ("agree", "fix", "prove"):
        hand.stage(stage)
        hand.page.locator(".funnel h1", has_text="A danger stands").wait_for(timeout=30_000)
        # Nothing on the page records work or a price
        assert hand.page.locator("#page button").count() == 0
        assert {link.inner_text() for link in hand.page.locator("#page a").all()} == {"Make safe", "Close"}
    hand.stage("find")
    hand.page.locator(".funnel p", has_text="hazard").wait_for(timeout=60_000)
    # Seen wrongly: with the last word taken back the price is there again
    hand.stage("safe")
    hand.tap("Take the last one back")
    hand.page.locator("dd.done", has_text="none seen").wait_for()
    hand.go(f"/calls/{hand.call}/agree")
    hand.page.get_by_role("button", name=re.compile("^Name this price")).wait_for(timeout=60_000)


def test_a_share_is_keyed_in_percent_and_a_day_is_booked(hand: Hand) -> None:
    hand.open_call("front-load washer", "fills slowly", "share")
    hand.page.get_by_label("Name", exact=True).fill("A. Customer")
    hand.page.get_by_label("Day of the visit").fill("2027-01-12")
    hand.tap("Keep", exact=True)
    hand.page.locator("summary", has_text="Customer: A. Customer").wait_for()
    hand.wait_sent()
    booked = [event["body"] for event in hand.server.events(hand.call) if event["kind"] == "follow-up set"]
    assert booked == [{"date": "2027-01-12", "why": "visit"}]
    hand.stage("safe")
    hand.tap("Done: look, smell and ask")
    hand.stage("find")
    hand.settle()
    hand.pick("are other taps strong")
    hand.tap("strong", exact=True)
    hand.page.locator(".card b", has_text="strong").first.wait_for(timeout=60_000)
    hand.settle()
    hand.pick("handle of the stop valve")
    hand.key_in("58", "%")
    hand.page.locator(".card b", has_text="58 %").first.wait_for(timeout=60_000)
    hand.wait_sent()
    read = [event["body"] for event in hand.server.events(hand.call) if event["kind"] == "reading taken"]
    assert (read[-1]["check"], read[-1]["typed"]) == ("C14", "58 %") and abs(read[-1]["value"] - 0.58) < 1e-12
