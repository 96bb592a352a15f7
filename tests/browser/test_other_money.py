"""A new call opens only in a market that the shop's money and the machine allow."""

from __future__ import annotations

from hand import Hand


def test_a_shop_in_euro_opens_no_call_that_reckons_in_dollars(hand: Hand) -> None:
    page = hand.page
    hand.go("/")
    said = page.evaluate(
        """async () => {
            const { token } = await (await fetch("/api/me")).json();
            const body = JSON.stringify({ key: "currency", value: "EUR" });
            const headers = { "Content-Type": "application/json", "X-Tundish-Token": token };
            return (await fetch("/api/settings", { method: "POST", headers, body })).status;
        }"""
    )
    assert said < 300
    hand.go("/calls/new")
    hand.tap("dryer")
    page.get_by_text("The shop reckons in EUR").wait_for()
    market = page.get_by_label("Market")
    assert market.input_value() == "EU"
    assert market.locator("option[value=NA]").is_disabled()
    # A European dryer has no two legs of 240 V
    assert page.get_by_role("button", name="230 V").count() == 1
    assert page.get_by_role("button", name="240 V").count() == 0
