"""The server is killed in mid-call; Find and Fix go on; when it is there again it holds every event exactly once."""

from __future__ import annotations

import re
import signal
import time
from pathlib import Path
from typing import Any

from bench_server import Server, phone
from hand import Hand

# Reads one store of the phone: its name, and what to ask of it.
STORE = """((name, ask) => new Promise(done => {
    const opened = indexedDB.open('tundish');
    opened.onsuccess = () => {
        const asked = ask(opened.result.transaction(name).objectStore(name));
        asked.onsuccess = () => { opened.result.close(); done(asked.result); };
    };
}))"""


def ready(hand: Hand) -> None:
    """Wait until the page runs from its own store and the call is in the pocket."""
    hand.page.evaluate(
        "navigator.serviceWorker.ready.then(() => navigator.serviceWorker.controller || location.reload())"
    )
    hand.page.wait_for_function("navigator.serviceWorker.controller !== null")
    # What a basement will need is fetched behind the page
    wanted = f"""{STORE}('facts', all => all.getAllKeys()).then(async keys => keys.some(key => key.startsWith('pocket fix'))
        && keys.some(key => key.endsWith('/close')) && (await {STORE}('packs', all => all.getAllKeys())).length)"""
    for _ in range(400):
        if hand.page.evaluate(wanted):
            return
        hand.page.wait_for_timeout(200)
    raise AssertionError("the call never came into the pocket")


def local(hand: Hand) -> list[str]:
    """Ids of the call's events on the phone."""
    script = f"call => {STORE}('events', all => all.index('call').getAllKeys(call))"
    found: list[str] = hand.page.evaluate(script, hand.call)
    return found


def agreed_call(hand: Hand) -> str:
    """A call with a price agreed to, so that a repair may be made."""
    call = hand.open_call("front-load washer", "fills slowly", "cellar")
    hand.stage("find")
    hand.go(f"/calls/{call}/agree?fault=S06")
    hand.tap("Name this price")
    hand.page.get_by_label("Name of who agrees").fill("A. Customer")
    hand.tap("Agreed by word")
    hand.page.get_by_text("agreed to").wait_for()
    hand.stage("find")
    return call


def test_a_server_killed_in_mid_call_loses_and_doubles_nothing(hand: Hand, server: Server) -> None:
    page, call = hand.page, agreed_call(hand)
    ready(hand)
    hand.wait_sent()
    before = server.events(call)
    first = page.locator(".strip b").first.inner_text()
    server.kill()
    hand.pick("hose route")
    hand.tap("flat spot", exact=True)
    page.wait_for_selector(".tank[data-waiting='1']")
    page.get_by_text("No line to the computer").wait_for()
    hand.photo("find")
    page.wait_for_selector(".tank[data-waiting='2']")
    # The page itself comes from the phone, at a deep address too
    page.reload()
    page.wait_for_selector(".photos img")
    assert hand.count() == 2
    # Odds and the next action are reckoned on the phone from the packed call, the waiting reading included
    page.get_by_text("Worked out on this phone").wait_for()
    page.wait_for_function("was => document.querySelector('.strip b').innerText !== was", arg=first)
    assert "fill hose" in page.locator(".strip li").first.inner_text()
    hand.stage("fix")
    hand.tap("Done: pull the machine out")
    page.locator(".funnel button.main", has_text=re.compile("^Done$")).wait_for()
    box = page.locator(".funnel input[type=checkbox]:visible")
    if box.count():
        box.first.check()
    hand.tap("Done", exact=True)
    page.locator(".funnel .done").first.wait_for()
    waiting = hand.count()
    assert waiting >= 4
    mine = local(hand)
    assert len(mine) == len(before) + waiting
    server.start()
    hand.wait_sent()
    after = [event["id"] for event in server.events(call)]
    assert sorted(after) == sorted(mine)
    assert len(set(after)) == len(after)
    # Sent once more, as after an answer that was lost: still one copy
    page.evaluate("location.reload()")
    page.wait_for_selector("#page")
    hand.wait_sent()
    assert [event["id"] for event in server.events(call)] == after
    photo = next(event["body"] for event in server.events(call) if event["kind"] == "photo kept")
    kept = server.data / "photos" / photo["sha256"][:2] / photo["sha256"]
    for _ in range(50):
        if kept.exists():
            break
        page.wait_for_timeout(200)
    assert kept.stat().st_size == photo["bytes"]
    assert b"Exif" not in kept.read_bytes()


