"""Laws that a cabinet's heat balance must keep, and the solver's answer to the same cabinet as a network."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tundish.physics.cabinet import (
    cabinet_load,
    compartment_temperature,
    cooling_capacity,
    freezer_temperature,
    passed_conductance,
    running_share,
)
from tundish.physics.frost import defrost_time, ice_pressure, leak_frost, leak_heat, melted
from tundish.physics.laws import LAWS
from tundish.physics.network import Link, Network, solve

CONDUCTANCE = st.floats(0.1, 30)
ROOM, COLD = st.floats(280, 315), st.floats(245, 265)


@given(CONDUCTANCE, CONDUCTANCE, ROOM, COLD, st.floats(0, 60))
def test_what_comes_through_the_wall_goes_with_the_air(
    walls: float, flow: float, room: float, supply: float, gain: float
) -> None:
    found = float(compartment_temperature(walls, room, flow, supply, gain))
    assert walls * (room - found) + gain == pytest.approx(flow * (found - supply), abs=1e-6)


@given(CONDUCTANCE, CONDUCTANCE, CONDUCTANCE, CONDUCTANCE, st.floats(240, 246))
def test_a_cabinet_without_gains_is_what_the_network_solver_finds(
    walls_fresh: float, walls_freezer: float, flow: float, coil: float, evaporator: float
) -> None:
    """Room, fresh food, freezer and coil as nodes; the circuit strong, the coil the limit."""
    room, held = 297.15, 200.0
    links = [
        ("wall_f", "room", "fresh"),
        ("wall_z", "room", "freezer"),
        ("air", "fresh", "freezer"),
        ("coil", "freezer", "cold"),
    ]
    net = Network(tuple(Link(name, LAWS["linear"], a, b) for name, a, b in links))
    sizes = {"wall_f": walls_fresh, "wall_z": walls_freezer, "air": flow, "coil": coil}
    inputs = {name: {"conductance": size} for name, size in sizes.items()}
    solution = solve(net, inputs, {"room": room, "cold": evaporator}, machines=1)

    fresh = compartment_temperature(walls_fresh, room, flow, held, 0.0)
    load = cabinet_load(room, fresh, held, walls_fresh=walls_fresh, walls_freezer=walls_freezer, gain=0.0)
    slope = walls_freezer + passed_conductance(walls_fresh, flow)
    freezer = freezer_temperature(held, load, slope, capacity=1e9, coil=coil, evaporator=evaporator)
    assert float(freezer) == pytest.approx(float(solution.potential["freezer"][0]), abs=1e-6)
    settled = compartment_temperature(walls_fresh, room, flow, freezer, 0.0)
    assert float(settled) == pytest.approx(float(solution.potential["fresh"][0]), abs=1e-6)


@given(st.floats(40, 300), st.floats(0.3, 5), st.floats(1, 300))
def test_a_freezer_is_held_until_the_circuit_is_too_weak(load: float, slope: float, capacity: float) -> None:
    found = float(freezer_temperature(255.0, load, slope, capacity=capacity, coil=1e6, evaporator=243.0))
    if load <= capacity:
        assert found == 255.0
        assert float(running_share(load, capacity)) == pytest.approx(load / capacity)
    else:
        assert load - slope * (found - 255.0) == pytest.approx(capacity, rel=1e-9)
        assert float(running_share(load, capacity)) == 1.0


def test_a_coil_without_air_takes_nothing() -> None:
    warm = freezer_temperature(255.15, 60.0, 1.0, capacity=160.0, coil=0.0, evaporator=243.15)
    assert float(warm) == pytest.approx(255.15 + 60.0)


def test_two_paths_one_after_the_other() -> None:
    assert float(passed_conductance(2.0, 2.0)) == 1.0
    assert float(passed_conductance(3.0, 0.0)) == 0.0
    assert float(passed_conductance(3.0, np.inf)) == 3.0


def test_a_dead_cabinet_that_nothing_heats_is_as_warm_as_its_room() -> None:
    assert float(compartment_temperature(0.0, 293.0, 0.0, 255.0, 8.0)) == 293.0
    assert float(cooling_capacity(160.0, 430.0)) == 0.0


@given(st.floats(0, 2), st.floats(50, 700))
def test_melting_is_the_inverse_of_the_time_it_takes(ice: float, power: float) -> None:
    assert float(melted(defrost_time(ice, power), power)) == pytest.approx(ice, abs=1e-9)


def test_a_heater_without_power_never_ends() -> None:
    assert float(defrost_time(0.1, 0.0)) == np.inf
    assert float(melted(600.0, 20.0)) == 0.0


@given(st.floats(0, 1e-3), st.floats(275, 315), st.floats(0.1, 1))
def test_frost_and_heat_grow_with_the_leak(flow: float, room: float, humidity: float) -> None:
    one, two = (float(leak_frost(f, room, 255.15, humidity)) for f in (flow, 2 * flow))
    assert two == pytest.approx(2 * one)
    dry = float(leak_heat(flow, room, 255.15, 0.0))
    assert float(leak_heat(flow, room, 255.15, humidity)) >= 0.99 * dry >= 0.0


def test_dry_air_leaves_no_frost() -> None:
    assert float(leak_frost(1e-3, 297.15, 255.15, 0.0)) == 0.0
    assert float(ice_pressure(230.0)) < float(ice_pressure(255.15)) < 611.3
