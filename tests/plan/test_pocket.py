"""The packed call: its file, its rounding, its weights, and that nothing unlawful is proposed from any state."""

from __future__ import annotations

import gzip
from dataclasses import replace

import numpy as np
import pytest
from scipy.special import logsumexp

from tools.pocket_vectors import case_of, read_on
from tundish.diagnosis.likelihood import _clipped, _scaled, _sigma
from tundish.diagnosis.odds import odds as full_odds
from tundish.diagnosis.odds import weigh as full_weigh
from tundish.diagnosis.reading import Reading
from tundish.diagnosis.regrow import regrow
from tundish.plan.demands import demands_of_check, refused
from tundish.plan.errors import PlanError
from tundish.plan.pocket import Case, pack
from tundish.plan.pocket_draw import drawn
from tundish.plan.pocket_file import packed, unpacked
from tundish.plan.pocket_kernel import Pocket, expected, odds, opened, weigh
from tundish.plan.pocket_next import Place, board
from tundish.plan.pocket_scale import scale_of
from tundish.plan.pocket_ways import ways
from tundish.plan.states import refusal

SEED = 3


@pytest.fixture(scope="module")
def case() -> Case:
    """A slow fill of a front-load washer."""
    return case_of("front load washer", "EU", "SLOW", size=3_000)


@pytest.fixture(scope="module")
def file(case: Case) -> bytes:
    return pack(case, np.random.default_rng(SEED), size=50_000)


@pytest.fixture(scope="module")
def pocket(file: bytes) -> Pocket:
    return opened(file)


def test_a_file_comes_back_whole() -> None:
    arrays = {"a": np.arange(7, dtype="u1"), "b": np.array([1.5, -2.0], "f4"), "c": np.array([65_535], "u2"), "d": np.zeros(0, "u2")}
    head, found = unpacked(packed({"é": [1, None]}, arrays))
    assert head["é"] == [1, None] and found.keys() == arrays.keys()
    assert all(np.array_equal(found[n], a) and found[n].dtype == a.dtype for n, a in arrays.items())


