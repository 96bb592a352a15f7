"""What is said by phone, and what stops it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from by_hand import described

from tundish.ask.matter import matter
from tundish.ask.missing import missing
from tundish.ask.phone import NEVER, phone_advice, times_in_ten
from tundish.ask.photos import photos
from tundish.ask.site import STAGES, on_site, repair_minutes
from tundish.ask.stops import stops
from tundish.diagnosis.odds import start
from tundish.plan.shop import shop_for
from tundish.population.build import build
from tundish.population.hypotheses import priors, shares
from tundish.store.library import families

EVERY = sorted(families())


@pytest.fixture(scope="module")
def call(toy, place):
    held = build(place, "SLOW", 1_000, 31)
    record = toy.complaints["SLOW"]
    cloud = start(held, priors(held.hypotheses, record, shares(toy, record, None, ())))
    found = matter(place, cloud, shop_for(toy.markets["EU"]), rng=np.random.default_rng(1))
    kinds = (frozenset({"S04"}), frozenset({"S04", "F01"}), frozenset({"F01"}))
    return replace(found, kinds=kinds, weight=np.array([0.5, 0.2, 0.25, 0.05]))


def test_a_tip_is_a_chance_and_a_sentence(call):
    said = phone_advice(call)
    (tip,) = said.tips
    assert (tip.fault, tip.chance, said.settled) == ("S04", 0.7, pytest.approx(0.7))
    assert tip.say == "About seven times in ten it is a clogged screen. Rinse it. Tap shut."
    assert said.why_not == "" and said.never == NEVER and said.line


@pytest.mark.parametrize(
    ("chance", "words"),
    [(0.0, "less than one"), (0.1, "about once"), (0.2, "about twice"), (0.94, "about nine times"), (1, "nearly")],
)  # fmt: skip
def test_chances_are_said_in_tenths(chance, words):
    assert times_in_ten(chance).startswith(words)


def test_what_is_unlikely_is_not_said(call):
    rare = replace(call, weight=np.array([0.01, 0.005, 0.95, 0.035]))
    said = phone_advice(rare)
    assert said.tips == () and "book the visit" in said.why_not


def test_stop_words_end_all_advice(call):
    found = stops(call.description, said=["There was a Burnt  smell, then nothing"])
    said = phone_advice(call, found)
    assert (said.tips, said.settled, said.line) == ((), 0.0, "Switch off.")
    assert [w.name for w in said.stops] == ["burning"] and "burning" in said.why_not


def test_answers_stop_as_words_do(call):
    d = call.description
    assert [w.name for w in stops(d, answers={"Q6": "burnt"})] == ["burning"]
    assert [w.name for w in stops(d, told=["house move"])] == ["burning"]
    assert stops(d, answers={"Q6": "none"}, said=["it fills slowly", "the smoke alarm was tested"]) == ()


# The families that ship.

WORDS = {
    "gas": ["I smell gas", "a smell of gas in the room"],
    "burning": ["there is a burning smell", "it smoked, smoke came out", "sparks at the back"],
    "shock": ["it gave me a shock", "my hand tingles"],
    "wet socket": ["there is water near the socket", "the outlet is wet"],
    "house trips": ["the RCD will not hold", "the breaker won't hold", "it trips unplugged"],
}


@pytest.mark.parametrize("family", EVERY)
@pytest.mark.parametrize("name", WORDS)
def test_stop_words_always_stop(family, name):
    found = described(family)
    for phrase in WORDS[name]:
        for said in (phrase, phrase.upper(), f"well, {phrase}. And it is loud"):
            assert name in {w.name for w in stops(found, said=[said])}, said


@pytest.mark.parametrize("family", EVERY)
def test_every_stop_is_heard_in_each_of_its_phrases_and_asked(family):
    found = described(family)
    for word in found.stop_words.values():
        for phrase in word.words:
            assert word in stops(found, said=[f"Yes: {phrase}!"])
    asked = {r.stop for q in found.questions.values() for r in q.replies} - {""}
    assert set(WORDS) <= asked
    # Every answer that means one stops, whatever else was said.
    for question in found.questions.values():
        for reply in question.replies:
            if reply.stop:
                assert reply.stop in {w.name for w in stops(found, answers={question.id: reply.name})}


@pytest.mark.parametrize("family", EVERY)
def test_plain_talk_does_not_stop(family):
    talk = [
        "It fills slowly and is loud, a shock absorber is broken, no light, it trips the breaker in the spin"
    ]
    assert stops(described(family), said=talk) == ()


@pytest.mark.parametrize("family", EVERY)
def test_no_tip_opens_anything_or_works_live(family):
    found = described(family)
    assert found.phone
    for fix in found.phone.values():
        text = f"{fix.say} {fix.only}".lower()
        for barred in (
            "screw",
            "panel",
            "cover off",
            "open the back",
            "wire",
            "bridge",
            "voltage",
            "wiggle",
            "again and again",
        ):
            assert barred not in text, fix
        # A breaker is switched on once only, and it is said.
        if "breaker" in text:
            assert "once" in text and "leave it off" in text, fix


def test_missing_and_photos(toy):
    assert [m.fact for m in missing(toy, "SLOW", {})] == ["address"]
    assert [m.fact for m in missing(toy, "SLOW", {"address": "  "})] == ["address"]
    assert missing(toy, "SLOW", {"address": "Mill Lane 4"}) == ()
    assert [(p.question, p.what) for p in photos(toy, "SLOW")] == [("Q5", "the tap")]
    assert photos(toy, "NOFILL") == photos(toy, "SLOW", taken=["Q5"]) == ()


@pytest.mark.parametrize("family", EVERY)
def test_address_access_and_consent_are_missing_until_given(family):
    found = described(family)
    for complaint in found.complaints:
        facts = [m.fact for m in missing(found, complaint, {})]
        assert facts[0] == "address" and {"access", "consent", "model"} <= set(facts)
        assert any("plate" in p.what for p in photos(found, complaint))


def test_minutes_on_site_by_hand(toy):
    """Stages: 44 in the middle; half width sqrt(1 + 1.5^2 + 0 + 7.5^2 + 1 + 5^2 + 0) = sqrt(85.5), common practice."""
    assert STAGES["readings"] == (5, 20) and STAGES["proof"] == (5, 15)
    middle, half = 4 + 3.5 + 5 + 12.5 + 4 + 10 + 5, 85.5**0.5
    found = on_site(np.array([1.0, 0.0]), (np.array([20.0, 0.0]), np.array([20.0, 60.0])))
    assert (found.usual, found.middle, found.repair) == pytest.approx(
        (middle + 20, middle + 20, 20), abs=1e-9
    )
    assert (found.low, found.high) == pytest.approx(
        (middle + 20 - 0.8 * half, middle + 20 + 0.8 * half), abs=1e-9
    )


def test_repair_minutes_of_kinds(toy):
    shop = shop_for(toy.markets["EU"])
    worn = {f: replace(x, kind="wear", access=("TOP",)) if f != "N01" else x for f, x in toy.faults.items()}
    low, high = repair_minutes(
        replace(toy, faults=worn), shop, [frozenset({"S04"}), frozenset({"S04", "F01"}), frozenset()]
    )
    a, b = toy.faults["S04"].minutes, toy.faults["F01"].minutes
    assert low.tolist() == [a[0], a[0] + b[0], 15, 15]
    assert high.tolist() == [a[1], a[1] + b[1], 15, a[1] + b[1]]
