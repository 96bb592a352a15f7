"""Shares and hypotheses. The toy's shares: S04 22, F01 10, N01 3; two causes 18 %; not described 2 %."""

import pytest

from tundish.population.hypotheses import hypotheses, priors, shares


def chance(toy, **known):
    record = toy.complaints["SLOW"]
    kept = hypotheses(toy, record)
    share = shares(toy, record, known.get("age"), known.get("told", ()))
    return dict(zip([h.name for h in kept], priors(kept, record, share), strict=True)), share


def test_priors_sum_to_one_and_follow_the_shares(toy):
    found, _ = chance(toy)
    assert sum(found.values()) == pytest.approx(1.0, abs=1e-12)
    assert found["something not described"] == pytest.approx(0.02)
    assert found["S04 + F01"] == pytest.approx(0.98 * 0.18)
    assert found["S04"] == pytest.approx(0.98 * 0.82 * 22 / 35)


def test_a_circumstance_multiplies_and_renormalises(toy):
    _, plain = chance(toy)
    _, moved = chance(toy, told=("house move",))  # S04 x2 in the toy
    assert moved["S04"] == pytest.approx(44 / 57)
    assert moved["F01"] / moved["N01"] == pytest.approx(plain["F01"] / plain["N01"])


def test_telling_a_circumstance_twice_counts_once(toy):
    assert chance(toy, told=("house move", "house move"))[1] == chance(toy, told=("house move",))[1]


def test_age_rule_of_the_trade(toy):
    # under 2 years wear x0.3, others x2 (common practice, no source); over 10 years the toy doubles F01
    _, young = chance(toy, age=1.0)
    assert young["S04"] / young["F01"] == pytest.approx(22 * 0.3 / (10 * 2.0))
    _, old = chance(toy, age=11.0)
    assert old["F01"] / old["N01"] == pytest.approx(20 / 3)


def test_an_unknown_circumstance_is_refused(toy):
    with pytest.raises(KeyError):
        chance(toy, told=("full moon",))
