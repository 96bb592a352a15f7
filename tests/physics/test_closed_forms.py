"""Closed forms outside the registry: inverses, limits and refusals."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tundish.physics.bore import bore_area
from tundish.physics.copper import (
    conductor_resistance,
    copper_factor,
    winding_resistance,
    winding_temperature,
)
from tundish.physics.drawdown import cushion_drawdown, tank_drawdown
from tundish.physics.errors import PhysicsError
from tundish.physics.level import head_pressure, pressure_head
from tundish.physics.mixing import hot_share, mixed_temperature
from tundish.physics.orifice import jet_velocity, orifice_jet
from tundish.physics.platinum import platinum_resistance, platinum_temperature
from tundish.physics.surge import critical_closing_time, slow_closing_surge, surge, wave_speed_in_pipe
from tundish.physics.thermistor import beta_law, thermistor, thermistor_temperature
from tundish.physics.valve import valve_coefficient, valve_flow


@given(st.floats(173.15, 573.15))
def test_thermistor_and_back(temperature: float) -> None:
    read = thermistor(12e3, 3740.0, temperature)
    assert float(thermistor_temperature(read, 12e3, 3740.0)) == pytest.approx(temperature, rel=1e-9)


def test_beta_law_meets_its_reference() -> None:
    assert float(beta_law(5e3, 3950.0, 333.15, reference=333.15)) == 5e3


@given(st.floats(73.15, 1123.15))
def test_platinum_and_back(temperature: float) -> None:
    assert float(platinum_temperature(platinum_resistance(temperature))) == pytest.approx(
        temperature, abs=1e-9
    )


@pytest.mark.parametrize("wrong", [0.0, 18.4, 391.0, float("inf"), float("nan")])
def test_a_resistance_off_the_platinum_curve_is_refused(wrong: float) -> None:
    with pytest.raises(PhysicsError, match=r"sensor resistance \S+ ohm is outside 18.5 ... 390.5 ohm: check"):
        platinum_temperature(wrong)


def test_a_temperature_off_the_platinum_curve_is_refused() -> None:
    with pytest.raises(PhysicsError, match=r"sensor temperature 50 K is outside 73.15 ... 1123.15 K: give"):
        platinum_resistance(np.array([300.0, 50.0]))


@given(st.floats(200.0, 500.0))
def test_winding_and_back(temperature: float) -> None:
    hot = winding_resistance(1200.0, temperature)
    assert float(winding_temperature(1200.0, hot, 293.15)) == pytest.approx(temperature, rel=1e-12)


def test_copper_ends_at_its_intercept() -> None:
    assert np.asarray(copper_factor(np.array([0.0, 30.0, 293.15]))).tolist() == [0.0, 0.0, 1.0]


def test_two_conductors_in_a_row_add_up() -> None:
    one = conductor_resistance(10.0, 1.5e-6, 300.0)
    two = conductor_resistance(20.0, 1.5e-6, 300.0)
    assert float(two) == pytest.approx(2 * float(one))


@given(st.floats(-1e6, 1e6), st.floats(950.0, 1000.0))
def test_head_and_back(pressure: float, density: float) -> None:
    assert head_pressure(pressure_head(pressure, density), density) == pytest.approx(pressure, abs=1e-6)


@given(st.floats(1.0, 1e6))
def test_jets_and_valves_are_odd_square_roots(drop: float) -> None:
    assert float(orifice_jet(-drop, 3e-3)) == -float(orifice_jet(drop, 3e-3))
    assert float(orifice_jet(4 * drop, 3e-3)) == pytest.approx(2 * float(orifice_jet(drop, 3e-3)))
    flow = valve_flow(1.7, drop)
    assert float(valve_coefficient(flow, drop)) == pytest.approx(1.7)


def test_a_jet_is_taken_as_sharp_edged_unless_told() -> None:
    assert float(orifice_jet(1e5, 3e-3)) == float(orifice_jet(1e5, 3e-3, 0.61))


def test_a_lossless_jet_is_torricellis() -> None:
    flow = orifice_jet(head_pressure(2.0, 998.207), 5e-3, discharge=1.0)
    assert float(flow) == pytest.approx(float(jet_velocity(2.0)) * bore_area(5e-3))


@given(st.floats(0.0, 1.0))
def test_hot_share_undoes_the_mix(share: float) -> None:
    mix = mixed_temperature(share * 10e-3, 330.0, (1 - share) * 10e-3, cold=285.0, dead=300.0)
    assert float(hot_share(mix, 330.0, 285.0)) == pytest.approx(share, abs=1e-9)


def test_a_rigid_pipe_carries_free_sound() -> None:
    assert float(wave_speed_in_pipe(0.01, 0.01, 1e30, bulk_modulus=2.2e9, density=1000.0)) == pytest.approx(
        2.2e6**0.5
    )


def test_slow_and_instant_surge_meet_at_half_the_critical_time() -> None:
    # Joukowsky rho a v equals rho L v / t at t = L / a, half the time a wave needs to and fro.
    area = float(bore_area(0.0138))
    instant = float(surge(1.0 * area, 0.0138, 1300.0))
    slow = slow_closing_surge(1.0, 10.0, critical_closing_time(10.0, 1300.0) / 2)
    assert slow == pytest.approx(instant)


def test_a_tank_charged_above_cut_in_gives_less() -> None:
    drawn = [float(tank_drawdown(0.076, p, 207e3, cut_out=345e3)) for p in (190e3, 207e3, 300e3, 400e3)]
    assert drawn[0] < drawn[1] > drawn[2] > drawn[3] == 0.0


def test_a_tank_precharged_to_cut_in_is_all_cushion() -> None:
    tank = float(tank_drawdown(0.05, 207e3, 207e3, cut_out=345e3))
    assert tank == pytest.approx(float(cushion_drawdown(0.05, 207e3, 345e3)))
