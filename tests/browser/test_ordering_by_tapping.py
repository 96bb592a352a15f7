"""The part of a repair ordered by tapping: the stock follows, and the order is taken back."""

from __future__ import annotations

from hand import Hand


def test_the_part_is_ordered_taken_back_ordered_again_and_comes_in(hand: Hand) -> None:
    page = hand.page
    call = hand.open_call("front-load washer", "fills slowly", "order")
    hand.go(f"/calls/{call}/agree?fault=S06")
    hand.tap("Name this price")
    page.get_by_label("Name of who agrees").fill("A. Customer")
    hand.tap("Agreed by word")
    hand.tap("Order the part")
    page.get_by_text("The part is on order.").wait_for()
    page.get_by_role("button", name="Take back").click()
    page.get_by_role("button", name="Order the part").wait_for()
    hand.tap("Order the part")
    hand.tap("It came in")
    page.get_by_text("Ordered: 0").wait_for()
    hand.tap("Taken along")
    page.get_by_text("The part is in hand.").wait_for()
    kinds = [event["kind"] for event in hand.server.events(call)]
    assert [kind for kind in kinds if kind.startswith("part")] == ["part ordered", "part ordered", "part taken"]
