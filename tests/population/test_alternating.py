"""Machines whose circuit has complex potentials: every kind of result against its own formula."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from tundish.appliance.reader import read
from tundish.population.build import build, world
from tundish.population.machines import Machines
from tundish.population.needs import needed_parameters

CIRCUIT = Path(__file__).parents[1] / "appliance" / "circuit.yaml"
OPEN, CLOSED = 1e9, 0.01 / (1 + 0.01e-9)
FAN = 3 + 4j


@pytest.fixture(scope="module")
def circuit():
    return read(CIRCUIT.read_text(encoding="utf-8"), "circuit.yaml")


@pytest.fixture(scope="module")
def machines(circuit):
    """One machine on a split phase, one on a wye."""
    same = {"leg": 120, "feed": 1, "bake": 1, "element": 19.2, "copper": 3, "wet": 1e9, "stray": 750e-12}
    values = {name: np.full(2, float(value)) for name, value in same.items()}
    turned = {"building": np.array([0.0, 1.0]), "second": np.radians([180.0, -120.0])}
    return Machines(circuit, {**values, **turned}, 2)


def second(angle: float) -> complex:
    """The second leg."""
    return 120 * complex(math.cos(math.radians(angle)), math.sin(math.radians(angle)))


def test_voltage_is_the_size_of_the_difference(machines):
    np.testing.assert_allclose(machines.value("leg_to_leg"), [240, 120 * math.sqrt(3)], rtol=1e-12)


def test_flow_is_the_size_of_a_current(machines):
    """Millman's theorem at the bus."""
    for i, angle in enumerate((180.0, -120.0)):
        feed, heat, fan = 1 / CLOSED, 1 / (CLOSED + 19.2), 1 / FAN
        bus = (second(angle) * feed + 120 * heat) / (feed + heat + fan)
        assert machines.value("heat_amps")[i] == pytest.approx(abs((120 - bus) * heat), rel=1e-6)
        assert machines.value("fan_amps")[i] == pytest.approx(abs(bus * fan), rel=1e-6)


def test_a_lost_leg_is_fed_back_through_the_element_while_bake_is_on(machines):
    by_hand = abs(120 * FAN / (FAN + 19.2 + CLOSED))
    np.testing.assert_allclose(machines.value("bus_lost"), by_hand, rtol=1e-5)
    np.testing.assert_allclose(machines.value("bus_potential"), by_hand, rtol=1e-5)
    assert (machines.value("bus_idle") < 1e-5).all()


def test_a_ghost_fades_under_a_low_impedance_meter(machines):
    """Half the voltage behind the impedance of both capacitors side by side, the meter and the sheath across."""
    behind = 1 / (2j * math.pi * 60 * 2 * 750e-12)
    for name, ohms in (("ghost_high", 10e6), ("ghost_low", 3e3)):
        load = 1 / (1 / ohms + 1e-9)
        np.testing.assert_allclose(machines.value(name), abs(60 * load / (load + behind)), rtol=1e-9)


def test_setups_turn_the_supply(machines):
    np.testing.assert_allclose(machines.value("swapped_legs"), 120 * math.sqrt(2), rtol=1e-12)
    np.testing.assert_allclose(machines.value("turned_legs"), 120 * math.sqrt(2), rtol=1e-12)


def test_an_ohmmeter_sends_direct_current(machines):
    """The fan's copper of 3 ohm and not its 5 ohm impedance; the element is alone, as nothing else joins its ends."""
    np.testing.assert_allclose(machines.value("fan_ohms"), 3.0, rtol=1e-6)
    np.testing.assert_allclose(machines.value("element_ohms"), 19.2, rtol=1e-6)
    assert not machines.lost.any()


def test_an_angle_is_needed_and_what_it_is_drawn_by(circuit):
    assert {"leg", "second", "building"} <= needed_parameters(circuit, ["leg_to_leg"])


def test_a_population_is_built_of_such_machines(circuit):
    grown = build(world(circuit, "NA"), "COLD", 2_000, 3)
    roots = np.array([grown.hypotheses[i].roots == ("F1",) for i in grown.stratum])
    assert roots.sum() > 500
    # Whatever the building, the lost leg shows what the element and the fan leave of the other one.
    expected = abs(120 * FAN / (FAN + 19.2 + CLOSED))
    np.testing.assert_allclose(grown.predicted[0][roots], expected, rtol=1e-4)
