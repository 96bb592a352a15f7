"""No serious violation on any page by axe-core; first load, the answer to a tap and the pad stay within their budgets."""

from __future__ import annotations

import gzip
import time
from pathlib import Path
from typing import Any

from bench_server import DESK, Server, phone
from hand import Hand

AXE = (Path(__file__).parent / "vendor" / "axe.min.js").read_text(encoding="utf-8")
STAGES = ("ask", "load", "safe", "find", "agree", "fix", "prove", "close")
ROOMS = (
    "/",
    "/calls/new",
    "/van",
    "/handbook",
    "/handbook/front-load%20washer",
    "/bench",
    "/bench/front-load%20washer",
    "/settings",
)
# [byte] of the first load as sent, [ms] from a tap to the next picture, both of issue 6; and how much slower a phone is.
FIRST_LOAD, TAP, SLOWER = 300_000, 200.0, 4
# [ms] for the odds on the phone, [byte] of a packed call, of the same issue.
ODDS, PACK = 50.0, 2_000_000
# Event timing: from the touch to the picture after it (INP), in steps of 8 ms
WATCH = """window.slowest = 0; new PerformanceObserver(list => { for (const one of list.getEntries())
    window.slowest = Math.max(window.slowest, one.duration); }).observe({ type: 'event', durationThreshold: 16, buffered: false })"""
PACKED = """new Promise(done => {
    const opened = indexedDB.open('tundish');
    opened.onsuccess = () => {
        const asked = opened.result.transaction('packs').objectStore('packs').count();
        asked.onsuccess = () => { opened.result.close(); done(asked.result > 0); };
    };
})"""
SERIOUS = ("serious", "critical")


def violations(page: Any) -> list[str]:
    """Serious violations of a page, by rule and place."""
    # The content policy forbids a script in the page; the driver's own world is outside of it
    page.evaluate(AXE)
    found = page.evaluate("axe.run(document, { resultTypes: ['violations'] })")["violations"]
    return [
        f"{v['id']}: {n['target']} {n['failureSummary'][:200]}"
        for v in found
        if v["impact"] in SERIOUS
        for n in v["nodes"]
    ]


def walk(hand: Hand) -> dict[str, list[str]]:
    """Violations of every page, by its path; and pages wider than the screen."""
    found: dict[str, list[str]] = {}
    for path in [*(f"/calls/{hand.call}/{stage}" for stage in STAGES), *ROOMS]:
        hand.go(path)
        hand.settle()
        wide = hand.page.evaluate("document.documentElement.scrollWidth - innerWidth")
        found[path] = violations(hand.page) + ([f"wider than the screen by {wide}"] if wide > 0 else [])
    return {path: some for path, some in found.items() if some}


def test_no_page_has_a_serious_violation_bright_or_dark(hand: Hand) -> None:
    hand.open_call("front-load washer", "fills slowly", "axe")
    assert walk(hand) == {}
    hand.page.evaluate("localStorage.setItem('tundish', JSON.stringify({ theme: 'dark', language: 'de' }))")
    assert walk(hand) == {}


def test_a_wide_screen_has_none_either(browser: Any, server: Server, tmp_path: Path) -> None:
    with phone(browser, tmp_path / "desk", DESK) as context:
        hand = Hand(context.pages[0], server)
        hand.open_call("front-load washer", "fills slowly", "desk")
        assert walk(hand) == {}


def test_targets_are_large_enough_for_a_glove(hand: Hand) -> None:
    hand.open_call("front-load washer", "fills slowly", "glove")
    script = """[...document.querySelectorAll('button, a, summary, input, select')]
        .filter(e => e.offsetParent && !e.closest('.unseen, .shot'))
        .map(e => [e, (e.closest('label') || e).getBoundingClientRect()])
        .map(([e, box]) => [e.innerText || e.ariaLabel || e.tagName, box.width, box.height])
        .filter(([, w, h]) => w < 48 || h < 48)"""
    small = {}
    for path in [*(f"/calls/{hand.call}/{stage}" for stage in STAGES), *ROOMS]:
        hand.go(path)
        hand.settle()
        small[path] = hand.page.evaluate(script)
    assert {path: some for path, some in small.items() if some} == {}


def test_the_first_load_is_small(server: Server, hand: Hand) -> None:
    sizes: dict[str, int] = {}

    def taken(answer: Any) -> None:
        if answer.url.startswith(server.url) and "/api/" not in answer.url:
            sizes[answer.url] = len(gzip.compress(answer.body(), mtime=0))

    hand.page.on("response", taken)
    hand.go("/")
    hand.page.wait_for_load_state("networkidle")
    print(f"first load: {sum(sizes.values())} bytes in {len(sizes)} files")
    assert len(sizes) > 20
    assert sum(sizes.values()) < FIRST_LOAD


