"""Quotes worked by hand, what stays true of every quote, consent beyond its share, and the warranty clock."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from importlib.resources import files

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tundish.appliance.reader import read
from tundish.call.quotes import Quoted, facts_of
from tundish.plan.remedies import HAND_OVER, REPAIR, Remedy, remedies
from tundish.prices.errors import PriceError
from tundish.prices.money import Money
from tundish.prices.overrun import covered, over_run
from tundish.prices.papers import untallied
from tundish.prices.quote import marked_up, quote, title_of
from tundish.prices.settings import Settings
from tundish.prices.settings_usual import usual
from tundish.prices.tax import Item
from tundish.prices.warranty import warranty

DAY = date(2026, 11, 25)
EUR, USD = usual("EUR"), usual("USD")


def remedy(*, price: float = 30.0, minutes: float = 35.0, order: bool = False, kind: str = REPAIR) -> Remedy:
    """A pump that jams."""
    return Remedy(f"{kind} F1 drain pump: jammed", kind, ("F1",), price, minutes, (), order, True)


def test_a_quote_worked_by_hand() -> None:
    # Call-out 80.00; pump 30.00 x 1.6 = 48.00; 35 min are two begun half hours of 42.50; 21 % on each line
    facts = quote(remedy(), EUR, today=DAY, chance_cures=0.9).facts()
    assert [(x["kind"], x["what"], x["quantity"], x["each"], x["net"], x["tax"]) for x in facts["lines"]] == [
        ("call-out", "call-out and diagnosis", 1, 8000, 8000, 1680),
        ("part", "drain pump", 1, 4800, 4800, 1008),
        ("labour", "drain pump: jammed", 2, 4250, 8500, 1785),
    ]
    assert (facts["net"], facts["tax"], facts["gross"]) == (21300, 4473, 25773)
    assert (facts["owed_if_refused"], facts["valid_until"], facts["chance_cures"]) == (
        9680,
        "2026-12-09",
        0.9,
    )
    assert [(o["name"], o["gross"], o["chance_cures"]) for o in facts["options"]] == [
        ("repair now", 25773, 0.9), ("replace", 9680 + 58500, 1.0), ("do nothing", 9680, 0.0),
    ]  # fmt: skip


def test_sales_tax_on_parts_only() -> None:
    # Pump 30.00 x 1.6 = 48.00, 7 % of it 3.36; call-out 115.00 and two half hours of 62.50 without tax
    facts = quote(remedy(), USD, today=DAY, chance_cures=0.9).facts()
    assert (facts["net"], facts["tax"], facts["owed_if_refused"]) == (28800, 336, 11500)
    assert facts["taxes"] == [{"name": "sales tax", "rate": "0.07", "net": 4800, "tax": 336}]


def test_what_is_on_order_says_so() -> None:
    options = quote(remedy(order=True), EUR, today=DAY, chance_cures=0.9).options
    assert [option.name for option in options] == ["order and return", "replace", "do nothing"]


def test_another_trade_is_not_priced_here() -> None:
    made = quote(remedy(kind=HAND_OVER), EUR, today=DAY, chance_cures=0.9, chance_new_cures=0.0)
    assert [line.item.kind for line in made.lines] == ["call-out"]
    assert [(o.name, o.chance_cures) for o in made.options[:2]] == [("hand over", 0.9), ("replace", 0.0)]
    assert made.gross == made.owed


def test_what_is_spent_is_owed_and_no_call_out_is_no_line() -> None:
    free = replace(EUR, call_out=0)
    spent = [Item(kind="part", what="screen", each=Money(600, "EUR"))]
    made = quote(remedy(price=0.0), free, today=DAY, chance_cures=0.9, spent=spent)
    assert [line.item.what for line in made.lines] == ["screen", "drain pump: jammed"]
    assert made.owed == Money(726, "EUR")
    assert quote(remedy(), free, today=DAY, chance_cures=0.9).owed == Money(0, "EUR")


def test_the_price_paid_for_the_part_goes_before_the_estimate() -> None:
    made = quote(remedy(), EUR, today=DAY, chance_cures=0.9, bought=Money.of("200.00", "EUR"))
    assert made.lines[1].net == Money.of("250.00", "EUR")


@given(
    st.floats(0, 900), st.floats(0.1, 600), st.booleans(), st.sampled_from(["line", "total"]),
    st.sampled_from(["net", "gross"]), st.sampled_from([1, 7, 15, 30, 60]),
)  # fmt: skip
def test_every_quote_tallies(
    price: float, minutes: float, order: bool, rounding: str, prices: str, step: int
) -> None:
    settings = replace(USD, rounding=rounding, prices=prices, labour_step=step)
    made = quote(remedy(price=price, minutes=minutes, order=order), settings, today=DAY, chance_cures=0.5)
    assert untallied(made.facts()) == []
    work = made.lines[-1].item
    # Begun steps: all the minutes are paid, and less than one step beyond
    assert minutes - 1e-3 <= work.quantity * step < minutes + step + 1e-3
    assert made.gross >= made.owed


@given(st.integers(0, 40_000), st.integers(0, 40_000))
def test_a_dearer_part_is_never_sold_for_less(one: int, two: int) -> None:
    low, high = sorted((one, two))
    assert marked_up(Money(low, "EUR"), EUR) <= marked_up(Money(high, "EUR"), EUR)
    assert marked_up(Money(low, "EUR"), EUR).minor >= low


@pytest.mark.parametrize("currency", ["EUR", "USD"])
def test_every_remedy_of_a_family_can_be_quoted(currency: str) -> None:
    text = (files("tundish") / "appliance" / "families" / "front_load_washer.yaml").read_text(
        encoding="utf-8"
    )
    description = read(text, "front_load_washer.yaml")
    settings = usual(currency)
    shop = settings.shop(description.markets[settings.market])
    found = remedies(description, shop, description.faults)
    assert len(found) > 20
    for one in found:
        made = quote(one, settings, today=DAY, chance_cures=0.8, family=description.family)
        assert untallied(made.facts()) == []
        assert not any(fault in title_of(one).split() for fault in one.faults)
        assert all(line.item.what for line in made.lines)


@pytest.mark.parametrize(
    "given_",
    [{"chance_cures": 90}, {"chance_cures": float("nan")}, {"chance_cures": 0.9, "chance_new_cures": -1}],
)
def test_a_chance_is_a_share(given_: dict[str, float]) -> None:
    with pytest.raises(PriceError, match="0 to 1"):
        quote(remedy(), EUR, today=DAY, **given_)  # type: ignore[arg-type]


@pytest.mark.parametrize("minutes", [0.0, -5.0, float("inf"), float("nan")])
def test_work_takes_time(minutes: float) -> None:
    with pytest.raises(PriceError, match="minutes"):
        quote(remedy(minutes=minutes), EUR, today=DAY, chance_cures=0.9)


SHARE = Decimal("0.15")


@given(st.integers(0, 10**6), st.integers(0, 10**6))
def test_consent_covers_its_share_and_no_more(consented: int, now: int) -> None:
    agreed = Money(consented, "EUR")
    found = over_run(agreed, Money(now, "EUR"), SHARE)
    assert found.ask_again == (now * 100 > consented * 115)
    assert found.limit == covered(agreed, SHARE)


def test_a_new_cause_asks_again_at_any_price() -> None:
    agreed = Money(10000, "EUR")
    assert (
        over_run(agreed, Money(100, "EUR"), SHARE, causes=["F2", "F1"], agreed_causes=["F1"]).why
        == "new cause: F2"
    )
    assert not over_run(agreed, agreed, SHARE, causes=["F1"], agreed_causes=["F1", "F3"]).ask_again
    with pytest.raises(PriceError, match="one currency"):
        over_run(agreed, Money(1, "USD"), SHARE)


def test_work_for_nothing_covers_nothing_more() -> None:
    assert over_run(Money(0, "EUR"), Money(1, "EUR"), SHARE).ask_again


def test_the_warranty_clock() -> None:
    # 90 days from 25 Nov 2026: 5 to 30 Nov, 31 in Dec, 31 in Jan, 23 in Feb
    clock = warranty(DAY, EUR)
    assert clock.labour_until == date(2027, 2, 23)
    assert clock.part_until == date(2028, 11, 24)  # 730 days over the leap day of 2028
    assert clock.covers("labour", DAY)
    assert clock.covers("labour", clock.labour_until)
    assert not clock.covers("labour", clock.labour_until + timedelta(1))
    assert not clock.covers("part", DAY - timedelta(1))
    assert [clock.days_left("labour", d) for d in (DAY, clock.labour_until, date(2030, 1, 1))] == [90, 0, 0]
    with pytest.raises(PriceError, match="labour or part"):
        clock.covers("paint", DAY)


@pytest.mark.parametrize("settings", [EUR, USD], ids=["EUR", "USD"])
def test_no_step_down_at_the_dear_bound(settings: Settings) -> None:
    around = range(settings.mark_up_from - 50, settings.mark_up_from * 2)
    sold = [marked_up(Money(minor, settings.currency), settings).minor for minor in around]
    assert sold == sorted(sold)
    # Far enough above, the dear factor alone
    assert sold[-1] == round(around[-1] * 1.25)


@pytest.mark.parametrize("settings", [EUR, USD], ids=["EUR", "USD"])
def test_the_call_takes_the_quote_as_it_is(settings: Settings) -> None:
    facts = quote(remedy(), settings, today=DAY, chance_cures=0.9).facts()
    kept = msgspec.convert({"id": "Q1", "faults": ["F1"], **facts}, Quoted)
    assert json.loads(json.dumps(facts_of(kept))) == facts
