"""What a call may need, against the odds of the same population and against the table it was drawn from."""

from dataclasses import replace

import numpy as np
import pytest

from tundish.appliance.records import Description
from tundish.diagnosis.odds import Cloud, odds, start, weigh
from tundish.diagnosis.reading import Reading
from tundish.plan.shop import USUAL, shop_for
from tundish.population.build import build, world
from tundish.population.hypotheses import priors, shares
from tundish.store.library import load
from tundish.van.catalogue import Carrying, catalogue, part_of
from tundish.van.errors import VanError
from tundish.van.kit import best
from tundish.van.need import need
from tundish.van.part import PartKey, key_of
from tundish.van.tour import tour

FAMILIES = (
    "front-load washer", "top-load washer", "dishwasher", "dryer", "refrigerator-freezer", "oven and hob",
)  # fmt: skip
SHOP = USUAL["EUR"]


@pytest.fixture(scope="module")
def washer() -> Description:
    return load("front-load washer")


@pytest.fixture(scope="module")
def cloud(toy, place):
    population = build(place, "SLOW", 2_000, 3)
    record = toy.complaints["SLOW"]
    return start(population, priors(population.hypotheses, record, shares(toy, record, None, ())))


def test_chances_are_those_of_the_odds(toy, place, cloud):
    """The toy's coil is a part of its own, so is its screen; their chances are those of their faults."""
    found, now = need(place, cloud, SHOP, call="a"), odds(cloud)
    screen, coil = PartKey("any", "inlet screen"), PartKey(toy.family, "valve coil")
    assert found.chance(screen) == pytest.approx(now.causes["S04"], abs=1e-12)
    assert found.chance(coil) == pytest.approx(now.causes["F01"], abs=1e-12)
    assert found.nothing == pytest.approx(now.nothing, abs=1e-12)
    assert found.unknown == pytest.approx(now.unknown, abs=1e-12)


def test_two_faults_need_their_parts_together(toy, place, cloud):
    found = need(place, cloud, SHOP, call="a")
    both = frozenset({PartKey("any", "inlet screen"), PartKey(toy.family, "valve coil")})
    # By the table: two roots, or a screen that dragged the coil along; 0.02 of the calls are not described
    share = {f: s / 35 for f, s in {"S04": 22, "F01": 10, "N01": 3}.items()}
    assert found.sets[both] == pytest.approx(0.98 * (0.18 + 0.82 * share["S04"] * 0.1), abs=0.01)
    assert len(found.sets) == 3


def test_readings_move_the_load(toy, place, cloud):
    """A coil read open makes the coil sure to be needed, and the kit carries it; before the reading it is a guess."""
    after = weigh(cloud, toy.checks, [Reading("W01", 1e6)])
    coil = PartKey(toy.family, "valve coil")
    before, now = need(place, cloud, SHOP, call="a"), need(place, after, SHOP, call="a")
    assert now.chance(coil) > 0.9 > before.chance(coil)


def test_a_cloud_without_weight_is_refused(place, cloud):
    empty = Cloud(cloud.population, np.full(cloud.population.size, -np.inf), -np.inf)
    with pytest.raises(VanError, match="total log-weight -inf for call a"):
        need(place, empty, SHOP, call="a")


def test_no_part_for_settings_the_house_or_another_trade(washer):
    faults = washer.faults
    assert part_of(washer, faults["F01"], "EUR") == PartKey("front-load washer", "inlet valve")
    assert part_of(washer, faults["F01"], "EUR") == part_of(washer, faults["F05"], "EUR")
    for none in ("S01", "S09", "S24", "F35", "F40"):
        assert part_of(washer, faults[none], "EUR") is None, none
    fridge = load("refrigerator-freezer")
    assert part_of(fridge, fridge.faults["R04"], "EUR") is None


def test_universal_stock_is_one_part_for_all_families(washer):
    dishes = load("dishwasher")
    assert part_of(washer, washer.faults["S17"], "EUR") == part_of(dishes, dishes.faults["S17"], "EUR")
    pumps = {
        part_of(d, f, "EUR") for d in (washer, dishes) for f in d.faults.values() if f.part == "drain pump"
    }
    assert len(pumps) == 2


@pytest.mark.parametrize("currency", ["EUR", "USD"])
def test_the_catalogue_of_every_family(currency):
    shop, families = USUAL[currency], [load(f) for f in FAMILIES]
    parts = catalogue(families, shop)
    assert all(key == key_of(str(key)) == part.key for key, part in parts.items())
    wanted = {
        key for d in families for f in d.faults.values() if (key := part_of(d, f, currency)) is not None
    }
    assert set(parts) == wanted
    board, valve = PartKey("front-load washer", "main board"), PartKey("front-load washer", "inlet valve")
    # A board is bought for the day and goes back; a valve lies on the van anyway
    assert parts[board].unused > 10 * parts[valve].holding
    assert parts[valve].unused == 0


def test_holding_is_the_year_by_its_days(washer):
    part = catalogue([washer], SHOP, carrying=Carrying(yearly=0.22, days=220))[
        PartKey("front-load washer", "inlet valve")
    ]
    assert part.holding == pytest.approx(part.price / 1000)
    sized = catalogue([washer], SHOP, sizes={part.key: 2.5})
    assert sized[part.key].space == 2.5


def test_a_day_of_one_real_call_is_loaded(washer):
    """A slow fill: what is on the load is what the trade takes along for it, and no board."""
    place = world(washer, "EU")
    population, record = build(place, "SLOW", 2_000, 5), washer.complaints["SLOW"]
    shop = shop_for(washer.markets["EU"])
    now = start(population, priors(population.hypotheses, record, shares(washer, record, 9.0, ())))
    problem = tour([need(place, now, shop, call="a")], catalogue([washer], shop))
    load_ = best(problem).load
    assert {PartKey("any", "inlet screen"), PartKey("front-load washer", "inlet valve")} <= set(load_)
    assert PartKey("front-load washer", "main board") not in load_
    # A shop for which a second trip costs nothing carries nothing
    free = need(place, now, replace(shop, trip=0.0), call="a")
    assert best(tour([free], catalogue([washer], shop))).load == {}


@pytest.mark.parametrize("text", ["", "pump", ": pump", "dishwasher:", "  :  "])
def test_a_part_without_family_or_name_is_refused(text):
    with pytest.raises(VanError, match="FAMILY: PART"):
        key_of(text)