def test_a_repair_is_proven_without_a_server(hand: Hand, server: Server) -> None:
    page, call = hand.page, agreed_call(hand)
    hand.pick("hose route")
    hand.tap("flat spot", exact=True)
    page.locator(".lines b", has_text="flat spot").first.wait_for()
    ready(hand)
    hand.wait_sent()
    # What the repair agreed to would leave is packed too
    wanted = f"{STORE}('packs', all => all.getAllKeys()).then(keys => keys.includes(`${{'{call}'}} S06`))"
    for _ in range(400):
        if page.evaluate(wanted):
            break
        page.wait_for_timeout(200)
    server.kill()
    hand.stage("fix")
    hand.mend()
    hand.stage("prove")
    page.get_by_text("Worked out on this phone").wait_for()
    page.get_by_role("heading", name="Unproven").wait_for()
    before = page.locator(".funnel p").nth(1).inner_text()
    for _ in range(6):
        back = page.locator(".card button:visible").filter(has_text="Done:")
        if not back.count():
            break
        back.first.click()
        page.wait_for_timeout(600)
    title = page.locator(".card.check > h2").inner_text()
    row = page.locator(".lines li").filter(has_text=title).first.locator("dd").first.inner_text()
    # The middle of what a sound machine shows, in the unit of the pad
    low, high = (float(part) for part in re.findall(r"[\d.]+", row)[:2])
    unit = re.search(r"[\d.]+ (\S+)", row)
    assert unit is not None
    hand.key_in(f"{(low + high) / 2:.3g}", unit[1])
    page.wait_for_function("was => document.querySelectorAll('.funnel p')[1].innerText !== was", arg=before)
    hand.tap("It works", exact=True)
    page.get_by_text("It worked at the last try").wait_for()
    # On Find the proof comes first, or the end once it is proven
    hand.stage("find")
    page.get_by_text("Worked out on this phone").first.wait_for()
    server.start()
    hand.wait_sent()
    facts = server.get(f"/api/calls/{call}/prove")
    assert [fault["id"] for fault in facts["repaired"]] == ["S06"]
    assert len(facts["read"]) == 1
    events = server.events(call)
    assert [e["body"]["works"] for e in events if e["kind"] == "tested"] == [True]


def test_a_line_that_swallows_everything_holds_nothing_up(hand: Hand, server: Server) -> None:
    page = hand.page
    call = hand.open_call("front-load washer", "fills slowly", "bars")
    hand.stage("find")
    ready(hand)
    hand.wait_sent()
    hand.pick("hose route")
    page.locator("button", has_text="flat spot").wait_for()
    assert server.process is not None
    # It takes the connection and never says a word
    server.process.send_signal(signal.SIGSTOP)
    hand.tap("flat spot", exact=True)
    begun = time.monotonic()
    page.get_by_text("Worked out on this phone").first.wait_for()
    first = time.monotonic() - begun
    hand.pick("drain hose sealed")
    hand.tap("open", exact=True)
    begun = time.monotonic()
    page.locator("li b", has_text=re.compile("^open$")).first.wait_for()
    page.wait_for_function(
        "() => document.querySelector('.funnel h1') && !document.querySelector('.funnel [role=progressbar]')"
    )
    second = time.monotonic() - begun
    print(f"a line that swallows everything: {first:.1f} s, then {second:.1f} s")
    # Once it is known, nothing waits for the line again
    assert first < 15
    assert second < 5
    server.process.send_signal(signal.SIGCONT)
    hand.wait_sent()
    assert len([e for e in server.events(call) if e["kind"] == "reading taken"]) == 2