def test_a_damaged_or_foreign_file_is_refused(file: bytes) -> None:
    whole = bytearray(gzip.decompress(file))
    whole[len(whole) // 2] ^= 1
    older = bytearray(gzip.decompress(file))
    older[8] += 1
    for bad in (b"", b"PK", file[:-40], gzip.compress(bytes(whole)), gzip.compress(bytes(older)), gzip.compress(b"x")):
        with pytest.raises(PlanError):
            unpacked(bad)


def test_the_same_case_gives_the_same_bytes(case: Case) -> None:
    one, other = (pack(case, np.random.default_rng(SEED), size=500) for _ in range(2))
    assert one == other


def test_what_machines_show_is_rounded_by_less_than_a_tenth_of_a_sigma(case: Case) -> None:
    population = case.first.population
    for check in case.place.description.checks.values():
        shown = population.row(check.id)
        scale = scale_of(check, shown)
        back = scale.value(scale.code(check, shown))
        if check.instrument is None:
            assert np.array_equal(back, np.clip(shown.astype(int), 0, len(check.answers) - 1))
            continue
        assert np.array_equal(shown >= check.instrument.high, back >= check.instrument.high)
        true = _clipped(check.instrument, shown.astype(np.float64))
        off = _scaled(check.instrument, true) - _scaled(check.instrument, _clipped(check.instrument, back))
        assert (np.abs(off) <= 0.1 * np.maximum(_sigma(check, true), 1e-12)).all(), check.id


@pytest.mark.parametrize("number", range(12))
def test_with_all_machines_the_odds_are_those_of_the_server(case: Case, pocket: Pocket, number: int) -> None:
    cloud, rng = case.first, np.random.default_rng([SEED, number])
    assert len(pocket.prior) == cloud.population.size
    machine = int(rng.choice(cloud.population.size))
    asked = rng.choice(sorted(pocket.checks), number % 5, replace=False).tolist()
    readings = [read_on(case.place.description.checks[c], cloud, machine, rng) for c in asked]
    theirs = full_odds(full_weigh(cloud, case.place.description.checks, readings))
    mine = odds(weigh(pocket, readings))
    # Rounding an eighth of a sigma moves the odds by little where enough machines carry them
    near = 0.01 if theirs.effective > 200 else 0.05
    for name, chance in mine.causes.items():
        assert chance == pytest.approx(theirs.causes.get(name, 0.0), abs=near)
    assert mine.unknown == pytest.approx(theirs.unknown, abs=near)
    assert mine.nothing == pytest.approx(theirs.nothing, abs=near)


def test_every_hypothesis_keeps_its_chance_when_machines_are_left_out(case: Case) -> None:
    found = drawn(case.first, case.first, {}, (), rng=np.random.default_rng(SEED), size=900)
    assert found.population.size < 1_300 < case.first.population.size
    for index in range(len(case.first.population.hypotheses)):
        before = case.first.log_weight[case.first.population.stratum == index]
        after = found.log_prior[found.population.stratum == index]
        if len(before):
            assert logsumexp(after) == pytest.approx(logsumexp(before), abs=1e-9)


def test_a_pocket_packed_late_still_knows_the_odds_before_a_reading(case: Case) -> None:
    """Regrown machines are no draws from the prior; weighed back, they must give the prior's odds again."""
    checks = case.place.description.checks
    rng = np.random.default_rng(SEED)
    machine = int(np.argmax(case.first.log_weight))
    readings = [read_on(checks[c], case.first, machine, rng) for c in ("C04", "C05.cold", "C03")]
    readings = [replace(r, bound="exact") for r in readings]
    current = full_weigh(case.first, checks, readings)
    likely = np.argsort(-full_odds(current).chance)[:4]
    chosen = [int(i) for i in likely if case.first.population.hypotheses[i].kind != "undescribed"]
    grown = regrow(case.place, case.first, current, readings, chosen=chosen, rng=rng)
    assert grown.population is not case.first.population
    late = opened(pack(replace(case, now=grown, readings=tuple(readings)), np.random.default_rng(SEED), size=50_000))
    first, back = full_odds(case.first), odds(weigh(late, ()))
    assert max(abs(first.causes[c] - p) for c, p in back.causes.items()) < 0.03
    now, mine = full_odds(grown), odds(weigh(late, readings))
    assert max(abs(now.causes[c] - p) for c, p in mine.causes.items()) < 0.06


def test_a_reading_taken_back_leaves_nothing_behind(pocket: Pocket) -> None:
    reading = Reading("C04", value=5e-5)
    weigh(pocket, [reading])
    assert odds(weigh(pocket, ())).causes == odds(weigh(pocket, ())).causes
    weight = weigh(pocket, ()).weight
    assert np.allclose(np.log(weight) - np.log(weight[0]), pocket.prior - pocket.prior[0], atol=1e-9)


def test_a_band_holds_nine_tenths_of_what_is_read(case: Case, pocket: Pocket) -> None:
    cloud, rng = case.first, np.random.default_rng(SEED)
    weight = np.exp(cloud.log_weight) / np.exp(cloud.log_weight).sum()
    band = expected(weigh(pocket, ()), "C05.cold")
    rows = rng.choice(cloud.population.size, 3_000, p=weight)
    read = [read_on(case.place.description.checks["C05.cold"], cloud, int(m), rng).value or 0.0 for m in rows]
    assert band.low is not None and band.high is not None
    inside = np.mean([(band.low <= v) & (v <= band.high) for v in read])
    # 3,000 readings: three standard errors are 0.017; mis-done ones are left out of both
    assert inside == pytest.approx(0.9, abs=0.02)


def test_nothing_unlawful_is_proposed_from_any_state(case: Case, pocket: Pocket) -> None:
    description, shop = case.place.description, case.shop
    states = ways(case.place, shop, case.standing.safety, []).states
    weighed, proposed = weigh(pocket, ()), 0
    for name in list(states)[::6]:
        shown = board(weighed, Place(name))
        names = shown.walk.names
        ends = {(names[a], s): b for (a, b), s in shown.walk.step.items()}
        for option in shown.options:
            # By the table itself, not by the pocket's copy of it
            here = states[name]
            for step in shown.walk.way(shown.here, option.at):
                here = states[shown.walk.names[ends[here.name, step]]]
            assert here.name == shown.walk.names[option.at]
            if option.kind == "check":
                check = description.checks[option.what]
                assert not check.live and not refused(demands_of_check(check), here, who=shop.who), option
                proposed += 1
    assert proposed > 50


def test_every_step_of_the_pocket_is_lawful_where_it_begins(case: Case, pocket: Pocket) -> None:
    found = ways(case.place, case.shop, case.standing.safety, [])
    states = list(found.states.values())
    assert [s.name for s in states] == pocket.head["states"]
    for a, b, s in found.moves.tolist():
        assert not refusal(found.steps[s], states[a], who=case.shop.who) and states[a] != states[b]


@pytest.mark.parametrize(("read", "stops"), [
    (Reading("C7.gas", answer="smell"), True),
    (Reading("C6.frame", value=120.0), True),
    (Reading("C6.frame", value=2.0), False),
    (Reading("C7.train", answer="fitted"), False),
])  # fmt: skip
def test_a_danger_that_is_read_ends_all_proposals(read: Reading, stops: bool) -> None:
    dryer = opened(pack(case_of("dryer", "EU", "NOHEAT230", size=600), np.random.default_rng(SEED), size=500))
    shown = board(weigh(dryer, [read]), Place())
    assert bool(shown.halt) == stops == (not shown.options)


def test_a_state_the_pocket_does_not_know_gets_no_proposal(pocket: Pocket) -> None:
    shown = board(weigh(pocket, ()), Place("power on, water on, hazard seen"))
    assert not shown.options and shown.halt
