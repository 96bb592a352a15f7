"""Settings hold for the planner what it reckoned with before, refuse nonsense by name, and survive plain form."""

from __future__ import annotations

import json
from dataclasses import fields, replace
from decimal import Decimal
from importlib.resources import files

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tundish.appliance.reader import read
from tundish.appliance.records import Market
from tundish.plan.shop import USUAL as PLANNED
from tundish.prices.errors import PriceError
from tundish.prices.money import Money
from tundish.prices.settings import Settings
from tundish.prices.settings_plain import changed, plain
from tundish.prices.settings_rules import RULES
from tundish.prices.settings_usual import OWN, SOURCES, source_of, usual
from tundish.prices.tax import Tax

BOTH = pytest.mark.parametrize("currency", ["EUR", "USD"])
NAMES = [field.name for field in fields(Settings)]
# The marks a figure may carry when it is not published.
MARKS = ("common practice, no source", "from memory", "lawful")


def market(currency: str) -> Market:
    """A market by its currency alone."""
    return Market("M", "a market", currency, "metric", {})


@BOTH
def test_the_planner_gets_its_usual_shop(currency: str) -> None:
    assert usual(currency).shop(market(currency)) == PLANNED[currency]


@BOTH
def test_the_usual_market_is_one_of_the_descriptions(currency: str) -> None:
    text = (files("tundish") / "appliance" / "families" / "dryer.yaml").read_text(encoding="utf-8")
    markets = read(text, "dryer.yaml").markets
    assert markets[usual(currency).market].currency == currency


@BOTH
def test_every_setting_has_a_rule_and_a_source(currency: str) -> None:
    assert list(RULES) == NAMES
    assert set(SOURCES) <= set(NAMES)
    for name in NAMES:
        assert any(mark in source_of(usual(currency), name) for mark in MARKS)


def test_a_figure_of_the_shop_is_its_own() -> None:
    mine = replace(usual("EUR"), labour=9000)
    assert (source_of(mine, "labour"), source_of(mine, "call_out")) == (
        OWN,
        source_of(usual("EUR"), "call_out"),
    )
    assert source_of(replace(usual("EUR"), currency="GBP"), "labour") == OWN


@BOTH
def test_plain_values_come_back_the_same(currency: str) -> None:
    before = usual(currency)
    values = json.loads(json.dumps(plain(before)))
    other = usual("EUR" if currency == "USD" else "USD")
    assert changed(other, values) == before
    assert list(values) == NAMES


@given(st.sampled_from(["0", "0.05", "0.0725", "0.255"]), st.integers(0, 10**7), st.decimals(0, 1, places=3))
def test_changed_settings_come_back_too(rate: str, labour: int, over: Decimal) -> None:
    before = replace(usual("USD"), labour=labour, over_run=over, taxes=(Tax("T", Decimal(rate), ("part",)),))
    assert changed(usual("USD"), json.loads(json.dumps(plain(before)))) == before


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("labour", -1), ("labour", 85.0), ("labour", True), ("labour", 10**9), ("labour_step", 0),
        ("mark_up_cheap", "0.9"), ("mark_up_cheap", 1.6), ("mark_up_dear", "2"), ("over_run", "15"), ("over_run", "15 %"),
        ("limit", 0), ("limit", float("nan")), ("limit", "0.05"), ("qualified", "yes"), ("qualified", 1), ("paper", "A5"),
        ("units", "imperial"), ("language", "English"), ("currency", "EURO"), ("rounding", "never"), ("prices", "both"),
        ("consent_days", 0), ("replacement", {}), ("replacement", {"any": 5.5}), ("replacement", 55000),
        ("letterhead", "one"), ("letterhead", ["a\nb"]), ("letterhead", ["x"] * 9), ("name", "x" * 121), ("market", " "),
        ("taxes", [{"name": "VAT"}]), ("taxes", ["VAT"]), ("taxes", [{"name": "V", "rate": 0.2, "on": ["part"]}]),
        ("taxes", [{"name": "V", "rate": "20", "on": ["part"]}]), ("taxes", [{"name": "V", "rate": "0.2", "on": ["gift"]}]),
        ("taxes", [{"name": n, "rate": "0.2", "on": ["part"]} for n in "ab"]), ("van_space", -1), ("discount_rate", "nan"),
        ("search", 1), ("zone", "../etc/passwd"), ("zone", "Europe/"), ("zone", 1), ("zone", "Mars Base"),
    ],
)  # fmt: skip
def test_nonsense_is_refused_with_what_is_allowed(name: str, value: object) -> None:
    with pytest.raises(PriceError, match="allowed:") as refusal:
        changed(usual("EUR"), {name: value})
    assert refusal.value.seen
    assert refusal.value.do


def test_the_error_names_the_setting() -> None:
    with pytest.raises(PriceError, match=r"labour_step = 0; allowed: whole minutes from 1 to 120"):
        changed(usual("EUR"), {"labour_step": 0})


def test_another_currency_is_not_mixed_in() -> None:
    with pytest.raises(PriceError, match="settings in USD"):
        usual("EUR").shop(market("USD"))
    with pytest.raises(PriceError, match="EUR, USD"):
        usual("GBP")


def test_a_family_has_its_own_replacement_price() -> None:
    mine = replace(usual("EUR"), replacement={"any": 55000, "dryer": 70000})
    assert mine.new_machine("dryer") == Money(73500, "EUR")
    assert mine.new_machine("dishwasher") == Money(58500, "EUR")
    assert mine.shop(market("EUR"), "dryer").replace == 735.0
