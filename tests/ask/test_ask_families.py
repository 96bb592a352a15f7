"""The questions of the families that ship: the trade's list is all there, and bills come out as the trade's do."""

from __future__ import annotations

import pytest
from by_hand import described

from tundish.ask.question_value import first_questions
from tundish.ask.tariff import bills, tariff_of
from tundish.plan.shop import shop_for
from tundish.store.library import families

EVERY = sorted(families())
WET = ("front load washer", "top load washer", "dishwasher")
# The trade's list of questions on the phone, common practice: sequence, when, code, changes, age, how often,
# which programme or part, supply of water, hardness, other taps, tap and hose, water on the floor, water inside,
# lamp and breaker, noises, earlier work, access, plate.
LIST = [f"Q{n}" for n in range(1, 19)]
NO_WATER = "no water line with pressure to speak of"
# What a family does not ask, and why.
LEFT_OUT: dict[str, dict[str, str]] = {
    "dryer": {
        "Q9": NO_WATER, "Q10": NO_WATER, "Q11": NO_WATER, "Q12": "`where` asks it for condenser machines", "Q13": "no drum of water",
    },
    "oven and hob": dict.fromkeys(("Q8", "Q9", "Q10", "Q11", "Q12", "Q13"), NO_WATER)
    | {"Q15": "a noise is a complaint of its own, its place is a look on site"},
    "refrigerator freezer": dict.fromkeys(("Q8", "Q9", "Q10"), NO_WATER) | {"Q13": "no drum of water"},
}  # fmt: skip


@pytest.mark.parametrize("family", EVERY)
def test_every_question_of_the_list_is_asked_or_left_out_with_a_reason(family):
    asked = {q.split(".")[0] for q in described(family).questions}
    left = LEFT_OUT.get(family, {})
    assert [q for q in LIST if q not in asked and q not in left] == []
    # What is left out is really left out.
    assert [q for q in left if q in asked or not left[q]] == []
    assert family not in WET or not left


@pytest.mark.parametrize("family", EVERY)
def test_every_circumstance_is_asked_once_and_every_class_can_be_told(family):
    found = described(family)
    told = [name for q in found.questions.values() for name in q.circumstances]
    assert sorted(told) == sorted(name for name, c in found.circumstances.items() if c.ask)
    (first,) = first_questions(found)
    assert sorted(r.complaint for r in first.replies) == sorted(found.complaints)


@pytest.mark.parametrize("family", EVERY)
def test_a_customer_can_take_every_look_he_is_asked_for(family):
    """Looks that need no state of the machine, by eye, ear or nose."""
    found = described(family)
    for question in found.questions.values():
        if question.check:
            check = found.checks[question.check]
            assert check.state == "NONE" and not check.live, question.id
            # Nothing is opened or moved for it
            assert not set(check.access) - {"EXT"}, question.id


@pytest.mark.parametrize("family", EVERY)
def test_sources_are_named(family):
    found = described(family)
    marks = [x.source for part in (found.questions, found.phone, found.stop_words) for x in part.values()]
    assert set(marks) <= set(found.sources)
    assert all(f in found.faults for f in found.phone)


# Typical totals of jobs (common practice, no source): family, fault, EUR, USD.
TOTALS = [
    ("front load washer", "S04", (60, 120), (90, 160)),
    ("front load washer", "S06", (60, 120), (90, 160)),
    ("front load washer", "S20", (60, 120), (90, 160)),
    ("front load washer", "F04", (110, 200), (150, 260)),
    ("front load washer", "F12", (130, 230), (170, 300)),
    ("front load washer", "F21", (120, 220), (160, 280)),
    ("front load washer", "F17", (130, 240), (180, 320)),
    ("front load washer", "F28", (100, 180), (140, 240)),
    ("front load washer", "F25", (250, 500), (350, 700)),
    ("front load washer", "F31", (220, 450), (280, 550)),
    ("dishwasher", "D11", (220, 400), (280, 520)),
]


@pytest.mark.parametrize(("family", "fault", "eur", "usd"), TOTALS)
@pytest.mark.parametrize("market", ["EU", "NA"])
def test_bills_fall_where_the_trade_says(family, fault, eur, usd, market):
    """The middle of our bill lies in the trade's range, or over its top by no more than 5 %."""
    found = described(family)
    shop = shop_for(found.markets[market])
    billed = bills(found, shop, tariff_of(shop), kinds=[frozenset({fault})])
    low, high = eur if market == "EU" else usd
    assert low <= (billed.low[0] + billed.high[0]) / 2 <= 1.05 * high
