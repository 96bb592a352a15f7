"""Regrown machines against a brute-force population of the same toy, and the course of a call."""

import numpy as np
import pytest

from tundish.diagnosis.course import Growth, course
from tundish.diagnosis.expect import after_repair, expected
from tundish.diagnosis.explain import decibans, influences
from tundish.diagnosis.misfit import misfit
from tundish.diagnosis.odds import odds, start, weigh
from tundish.diagnosis.reading import Reading
from tundish.diagnosis.regrow import _effective, regrow
from tundish.population.build import build
from tundish.population.hypotheses import priors, shares

SHARP = [
    Reading("C05.cold", 3.21e5),
    Reading("T01", 284.6),
    Reading("L02", answer="globe"),
    Reading("L03", answer="weak"),
    Reading("W01", 3.85e3),
]


def prior_of(toy, population):
    record = toy.complaints["SLOW"]
    return priors(population.hypotheses, record, shares(toy, record, None, ()))


@pytest.fixture(scope="module")
def small(place, toy):
    held = build(place, "SLOW", 2_000, 21)
    return start(held, prior_of(toy, held))


@pytest.fixture(scope="module")
def brute(place, toy):
    """So many machines that plain weighting has enough left."""
    held = build(place, "SLOW", 150_000, 22)
    return start(held, prior_of(toy, held))


def test_regrown_odds_agree_with_brute_force(place, toy, brute):
    """Six regrowths from six small populations: one misses by about 0.05, so their mean may miss by 0.06 (3 sigma); an evidence that
    was wrong by a factor of two would miss by more than 0.1."""
    exact = odds(weigh(brute, toy.checks, SHARP))
    assert exact.effective > 500
    regrown = []
    for seed in range(6):
        held = build(place, "SLOW", 2_000, 30 + seed)
        prior = start(held, prior_of(toy, held))
        every = [i for i, h in enumerate(held.hypotheses) if h.kind != "undescribed"]
        cloud = regrow(place, prior, weigh(prior, toy.checks, SHARP), SHARP, chosen=every, rng=np.random.default_rng(seed))
        regrown.append(odds(cloud).chance)
    found = np.mean(regrown, axis=0)
    assert 0.5 * np.abs(found - exact.chance).sum() < 0.06


def test_regrown_machines_are_where_the_readings_put_them(place, toy, small, brute):
    """The blocked share of the screen, which no check reads, must have the brute-force distribution."""
    near = weigh(brute, toy.checks, SHARP)
    index = [h.name for h in small.population.hypotheses].index("S04")
    cloud = regrow(
        place, small, weigh(small, toy.checks, SHARP), SHARP, chosen=[index], rng=np.random.default_rng(5)
    )

    def moments(c):
        rows = np.flatnonzero(c.population.stratum == index)
        stratum = [c.population.hypotheses[index]] * len(rows)
        blocked = place.machines(
            place.batch(stratum, c.population.latent[rows].astype(float), found=True)
        ).value("blocked")
        weight = np.exp(c.log_weight[rows] - c.log_weight[rows].max())
        return np.average(blocked, weights=weight), _effective(c.log_weight[rows])

    (ours, effective), (theirs, _) = moments(cloud), moments(near)
    assert effective > 200
    assert ours == pytest.approx(theirs, abs=0.01)


def test_same_readings_same_odds_to_the_last_digit(place, small):
    first, second = (course(place, small, SHARP, Growth(3))[-1] for _ in range(2))
    assert np.array_equal(first.odds.chance, second.odds.chance)
    assert first.odds.causes == second.odds.causes


def test_decibans_of_the_steps_add_up(place, small):
    steps = course(place, small, SHARP, Growth(3))
    total = sum(i.decibans for i in influences(steps, "S04"))
    first, last = steps[0].odds.causes["S04"], steps[-1].odds.causes["S04"]
    assert total == pytest.approx(decibans(last) - decibans(first), abs=1e-6)


def test_a_repeated_reading_is_weighed_with_its_fellow(toy, place, small):
    """One by one or at once: the same weights."""
    two = [Reading("C05.cold", 2.9e5), Reading("C05.cold", 3.1e5)]
    at_once = odds(weigh(small, toy.checks, two)).chance
    one_by_one = course(place, small, two, Growth(3))[-1]
    if not one_by_one.regrown:
        np.testing.assert_allclose(one_by_one.odds.chance, at_once, rtol=1e-9)


def test_readings_no_machine_gives_raise_the_alarm_and_name_the_worst(toy, small):
    good = [Reading("T01", 285.0), Reading("L03", answer="weak")]
    for readings, alarm in ((good, False), ([*good, Reading("C05.cold", 9.6e5)], True)):
        cloud = weigh(small, toy.checks, readings)
        found = misfit(cloud, odds(cloud), toy.checks, readings)
        assert found.alarm is alarm
    assert found.worst == "C05.cold"
    assert odds(cloud).unknown > odds(small).unknown


def test_false_alarms_are_rare(toy, place, small):
    """Readings simulated from machines of the population must hardly ever raise the alarm."""
    from tundish.diagnosis.likelihood import noise

    rng, held, alarms = np.random.default_rng(4), small.population, 0
    for row in rng.choice(held.size, 150):
        readings = []
        for name in ("C05.cold", "T01", "W01"):
            readings.append(Reading(name, float(noise(toy.checks[name], held.row(name)[[row]], rng)[0])))
        cloud = weigh(small, toy.checks, readings)
        alarms += misfit(cloud, odds(cloud), toy.checks, readings).alarm
    assert alarms <= 4


def test_after_repair_the_healthy_reading_comes_back(toy, place, small):
    """Cleaning the screen must bring the flow back to what it is without that fault."""
    steps = course(place, small, [Reading("L03", answer="weak"), Reading("C05.cold", 3.4e5)], Growth(3))
    rng = np.random.default_rng(1)
    shown = after_repair(place, steps[-1].cloud, ("S04",), ("L03", "C05.cold"), rng)
    weak = expected(
        toy.checks["L03"], small.population.predicted[small.population.checks.index("L03")], rng
    ).answers["weak"]
    assert expected(toy.checks["L03"], shown["L03"], rng).answers["weak"] < 0.5 * weak
    with pytest.raises(ValueError, match="saw no machine left with it"):
        after_repair(place, steps[-1].cloud, ("X99",), ("L03",), rng)


def test_a_look_that_is_never_mistaken_may_rule_machines_out(toy, small):
    """No warning, no alarm, and the machines it rules out are gone."""
    from dataclasses import replace

    sure = {**toy.checks, "L02": replace(toy.checks["L02"], mistakes={}, misdone=0.0)}
    readings = [Reading("L02", answer="globe"), Reading("T01", 285.0)]
    cloud = weigh(small, sure, readings)
    assert np.isinf(cloud.log_weight).any()
    assert not misfit(cloud, odds(cloud), sure, readings).alarm
