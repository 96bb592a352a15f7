"""The load of a day against figures worked by others' hands, against every load tried, and one solver against the other."""

import numpy as np
import pytest
from van_days import independent, key, pick, plain, random_day, referee

from tundish.van.choice import one_of_two, swapped, worths
from tundish.van.cut import by_cut
from tundish.van.errors import VanError
from tundish.van.kit import best, useful, valued
from tundish.van.need import CallNeed
from tundish.van.part import Part
from tundish.van.program import by_program
from tundish.van.tour import cost_of, filled, tour

# Kit A: one job, independent parts. Figures by full enumeration, worked out apart from this package when it was designed.
CHANCES, HOLDING = (0.20, 0.12, 0.10, 0.08, 0.05, 0.03), (2, 0.5, 3, 0.4, 1, 0.2)
ORDER = (2, 4, 6, 1, 5, 3)
NESTED = (6.9427, 6.3440, 5.9478, 5.8400, 5.2750, 5.6000, 7.1000)


@pytest.fixture(scope="module")
def kit_a():
    return tour([independent(CHANCES, 15.0)], plain(HOLDING))


def test_kit_a(kit_a):
    kit = best(kit_a)
    assert set(kit.load) == pick(1, 2, 4, 6)
    assert (kit.cost, kit.fill) == pytest.approx((5.275, 0.855), abs=1e-9)


@pytest.mark.parametrize("size", range(7))
def test_kit_a_in_order_of_chance_by_holding(kit_a, size):
    assert valued(kit_a, {key(i): 1 for i in ORDER[:size]}).cost == pytest.approx(NESTED[size], abs=5e-5)


def test_kit_a_empty_and_full(kit_a):
    assert valued(kit_a, {}).fill == pytest.approx(0.53715, abs=5e-6)
    full = best(tour([independent(CHANCES, 60.0)], plain(HOLDING)))
    assert len(full.load) == 6
    assert full.cost == pytest.approx(7.1, abs=1e-9)


@pytest.mark.parametrize(("carried", "fill"), list(enumerate((0.80000, 0.92298, 0.98042, 0.99690, 0.99972))))
def test_one_part_on_a_tour_of_six(carried, fill):
    calls = [CallNeed(str(n), {pick(1): 0.2}, 50.0) for n in range(6)]
    assert valued(tour(calls, plain([1.0])), {key(1): carried}).fill == pytest.approx(fill, abs=5e-6)


def test_every_load_tried_on_500_random_days():
    rng = np.random.default_rng(1)
    together = limited = several = 0
    for number in range(500):
        calls, parts = int(rng.integers(1, 4)), int(rng.integers(2, 5))
        day, figures = random_day(rng, calls=calls, parts=parts, sets=4)
        space = float(rng.uniform(0, 5)) if number % 2 else np.inf
        cost, load, fill = referee(day, figures, space)
        problem = tour(day, figures)
        kit = best(problem, space)
        assert kit.cost == pytest.approx(cost, abs=1e-9), number
        assert kit.space <= space * (1 + 1e-9)
        # The figures of a load, not only the least of them
        assert kit.load == {k: n for k, n in load.items() if n}
        assert kit.fill == pytest.approx(fill, abs=1e-9)
        limited += best(problem).space > space
        several += max(kit.load.values(), default=0) > 1
        together += any(len(s) > 1 and s <= set(kit.load) for call in day for s in call.sets)
    # The instances are worth nothing if what they are to try never happens
    assert min(together, limited, several) > 50, (together, limited, several)


def test_cut_and_program_agree_on_larger_days():
    rng = np.random.default_rng(2)
    for _ in range(60):
        day, figures = random_day(rng, calls=int(rng.integers(2, 9)), parts=int(rng.integers(5, 40)), sets=25)
        problem = tour(day, figures)
        cut, program = by_cut(problem), by_program(problem)
        assert cost_of(problem, cut) == pytest.approx(cost_of(problem, program), abs=1e-9)
        assert (useful(problem, cut) == useful(problem, program)).all()


def test_adding_one_part_at_a_time_fails_where_two_are_needed_together():
    """Neither part helps alone, so every single step away from the empty van costs more; both together save 12."""
    problem = tour([CallNeed("a", {pick(1, 2): 0.5}, 40.0)], plain([4.0, 4.0]))
    empty = valued(problem, {}).cost
    assert empty == pytest.approx(20.0)
    assert all(valued(problem, {key(i): 1}).cost > empty for i in (1, 2))
    assert best(problem).load == {key(1): 1, key(2): 1}
    assert best(problem).cost == pytest.approx(8.0)


def test_the_second_call_needs_the_second_piece():
    """The first call surely takes the first piece, little as its trip costs: for the dear call both must be there."""
    calls = [CallNeed("a", {pick(1): 1.0}, 5.0), CallNeed("b", {pick(1): 1.0}, 100.0)]
    kit = best(tour(calls, plain([20.0])))
    assert kit.load == {key(1): 2}
    assert kit.cost == pytest.approx(40.0)
    # The other way round one piece is enough
    assert best(tour(calls[::-1], plain([20.0]))).load == {key(1): 1}


def test_every_load_tried_where_space_is_short_and_loads_are_nearly_equal():
    """Fourteen parts of one call, alike in what they cost and save: the solver must not stop at a load that is nearly best."""
    rng = np.random.default_rng(3)
    for _ in range(8):
        sets = {pick(*rng.choice(14, 2, replace=False).tolist()): 0.0 for _ in range(25)}
        chance = dict.fromkeys(sets, 1 / 30)
        chance = {s: c * rng.uniform(0.95, 1.05) for s, c in chance.items()}
        day = [CallNeed("a", chance, 100.0)]
        figures = {key(i): Part(key(i), 1.0, space=float(rng.uniform(0.95, 1.05))) for i in range(14)}
        cost, load, _ = referee(day, figures, 7.0)
        kit = best(tour(day, figures), 7.0)
        assert kit.cost == pytest.approx(cost, abs=1e-9)
        assert kit.load == {k: n for k, n in load.items() if n}


