"""The week's numbers by their definitions, from records made by hand."""

from __future__ import annotations

import numpy as np
import pytest
from closed_maker import DAY, at, outcome

from tundish.history.counting import jeffreys, per_unit, wilson
from tundish.history.errors import HistoryError
from tundish.history.outcome import Found, Money
from tundish.history.week import Around, week

NOW = at(120 + 40 * DAY)
AROUND = Around(now=NOW, road=30.0, office=2.0, parts_cost=5_000, fuel=1_000)


def figures(outcomes, around=AROUND):
    """The numbers by name."""
    return {figure.name: figure for figure in week(outcomes, around, np.random.default_rng(1))}


def test_shares_by_their_definitions() -> None:
    found = figures(
        [
            *[outcome() for _ in range(6)],
            outcome(visits=2, minutes=90.0),
            outcome(ended="unproven", causes=(Found("S04", "unproven", 0.8),), called_back=True, days=9.0),
            outcome(causes=(Found("F01", "proven", 0.9),), called_back=True, days=35.0),
            outcome(ended="nothing wrong", causes=(), repairs=(), quoted=False),
            outcome(ended="refused", causes=(), repairs=(), refused=True),
            outcome(ended="stopped", visits=0, minutes=0.0, causes=(), repairs=(), quoted=False),
        ]
    )

    def of(name: str) -> tuple[float, int]:
        return found[name].value, found[name].calls

    assert of("first-visit fix") == (8 / 9, 9)
    # Within the 30 days only
    assert of("callbacks in 30 days") == (1 / 12, 12)
    assert of("no fault found") == (1 / 11, 11)
    assert of("quotes refused") == (1 / 10, 10)
    assert of("first named cause proven") == (7 / 8, 8)
    assert of("right when 80 % sure") == (7 / 8, 8)
    assert (found["quotes refused"].low, found["quotes refused"].high) == wilson(1, 10)


def test_a_young_call_is_not_among_the_callbacks() -> None:
    young = outcome(ended_at=at(120 + 20 * DAY), called_back=True, days=3.0)
    found = figures([outcome(), young])["callbacks in 30 days"]
    assert (found.value, found.calls) == (0.0, 1)


def test_money_and_minutes() -> None:
    calls = [
        outcome(money=Money("EUR", revenue, revenue, 0, 0)) for revenue in (8_000, 10_000, 12_000, 10_000)
    ]
    found = figures(calls)
    # 4 x (60 + 30) min and 2 h in the office
    assert found["revenue an hour"].value == pytest.approx(40_000 / 8)
    assert found["revenue an hour"].unit == "EUR minor/h"
    assert found["revenue an hour"].healthy == (5_000.0, 8_000.0)
    assert found["gross margin"].value == pytest.approx((40_000 - 6_000) / 40_000)
    assert found["minutes a call"].value == 60
    assert found["minutes a call with the road"].value == 90
    assert found["calls a day"].value == 4
    assert (found["calls a day"].low, found["calls a day"].high) == per_unit(4, 1)
    assert found["revenue an hour"].low < 5_000 < found["revenue an hour"].high


def test_what_is_unpaid() -> None:
    owing = Money("EUR", 10_000, 6_000, 4_000, 12_100)
    found = figures([outcome(money=owing), outcome(money=owing, ended_at=at(120 + 30 * DAY)), outcome()])
    assert found["unpaid"].value == 12_100
    assert found["unpaid after 14 days"].value == pytest.approx(1 / 3)


def test_a_week_without_calls_has_no_numbers() -> None:
    found = figures([])
    assert {figure.value for figure in found.values()} == {None, 0.0}
    assert found["unpaid"].value == 0.0
    assert found["first-visit fix"].value is None


def test_three_calls_have_a_mean_and_no_interval() -> None:
    found = figures([outcome(), outcome(minutes=70.0), outcome(minutes=80.0)])["minutes a call"]
    assert (found.value, found.low, found.high) == (70, None, None)


def test_the_same_seed_gives_the_same_interval() -> None:
    calls = [outcome(minutes=float(minutes)) for minutes in range(40, 80, 5)]
    first, second = figures(calls)["minutes a call"], figures(calls)["minutes a call"]
    assert first == second
    assert first.low < first.value < first.high


def test_two_currencies_are_refused() -> None:
    with pytest.raises(HistoryError, match="EUR, USD"):
        figures([outcome(), outcome(money=Money("USD", 1, 1, 0, 0))])


@pytest.mark.parametrize("interval", [wilson, jeffreys])
@pytest.mark.parametrize(("hits", "total"), [(3, 2), (-1, 4), (0, 0), (float("nan"), 3)])
def test_no_part_of_a_whole_is_refused(interval, hits, total) -> None:
    with pytest.raises(HistoryError, match=f"{hits:g} of {total:g}"):
        interval(hits, total)


def test_no_days_are_refused() -> None:
    with pytest.raises(HistoryError, match="3 events in 0"):
        per_unit(3, 0)
