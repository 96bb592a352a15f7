"""The ledger: what it folds to, what it refuses, and when to order again."""

from math import exp, factorial

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tundish.van.errors import VanError
from tundish.van.part import PartKey
from tundish.van.reorder import economic, lasting, orders, rule
from tundish.van.stock import SETTING, STEPS, Level, Movement, checked, fold, moved

PUMP, HOSE = PartKey("dishwasher", "drain pump"), PartKey("any", "fill hose")


def test_a_ledger_folds_in_order():
    lines = [
        Movement("receive", PUMP, 3),
        Movement("take", PUMP, 1, call="a"),
        Movement("minimum", PUMP, 2),
        Movement("order", PUMP, 4),
        Movement("arrive", PUMP, 1),
        Movement("cancel", PUMP, 2),
        Movement("send_back", PUMP, 1),
        Movement("count", HOSE, 7),
    ]
    assert fold(lines) == {PUMP: Level(2, 1, 2), HOSE: Level(7)}
    assert fold([*lines, Movement("count", PUMP, 0)])[PUMP].on_van == 0


@pytest.mark.parametrize("kind", ["take", "send_back"])
def test_negative_stock_is_refused_with_the_cure(kind):
    with pytest.raises(VanError) as refused:
        checked({PUMP: Level(1)}, Movement(kind, PUMP, 2))
    assert f"{kind} 2 of dishwasher: drain pump with 1 on van" in refused.value.seen
    assert refused.value.allowed == "up to 1"
    assert "count" in refused.value.do
    assert checked({PUMP: Level(1)}, Movement(kind, PUMP, 1)) == Level(0)


def test_what_was_not_ordered_does_not_arrive():
    with pytest.raises(VanError, match="use receive"):
        checked({PUMP: Level(5, 1)}, Movement("arrive", PUMP, 2))
    with pytest.raises(VanError, match="with 0 on order"):
        checked({}, Movement("cancel", PUMP, 1))


@pytest.mark.parametrize(
    ("kind", "count", "words"), [("steal", 1, "steal"), ("take", 0, "1 or more"), ("count", -1, "0 or more")]
)
def test_no_such_movement(kind, count, words):
    with pytest.raises(VanError, match=words):
        Movement(kind, PUMP, count)


def test_a_merged_ledger_that_contradicts_itself_says_so_until_counted():
    level = fold([Movement("receive", PUMP, 1), Movement("take", PUMP, 1), Movement("take", PUMP, 1)])[PUMP]
    assert (level.on_van, level.short) == (0, 1)
    assert orders({}, {PUMP: level})[0].why.startswith("count it")
    with pytest.raises(VanError, match="with 0 on van"):
        checked({PUMP: level}, Movement("take", PUMP, 1))
    after = moved(level, Movement("count", PUMP, 2))
    assert (after.on_van, after.short) == (2, 0)


movements = st.builds(
    lambda kind, part, count: Movement(kind, part, count if kind in SETTING else count + 1),
    st.sampled_from(sorted(STEPS)),
    st.sampled_from([PUMP, HOSE]),
    st.integers(0, 5),
)


@given(st.lists(movements, max_size=30))
def test_checked_movements_never_lead_below_nothing(lines):
    levels, kept = {}, []
    for line in lines:
        try:
            levels[line.part] = checked(levels, line)
        except VanError:
            continue
        kept.append(line)
        assert levels[line.part].balance >= 0 <= levels[line.part].on_order
    assert fold(kept) == levels


def test_orders_for_tomorrow_and_for_the_minimum():
    found = orders({PUMP: 2, HOSE: 1}, {PUMP: Level(0, 2), HOSE: Level(3, 0, 5)})
    # What is on order may not come in time; what lies there is enough
    assert [(o.part, o.pieces, o.why) for o in found] == [
        (HOSE, 2, "below the minimum"),
        (PUMP, 2, "for tomorrow"),
    ]
    assert orders({}, {HOSE: Level(3, 2, 5)}) == ()


# Cumulative Poisson probabilities as statistics tables print them (three digits, from memory).
TABLE = {
    1.0: (0.368, 0.736, 0.920, 0.981, 0.996),
    2.0: (0.135, 0.406, 0.677, 0.857, 0.947),
    4.0: (0.018, 0.092, 0.238, 0.433, 0.629),
}


@pytest.mark.parametrize("mean", TABLE)
def test_lasting_against_the_printed_table(mean):
    for pieces, below in enumerate(TABLE[mean]):
        # A hair under the printed chance this many last, a hair over they do not
        assert lasting(mean, below - 0.001) == pieces
        assert lasting(mean, below + 0.001) == pieces + 1


@given(st.floats(0, 20), st.floats(0, 0.999))
def test_lasting_against_the_plain_sum(mean, level):
    pieces = lasting(mean, level)
    below = [sum(exp(-mean) * mean**k / factorial(k) for k in range(n + 1)) for n in (pieces - 1, pieces)]
    assert below[1] >= level - 1e-12
    assert pieces == 0 or below[0] < level + 1e-12


@given(st.floats(0, 5), st.floats(0, 50), st.floats(0.01, 5))
def test_the_quantity_is_the_cheapest_whole_number(rate, per_order, holding):
    quantity = economic(rate, per_order=per_order, holding=holding)

    def cost(q):
        return rate * per_order / q + holding * (q + 1) / 2

    near = range(max(quantity - 3, 1), quantity + 4)
    assert cost(quantity) <= min(map(cost, near)) * (1 + 1e-9)


def test_a_rule_lasts_as_long_as_it_says():
    found = rule(0.5, 4.0, level=0.95, per_order=8.0, holding=0.1)
    # Mean 2 in the lead time: the table has 0.947 for 4 and 0.983 for 5
    assert found.point == 5
    assert found.served == pytest.approx(0.983, abs=5e-4)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: lasting(-1.0, 0.9), "-1.0 pieces"),
        (lambda: lasting(1.0, 1.0), "level 1.0"),
        (lambda: lasting(float("inf"), 0.9), "inf pieces"),
        (lambda: economic(1.0, per_order=1.0, holding=0.0), "holding 0.0"),
        (lambda: rule(1.0, -1.0, level=0.9, per_order=1.0, holding=1.0), "lead time -1.0 d"),
    ],
)
def test_figures_that_cannot_be_are_refused(make, words):
    with pytest.raises(VanError, match=words):
        make()
