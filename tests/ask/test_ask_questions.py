"""What questions are worth: by hand, and on the families that ship."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from by_hand import EVEN, SURE, TWO, USELESS, asks, bills_at

from tundish.appliance.records import Circumstance, Question, Reply
from tundish.ask.answers import told_chances
from tundish.ask.matter import causes, matter, trying
from tundish.ask.question_value import (
    WIDTH,
    first_questions,
    in_order,
    narrows_most,
    open_questions,
    ranked,
    valued,
)
from tundish.ask.tariff import tariff_of
from tundish.diagnosis.odds import start
from tundish.plan.candidates import question_chances
from tundish.plan.shop import shop_for
from tundish.population.build import build
from tundish.population.hypotheses import priors, shares

EXACT = {"rel": 0, "abs": 1e-9}
BILLED = bills_at(100, 300, 200)


def worths(*questions, tables, weight=EVEN):
    return valued(questions, tables, weight, guess=TWO, billed=BILLED, trip=200.0)


def test_two_causes_by_hand():
    """Unasked: try the cheap one, 100, then half of the time 300: 250. Asked: 100 or 300, 200. The answer saves 50."""
    sure = asks("sure", "first", "second", seconds=20)
    (found,) = worths(sure, tables={"sure": (("first", "second"), SURE)})
    assert found.saves == pytest.approx(50, **EXACT)
    assert found.narrows == pytest.approx(200, **EXACT)
    assert found.worth == pytest.approx(50 + WIDTH * 200, **EXACT)
    assert found.each_second == pytest.approx(found.worth / 20, **EXACT)
    assert [(t.answer, t.chance, t.low, t.high) for t in found.turns] == [
        ("first", 0.5, 100, 100),
        ("second", 0.5, 300, 300),
    ]


def test_three_causes_by_hand():
    """Remedies 100, 200, 400, chances 0.5, 0.3, 0.2: tried in that order 100 + 0.5 x 200 + 0.2 x 400 = 280. Told apart 190.

    An answer that tells only the last from the others: 0.2 x 400 + 0.8 x (100 + 3/8 x 200) = 220.
    """
    guess = replace(TWO, cures=np.eye(3, 4), cost=np.array([100.0, 200.0, 400.0]))
    weight, last = np.array([0.5, 0.3, 0.2, 0.0]), np.array([[1.0, 1, 0, 0], [0, 0, 1, 1]])
    tables = {"all": (("a", "b", "c"), np.eye(3, 4)), "last": (("no", "yes"), last)}
    billed = bills_at(100, 200, 400, 300)
    every, one = valued([asks("all"), asks("last")], tables, weight, guess=guess, billed=billed, trip=200.0)
    assert (every.saves, one.saves) == pytest.approx((90, 60), **EXACT)
    # Ends: all of the dearest tenth is at 400, of the cheapest at 100, 300 apart; told apart 0; else 0.8 x 100.
    assert (every.narrows, one.narrows) == pytest.approx((300, 220), **EXACT)


def test_a_useless_question_is_worth_nothing():
    (found,) = worths(asks("idle"), tables={"idle": (("yes", "no"), USELESS)})
    assert (found.saves, found.narrows, found.worth) == (0, 0, 0)
    assert narrows_most([found]) is None
    (unread,) = worths(asks("fact"), tables={})
    assert (unread.worth, unread.turns) == (0, ())


def test_visits_that_are_lost_count():
    (found,) = worths(asks("plate", lost_trip=0.25, seconds=5), tables={})
    assert found.keeps == 50 and found.each_second == 10


def test_order_is_danger_then_worth_by_the_second_then_seconds():
    danger = replace(asks("danger"), replies=(Reply("yes", stop="gas"), Reply("no")))
    questions = (
        asks("slow", lost_trip=0.1, seconds=20),
        asks("long", lost_trip=0.2, seconds=20),
        asks("short", lost_trip=0.1, seconds=10),
        danger,
    )
    found = in_order(worths(*questions, tables={}))
    assert [v.question.id for v in found] == ["danger", "short", "long", "slow"]


def test_the_narrowest_is_the_shorter_of_equals():
    tables = dict.fromkeys(("long", "short"), (("a", "b"), SURE))
    found = worths(asks("long", seconds=9), asks("short", seconds=3), tables=tables)
    best = narrows_most(found)
    assert best is not None and best.question.id == "short"


# What answers about circumstances say.


def two(toy):
    told = {"a": Circumstance("a", "a?", {"S04": 9.0}), "b": Circumstance("b", "b?", {"F01": 3.0})}
    return replace(toy, circumstances=told)


KINDS = [frozenset({"S04"}), frozenset({"F01"}), frozenset[str]()]


def test_yes_and_no_are_what_the_planner_takes_them_for(toy):
    question = Question("q", "?", 5.0, (Reply("yes", told=("a",)), Reply("no")), "TOY")
    assert told_chances(two(toy), question, KINDS) == pytest.approx(question_chances({"S04": 9.0}, KINDS))


def test_several_answers_by_hand(toy):
    """a: 0.1 x 9 = 0.9 on S04, else 0.1. b: 0.2 x 3 = 0.6 on F01, else 0.2. Neither gets the rest, 0.1 at least."""
    replies = (Reply("neither"), Reply("a", told=("a",)), Reply("b", told=("b",)))
    table = told_chances(two(toy), Question("q", "?", 5.0, replies, "TOY"), KINDS)
    by_hand = np.array([[0.1, 0.3, 0.7], [0.9, 0.1, 0.1], [0.2, 0.6, 0.2]])
    assert table == pytest.approx(by_hand / by_hand.sum(axis=0), **EXACT)


def test_many_idle_answers_leave_half_of_the_customers_without_one(toy):
    many = {str(i): Circumstance(str(i), "?", {"S04": 1.0}) for i in range(9)}
    replies = (Reply("none"), *(Reply(n, told=(n,)) for n in many))
    table = told_chances(replace(toy, circumstances=many), Question("q", "?", 5.0, replies, "TOY"), KINDS)
    assert table[0] == pytest.approx(np.full(3, 0.5), **EXACT)


def test_causes_and_remedies_of_kinds(toy):
    toy = replace(
        toy, faults={f: replace(x, kind="wear") if f != "N01" else x for f, x in toy.faults.items()}
    )
    kinds = [frozenset({"S04"}), frozenset({"F01"}), frozenset({"S04", "F01"}), frozenset({"N01"})]
    weight = np.array([0.4, 0.3, 0.2, 0.05, 0.05])
    assert causes(kinds, weight) == pytest.approx(
        {"S04": 0.6, "F01": 0.5, "N01": 0.05, "something not described": 0.05}
    )
    guess = trying(toy, shop_for(toy.markets["EU"]), kinds, weight=weight)
    one, other = toy.faults["S04"].cure, toy.faults["F01"].cure
    # With two faults each repair is credited with half of what both do; the last row is "nothing is wrong".
    assert guess.cures == pytest.approx(
        np.array([[one, 0, one * other / 2, 0, 0], [0, other, one * other / 2, 0, 0], [0, 0, 0, 1, 0]])
    )


# The whole way, on a family that is drawn in no time.


@pytest.fixture(scope="module")
def opened(toy, place):
    held = build(place, "SLOW", 1_000, 31)
    record = toy.complaints["SLOW"]
    cloud = start(held, priors(held.hypotheses, record, shares(toy, record, None, ())))
    return cloud, shop_for(toy.markets["EU"])


def call_of(place, opened, *known):
    cloud, shop = opened
    return matter(place, cloud, shop, rng=np.random.default_rng(1), known=known)


def test_open_questions_are_those_of_the_complaint_not_answered(place, opened, toy):
    assert [q.id for q in first_questions(toy)] == ["Q1"]
    assert [q.id for q in open_questions(call_of(place, opened))] == ["Q4", "Q5", "Q6", "Q17"]
    # A circumstance told, a look taken, a fact given.
    assert open_questions(call_of(place, opened, "house move", "L02", "Q17")) == ()


def test_the_same_call_gives_the_same_questions(place, opened):
    call = call_of(place, opened)
    tariff = tariff_of(call.shop)
    first, again = ranked(call, tariff), ranked(call_of(place, opened), tariff)
    assert first == again
    assert next(v.question.id for v in first) == "Q6"
    for found in first:
        if found.turns:
            assert sum(t.chance for t in found.turns) == pytest.approx(1, abs=1e-6)
    assert next(v for v in first if v.question.id == "Q5").saves >= 0
    move = next(v for v in first if v.question.id == "Q4").turns
    assert [(t.told, t.denied) for t in move] == [(("house move",), ()), ((), ("house move",))]
