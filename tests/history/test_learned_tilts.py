"""What age and circumstances do to the shares, learned from calls of a world where they do something else."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from tundish.history.cells import AGES, band_of, counted_causes
from tundish.history.counted import Rows, taught_by
from tundish.history.errors import HistoryError
from tundish.history.learned import Learned, Provenance, applied
from tundish.history.teach import learned_shares
from tundish.history.tilts import factors, tilted
from tundish.population.hypotheses import shares
from tundish.store.library import load

FAMILY = load("front-load washer")
COMPLAINTS = ("SLOW", "NOFILL", "NODRAIN")
TOLD = ("house move", "hard water")


def rows_of(world, n: int, rng: np.random.Generator) -> list[dict]:
    """Counts of calls of a world: any age, sometimes a circumstance."""
    held: dict[tuple, float] = {}
    for _ in range(n):
        name = COMPLAINTS[rng.integers(3)]
        age = (None, 1.0, 5.0, 14.0)[rng.integers(4)]
        told = tuple(word for word in TOLD if rng.random() < 0.3)
        chance = shares(world, world.complaints[name], age, told)
        key = name, age, "|".join(told), str(rng.choice(list(chance), p=list(chance.values())))
        held[key] = held.get(key, 0.0) + 1
    names = ("complaint", "age", "told", "cause")
    return [{"family": FAMILY.family, **dict(zip(names, key, strict=True)), "weight": weight} for key, weight in held.items()]


def other_world():
    """Old machines have three times the pumps; hard water blocks screens three times as often as shipped says."""
    hard = FAMILY.circumstances["hard water"]
    more = {"age 10 and over": {"F12": 3.0}, "hard water": {"S04": 3.0}}
    assert "S04" in hard.times
    return replace(FAMILY, circumstances=tilted(FAMILY, more))


def test_a_band_and_a_circumstance_that_differ_are_found_and_the_others_left() -> None:
    found = learned_shares(counted_causes(rows_of(other_world(), 12_000, np.random.default_rng(1)), FAMILY), FAMILY)
    pumps = {name: found.tilts[name]["F12"] for name, _, _ in AGES}
    # Base shares and factors can be moved against each other: what counts is old against young
    assert pumps["age 10 and over"] / pumps["age 2 to 10"] == pytest.approx(3, rel=0.25)
    assert found.tilts["hard water"]["S04"] == pytest.approx(3, rel=0.25)
    # What house moves bear on is as shipped there
    others = np.log([times for cause, times in found.tilts["house move"].items()])
    assert np.abs(others).mean() < 0.2


def test_shares_of_a_caller_come_nearer_to_the_truth_than_without_bands() -> None:
    world = other_world()
    learned = taught_by(Rows(rows_of(world, 12_000, np.random.default_rng(2)), (), ()), FAMILY)
    mine = applied(FAMILY, Learned({FAMILY.family: learned}, Provenance(1, "", "", 1, "")))
    without = applied(FAMILY, Learned({FAMILY.family: replace(learned, tilts={})}, Provenance(1, "", "", 1, "")))

    def lost(described, name: str, age: float, told: tuple[str, ...]) -> float:
        truth = shares(world, world.complaints[name], age, told)
        ours = shares(described, described.complaints[name], age, told)
        return sum(p * np.log(p / ours[cause]) for cause, p in truth.items() if p > 0)

    for name, age, told in (("NODRAIN", 14.0, ()), ("SLOW", 5.0, ("hard water",)), ("NODRAIN", 1.0, ())):
        assert lost(mine, name, age, told) < 0.02
    assert lost(mine, "NODRAIN", 14.0, ()) < 0.3 * lost(without, "NODRAIN", 14.0, ())


def test_a_world_as_shipped_moves_no_factor() -> None:
    """Factors drawn as the prior says are covered by their means: the root mean square error is below that of 1."""
    found = learned_shares(counted_causes(rows_of(FAMILY, 6_000, np.random.default_rng(3)), FAMILY), FAMILY)
    logs = np.log([times for held in found.tilts.values() for times in held.values()])
    assert np.sqrt((logs**2).mean()) < 0.12
    assert found.tilts.keys() == {*(name for name, _, _ in AGES), *TOLD}


def test_factors_of_drawn_worlds_are_nearer_than_raw_ratios() -> None:
    rng = np.random.default_rng(4)
    errors = np.zeros(3)
    for _ in range(200):
        truth, expected = rng.gamma(15, 1 / 15, 40), rng.gamma(2, 10, 40)
        observed = rng.poisson(truth * expected).astype(float)
        for place, guess in enumerate((factors(observed, expected), observed / expected, np.ones(40))):
            errors[place] += ((guess - truth) ** 2).sum()
    assert errors[0] < 0.8 * errors[1] and errors[0] < 0.8 * errors[2]


def test_bands_meet_without_a_gap_and_unknown_names_are_refused() -> None:
    mine = tilted(FAMILY, {name: {"F12": 2.0 + place} for place, (name, _, _) in enumerate(AGES)})
    described = replace(FAMILY, circumstances=mine)
    drain = FAMILY.complaints["NODRAIN"]
    for age in (0.0, 1.99, 2.0, 9.99, 10.0, 30.0):
        factor = 2.0 + [name for name, _, _ in AGES].index(band_of(age))
        before, after = shares(FAMILY, drain, age, ()), shares(described, drain, age, ())
        assert after["F12"] / after["F31"] == pytest.approx(factor * before["F12"] / before["F31"])
    learned = replace(taught_by(Rows((), (), ()), FAMILY), tilts={"full moon": {"F12": 2.0}})
    with pytest.raises(HistoryError, match="full moon"):
        applied(FAMILY, Learned({FAMILY.family: learned}, Provenance(1, "", "", 1, "")))