def test_a_tap_is_answered_at_once_on_a_slow_phone(hand: Hand) -> None:
    hand.open_call("front-load washer", "fills slowly", "quick")
    hand.stage("find")
    hand.pick("flow of the kitchen tap")
    hand.page.wait_for_selector(".keys button")
    hand.page.wait_for_timeout(3000)
    tap = hand.page.context.new_cdp_session(hand.page)
    tap.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    hand.page.evaluate(WATCH)
    hand.key_in("38", "s / 10 L")
    hand.page.locator(".lines b", has_text="10 L in 38 s").first.wait_for()
    hand.page.wait_for_timeout(500)
    slowest = hand.page.evaluate("window.slowest")
    print(f"slowest answer to a tap at {SLOWER} times slower: {slowest} ms")
    assert 0 < slowest < TAP


def test_a_tap_without_a_line_is_answered_at_once_too(hand: Hand) -> None:
    hand.open_call("front-load washer", "fills slowly", "cellar")
    hand.stage("find")
    hand.wait_sent()
    hand.pick("hose route")
    for _ in range(400):
        if hand.page.evaluate(PACKED):
            break
        hand.page.wait_for_timeout(200)
    hand.server.kill()
    hand.page.locator("button", has_text="flat spot").wait_for()
    hand.page.context.new_cdp_session(hand.page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    hand.page.evaluate(WATCH)
    # How far the next action is must be seen before it is there
    hand.page.evaluate("""window.shown = []; new MutationObserver(() => {
        const bar = document.querySelector('.funnel [role=progressbar]');
        if (bar) window.shown.push(Number(bar.getAttribute('aria-valuenow')));
    }).observe(document.body, { subtree: true, childList: true, attributes: true })""")
    slowest, took = [], []
    for _ in range(3):
        hand.pick("hose route")
        hand.page.evaluate("window.slowest = 0; window.shown = []")
        begun = time.monotonic()
        hand.tap("flat spot", exact=True)
        reckoned = "() => window.shown.length && !document.querySelector('.funnel [role=progressbar]')"
        hand.page.wait_for_function(reckoned, timeout=60_000)
        took.append(time.monotonic() - begun)
        hand.page.get_by_text("Worked out on this phone").first.wait_for()
        slowest.append(hand.page.evaluate("window.slowest"))
        shown = hand.page.evaluate("window.shown")
        assert shown == sorted(shown)
        hand.tap("Take back", exact=True)
        hand.page.wait_for_function(reckoned, timeout=60_000)
    after = [round(seconds, 1) for seconds in took]
    print(
        f"without a line, {SLOWER} times slower: taps {slowest} ms, next action after {after} s, shares {sorted(set(shown))}"
    )
    # The quickest of three: what else this computer does is not the phone's fault
    assert 0 < min(slowest) < TAP


def test_odds_are_reckoned_at_once_on_a_slow_phone(hand: Hand) -> None:
    hand.open_call("front-load washer", "fills slowly", "pack")
    hand.stage("find")
    hand.wait_sent()
    hand.server.get(f"/api/calls/{hand.call}/find")
    # A pack may take some seconds to be drawn: until then the server answers that it is waiting
    script = """async call => {
        const { odds, unpack, weigh } = await import('/static/kernel.js');
        let answer = await fetch(`/api/calls/${call}/pack`);
        while (answer.status === 202) {
            await new Promise(go => setTimeout(go, 300));
            answer = await fetch(`/api/calls/${call}/pack`);
        }
        const bytes = await answer.arrayBuffer();
        const pocket = await unpack(bytes);
        const readings = [
            { check: 'C02', value: null, answer: 'flat spot', bound: 'exact' }, { check: 'C03', value: 220, answer: null, bound: 'exact' },
        ];
        const took = [];
        for (let i = 0; i < 15; i++) {
            const begun = performance.now();
            odds(weigh(pocket, readings));
            took.push(performance.now() - begun);
        }
        return { took, bytes: bytes.byteLength, machines: pocket.kind.length };
    }"""
    hand.page.context.new_cdp_session(hand.page).send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    found = hand.page.evaluate(script, hand.call)
    # The quickest of fifteen: what else this computer does is not the phone's fault
    quickest = min(found["took"])
    print(
        f"odds of {found['machines']} machines at {SLOWER} times slower: {quickest:.0f} ms; the pack has {found['bytes']} bytes"
    )
    assert quickest < ODDS
    assert found["bytes"] < PACK