def test_a_part_shared_by_calls_pays_where_no_call_alone_would_carry_it():
    calls = [CallNeed(str(n), {pick(1): 0.1}, 50.0) for n in range(4)]
    parts = plain([6.0])
    assert all(not best(tour([call], parts)).load for call in calls)
    # One piece for all four: it is used with 1 - 0.9^4 = 0.3439
    assert best(tour(calls, parts)).load == {key(1): 1}
    assert best(tour(calls, parts)).cost == pytest.approx(6.0 + 50.0 * (0.4 - 0.3439))


def test_a_piece_that_comes_home_unused_is_paid_for():
    parts = {key(1): Part(key(1), 1.0, unused=10.0)}
    kit = best(tour([CallNeed("a", {pick(1): 0.3}, 50.0)], parts))
    assert kit.holding == pytest.approx(1.0 + 0.7 * 10.0)


def test_what_cannot_be_had_is_not_planned_with():
    calls = [CallNeed(str(n), {pick(1): 0.9}, 50.0) for n in range(3)]
    problem = tour(calls, plain([1.0]), most={key(1): 1})
    assert best(problem).load == {key(1): 1}
    free = best(tour(calls, plain([1.0])))
    assert free.load == {key(1): 3}
    # The cost of any load is the same problem's, had or not
    assert best(problem).cost == pytest.approx(valued(tour(calls, plain([1.0])), {key(1): 1}).cost)


def test_a_tight_space_may_change_the_whole_load():
    """Two small parts are best in a space that the best single one would fill: no order of parts gives both loads."""
    calls = [CallNeed("a", {pick(1): 0.4, pick(2): 0.3, pick(3): 0.25}, 100.0)]
    problem = tour(calls, plain([1.0, 1.0, 1.0], [2.0, 1.0, 1.0]))
    assert set(best(problem, 2.0).load) == pick(2, 3)
    assert set(best(problem, 3.0).load) == pick(1, 2)
    assert best(problem, 0.0).load == {}


def test_a_day_without_calls_and_a_call_without_parts():
    assert best(tour([], {})).cost == 0
    nothing = tour([CallNeed("a", {}, 50.0, unknown=0.1)], {})
    assert (best(nothing).cost, best(nothing).fill) == pytest.approx((5.0, 0.9))


def test_free_parts_and_certain_ones():
    sure = tour([CallNeed("a", {pick(1): 1.0}, 50.0)], plain([0.0, 0.0]))
    assert best(sure).load == {key(1): 1}
    assert filled(sure, by_cut(sure)) == 1.0


def test_tiny_and_huge_figures_do_not_mislead_the_cut():
    """Worths that differ by twelve orders; the small ones decide on parts of their own."""
    sets = {pick(1): 0.5, pick(2): 1e-9, pick(3): 1e-9}
    parts = plain([1.0, 0.9e-7, 1.1e-7])
    assert set(best(tour([CallNeed("a", sets, 100.0)], parts)).load) == pick(1, 2)


def test_worth_of_each_part_and_the_swap():
    calls = [CallNeed("a", {pick(1): 0.4, pick(2, 3): 0.3}, 100.0)]
    problem = tour(calls, plain([1.0, 2.0, 3.0]))
    kit = best(problem)
    found = {w.part: w.loses for w in worths(problem, kit)}
    # Left at home: its trips come back, its holding is saved
    assert found == pytest.approx({key(1): 39.0, key(2): 28.0, key(3): 27.0})
    assert [w.part for w in worths(problem, kit)] == [key(1), key(2), key(3)]
    after, dearer = swapped(problem, {key(1): 1}, out=key(1), into=key(2))
    assert after.load == {key(2): 1}
    assert dearer == pytest.approx(40.0 + 2.0 - 1.0)
    with pytest.raises(VanError, match="box: part 3, not on the load"):
        swapped(problem, {key(1): 1}, out=key(3), into=key(2))


def test_take_one_of_two():
    calls = [CallNeed("a", {pick(1): 0.4, pick(2): 0.3}, 100.0)]
    choice = one_of_two(tour(calls, plain([5.0, 1.0])), {key(1): 1, key(2): 1}, key(2), key(1))
    assert (choice.cost_first, choice.cost_second) == pytest.approx((41.0, 35.0))
    assert (choice.cost_both, choice.cost_neither) == pytest.approx((6.0, 70.0))
    assert choice.take == key(1)
    assert choice.wrong == pytest.approx(6.0)


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: tour([CallNeed("a", {pick(9): 0.1}, 1.0)], {}), "no figures for box: part 9"),
        (lambda: CallNeed("a", {pick(1): 0.7, pick(2): 0.6}, 1.0), "1.3 together"),
        (lambda: CallNeed("a", {pick(1): -0.1}, 1.0), "from -0.1 up"),
        (lambda: CallNeed("a", {pick(1): float("nan")}, 1.0), "nan"),
        (lambda: CallNeed("a", {frozenset(): 0.1}, 1.0), "empty set"),
        (lambda: CallNeed("a", {}, -1.0), "trip -1.0"),
        (lambda: Part(key(1), -2.0), "holding -2.0 of box: part 1"),
        (lambda: best(tour([], {}), -1.0), "space -1.0"),
        (lambda: best(tour([], {}), float("nan")), "space nan"),
    ],
)
def test_what_cannot_be_is_refused(make, words):
    with pytest.raises(VanError, match=words):
        make()
