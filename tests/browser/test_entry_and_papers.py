"""Slips of the finger are caught at the pad and lose nothing; live work is the owner's choice; papers have their buttons."""

from __future__ import annotations

from hand import Hand


def readings(hand: Hand) -> list[str]:
    return [e["body"]["typed"] for e in hand.server.events(hand.call) if e["kind"] == "reading taken"]


def test_a_number_out_of_range_is_told_and_stays(hand: Hand) -> None:
    page = hand.page
    hand.open_call("front-load washer", "fills slowly", "slip")
    hand.stage("find")
    hand.pick("flow of the kitchen tap")
    page.wait_for_selector(".keys button")
    # Three noughts too many
    hand.key_in("9000", "L/min")
    alert = page.locator(".pad [role=alert]")
    alert.wait_for()
    assert "9000 L/min" in alert.inner_text()
    assert "up to" in alert.inner_text() or " to " in alert.inner_text()
    assert page.locator(".pad output").inner_text().startswith("9000")
    assert hand.count() == 0
    for _ in range(3):
        page.locator(".keys button[aria-label='Rub out']").click()
    assert alert.count() == 0
    hand.tap("Write down", exact=True)
    page.locator(".lines b", has_text="9 L/min").first.wait_for()
    hand.wait_sent()
    assert readings(hand) == ["9 L/min"]


def test_a_photo_is_taken_at_the_check_it_shows(hand: Hand) -> None:
    hand.open_call("front-load washer", "fills slowly", "lens")
    hand.stage("find")
    hand.pick("hose route")
    hand.page.locator("button", has_text="flat spot").wait_for()
    hand.photo("C02")
    hand.page.wait_for_selector(".photos img")
    hand.wait_sent()
    photo = next(e["body"] for e in hand.server.events(hand.call) if e["kind"] == "photo kept")
    assert (photo["subject"], photo["stage"]) == ("C02", "find")


def test_live_work_is_chosen_by_the_owner(hand: Hand) -> None:
    page = hand.page
    hand.go("/settings")
    page.get_by_role("button", name="Qualified for live work", exact=True).click()
    page.locator("button[aria-pressed=true]", has_text="Qualified for live work").wait_for()
    call = hand.open_call("front-load washer", "fills slowly", "live")
    hand.wait_sent()
    assert hand.server.get(f"/api/calls/{call}/safe")["who"] == "qualified"
    hand.go("/settings")
    page.get_by_role("button", name="Not qualified", exact=True).click()
    page.locator("button[aria-pressed=true]", has_text="Not qualified").wait_for()
    assert hand.server.get(f"/api/calls/{call}/safe")["who"] == "trained"


def test_a_handbook_and_a_quote_come_as_paper(hand: Hand) -> None:
    page = hand.page
    hand.go("/handbook/dryer")
    sheet = page.get_by_role("link", name="As a sheet of paper")
    sheet.wait_for()
    answer = page.request.get(hand.server.url + str(sheet.get_attribute("href")), timeout=60_000)
    assert answer.body().startswith(b"%PDF")
    hand.go("/settings")
    row = page.locator("li").filter(has=page.locator("summary span", has_text="name").first).first
    row.locator("summary").click()
    row.get_by_label("name", exact=True).fill("The Bench")
    row.locator("button", has_text="Keep").click()
    row.locator("summary", has_text="The Bench").wait_for()
    call = hand.open_call("front-load washer", "fills slowly", "quote")
    hand.go(f"/calls/{call}/ask")
    page.get_by_label("Name", exact=True).fill("A. Customer")
    page.get_by_label("Address", exact=True).fill("3 Orchard Lane")
    hand.tap("Keep", exact=True)
    page.get_by_text("Customer: A. Customer").wait_for()
    hand.go(f"/calls/{call}/agree?fault=S06")
    hand.tap("Name this price")
    hand.wait_sent()
    hand.tap("Quote", exact=True)
    page.locator("a", has_text="Open: quote").wait_for(timeout=90_000)
    paper = page.locator("a", has_text="Open: quote").get_attribute("href")
    assert page.request.get(hand.server.url + str(paper)).body().startswith(b"%PDF")