def test_a_call_is_opened_and_kept_without_a_server(hand: Hand, server: Server) -> None:
    hand.go("/")
    hand.tap("New call")
    hand.page.locator("button", has_text="dryer").wait_for()
    hand.page.evaluate("navigator.serviceWorker.ready")
    hand.page.wait_for_function("navigator.serviceWorker.controller !== null")
    server.kill()
    hand.tap("dryer", exact=True)
    hand.page.locator(".choices button", has_text="heat").first.click()
    hand.page.get_by_label("Short name for the call").fill("attic")
    hand.tap("Open the call")
    hand.page.wait_for_url("**/ask")
    hand.call = hand.page.url.split("/")[4]
    fresh = Hand(hand.page.context.new_page(), server)
    # The tab is closed and another opened: the outbox is still there
    hand.page.close()
    fresh.go("/")
    fresh.page.get_by_text("attic").wait_for()
    assert fresh.count() == 1
    server.start()
    fresh.page.reload()
    fresh.wait_sent()
    assert [row["name"] for row in server.get("/api/calls")] == ["attic"]
    assert fresh.troubles == []


def test_two_phones_on_one_call_end_with_the_same_events(
    hand: Hand, server: Server, browser: Any, tmp_path: Path
) -> None:
    call = hand.open_call("front-load washer", "fills slowly", "shared")
    hand.stage("find")
    hand.wait_sent()
    with phone(browser, tmp_path / "second") as context:
        other = Hand(context.pages[0], server)
        other.call = call
        other.stage("find")
        for one in (hand, other):
            one.page.wait_for_selector(".choices button, .keys")
        ready(hand)
        ready(other)
        server.kill()
        hand.pick("hose route")
        hand.tap("flat spot", exact=True)
        other.pick("drain hose sealed")
        other.tap("open", exact=True)
        for one in (hand, other):
            one.page.wait_for_selector(".tank[data-waiting='1']")
        server.start()
        for one in (other, hand):
            one.wait_sent()
        for one in (hand, other):
            one.stage("find")
            one.page.locator("li b", has_text="flat spot").first.wait_for()
            one.page.locator("li b", has_text=re.compile("^open$")).first.wait_for()
        ids = sorted(event["id"] for event in server.events(call))
        assert sorted(local(hand)) == sorted(local(other)) == ids
        devices = {event["device"] for event in server.events(call) if event["kind"] == "reading taken"}
        assert len(devices) == 2
        assert other.troubles == []


FULL = (
    "void (IDBObjectStore.prototype.add = () => { throw new DOMException('no room', 'QuotaExceededError'); })"
)


def test_a_full_phone_sends_straight_to_the_computer(hand: Hand, server: Server) -> None:
    call = hand.open_call("front-load washer", "fills slowly", "full")
    hand.stage("find")
    hand.wait_sent()
    hand.pick("hose route")
    hand.page.evaluate(FULL)
    hand.tap("flat spot", exact=True)
    hand.page.get_by_text("went straight to the computer").wait_for()
    assert [e["body"]["check"] for e in server.events(call) if e["kind"] == "reading taken"] == ["C02"]


def test_a_full_phone_without_a_computer_claims_nothing(hand: Hand, server: Server) -> None:
    call = hand.open_call("front-load washer", "fills slowly", "full")
    hand.stage("find")
    hand.wait_sent()
    hand.pick("hose route")
    hand.page.locator("button", has_text="flat spot").wait_for()
    known = local(hand)
    hand.page.evaluate(FULL)
    server.kill()
    hand.tap("flat spot", exact=True)
    hand.page.get_by_text("NOT recorded").first.wait_for()
    # Neither the event nor half of it: nothing on the phone, nothing in the outbox
    assert local(hand) == known
    assert hand.count() == 0
    server.start()
    assert [event["id"] for event in server.events(call)] == known


def test_a_clock_wrong_by_a_day_is_told_and_breaks_no_order(
    hand: Hand, server: Server, browser: Any, tmp_path: Path
) -> None:
    call = hand.open_call("front-load washer", "fills slowly", "clock")
    hand.wait_sent()
    with phone(browser, tmp_path / "late") as context:
        late = Hand(context.pages[0], server)
        late.call = call
        late.page.add_init_script("{ const now = Date.now.bind(Date); Date.now = () => now() - 86400000; }")
        late.stage("find")
        late.page.get_by_text("24 h behind").wait_for()
        late.pick("hose route")
        late.tap("flat spot", exact=True)
        late.page.locator("li b", has_text="flat spot").first.wait_for()
        late.wait_sent()
        assert late.troubles == []
    events = server.events(call)
    reading = next(event for event in events if event["kind"] == "reading taken")
    # Its own clock is on record, and it still follows what was known before it
    assert reading["at"] < events[0]["at"]
    assert reading["id"] > events[0]["id"]
