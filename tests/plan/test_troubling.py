"""A cause is left when the complaint is still there with it, or when it breaks again what was repaired; nothing milder is."""

import numpy as np
import pytest

from tundish.diagnosis.odds import start
from tundish.plan.cured import complains, drawn_with
from tundish.plan.proof import as_left
from tundish.plan.samples import faults_of
from tundish.plan.troubling import anything_left, dragging, troubled
from tundish.population.build import build, world
from tundish.population.hypotheses import priors, shares
from tundish.store.library import load


@pytest.fixture(scope="module")
def left():
    """Washers that filled slowly, after a new hose was fitted on all of them, whatever was wrong."""
    place = world(load("front-load washer"), "EU")
    held = build(place, "SLOW", 4_000, 7)
    record = place.description.complaints["SLOW"]
    cloud = start(held, priors(held.hypotheses, record, shares(place.description, record, 6.0, ())))
    return place, as_left(place, cloud, ["S06"], np.random.default_rng(1), works=None).population


def test_what_is_too_mild_to_complain_of_is_not_left(left):
    place, population = left
    rows = np.arange(population.size)
    there, troubles = anything_left(place, population), troubled(place, population, ["S06"])
    assert not (troubles & ~there).any()
    mild = there & ~troubles
    assert mild.any() and troubles.any()
    # Held against the complaint itself, on the same machines as their users have them
    kept = faults_of(place, population, rows)
    drawn = drawn_with(place, population, rows, kept, found=False)
    shows = complains(place, drawn, place.description.complaints["SLOW"])
    assert not shows[mild].any() and shows[troubles].all()


def test_a_hose_that_was_not_cured_is_left_in_nearly_all(left):
    place, population = left
    kept = faults_of(place, population, np.arange(population.size))
    only = np.array([faults == {"S06"} for faults in kept])
    # A kink is what made each of these slow: as it was, each is slow still
    assert only.any() and troubled(place, population, ["S06"])[only].mean() > 0.95


def test_what_breaks_the_repair_again_is_left_however_well_the_machine_works():
    dryer = load("dryer")
    # A blocked duct, a clogged lint screen, a slipping wheel: each blows a new one-shot cut-out
    assert {"D12", "D13"} <= dragging(dryer, ["D05"])
    assert all(not set(dryer.faults[f].drags).isdisjoint({"D05"}) for f in dragging(dryer, ["D05"]))
    assert dragging(dryer, ["D03"]) == frozenset()
    place = world(dryer, "NA")
    held = build(place, "NOHEAT240", 4_000, 7)
    record = dryer.complaints["NOHEAT240"]
    cloud = start(held, priors(held.hypotheses, record, shares(dryer, record, 8.0, ())))
    population = as_left(place, cloud, ["D05"], np.random.default_rng(1), works=None).population
    kept = faults_of(place, population, np.arange(population.size))
    ducts = np.array([faults == {"D12"} for faults in kept])
    drawn = drawn_with(place, population, np.arange(population.size), kept, found=False)
    heats = ~complains(place, drawn, record)
    assert (ducts & heats).any() and troubled(place, population, ["D05"])[ducts & heats].all()
    # With another repair the same duct is no cause of this complaint
    assert not troubled(place, population, ["D03"])[ducts & heats].any()
