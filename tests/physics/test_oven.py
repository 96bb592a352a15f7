"""Oven closed forms: what they must be whatever the numbers, and against an integrator."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from tundish.physics.oven import (
    heat_up_time,
    holding_duty,
    platinum_belief,
    platinum_sensor,
    stall_temperature,
    thermistor_belief,
)
from tundish.physics.thermistor import thermistor

POWERS = st.floats(50, 6000)
LOSSES = st.floats(0.5, 20)
RISES = st.floats(1, 400)


@given(POWERS, LOSSES, RISES)
def test_an_oven_gets_there_only_below_its_stall(power: float, loss: float, rise: float) -> None:
    stalls = float(stall_temperature(power, loss, 295.0)) - 295.0
    assert math.isinf(float(heat_up_time(9e3, loss, power, rise))) == (rise >= stalls)
    assert (float(holding_duty(loss, power, rise)) >= 1) == (rise >= stalls * (1 - 1e-12))


@pytest.mark.parametrize(
    ("power", "loss", "rise"), [(2600.0, 4.5, 153.0), (1300.0, 6.3, 150.0), (2000.0, 4.5, 176.0)]
)
def test_heat_up_agrees_with_an_integrator(power: float, loss: float, rise: float) -> None:
    def there(_: float, over: np.ndarray) -> float:
        return float(over[0] - rise)

    there.terminal = True  # type: ignore[attr-defined]
    run = solve_ivp(
        lambda _, over: (power - loss * over) / 9e3, (0, 2e4), [0.0], events=there, rtol=1e-9, atol=1e-9
    )
    assert float(heat_up_time(9e3, loss, power, rise)) == pytest.approx(float(run.t_events[0][0]), rel=1e-6)


def test_a_small_loss_and_none_agree() -> None:
    assert float(heat_up_time(9e3, 1e-9, 2000.0, 150.0)) == pytest.approx(
        float(heat_up_time(9e3, 0.0, 2000.0, 150.0)), rel=1e-9
    )


def test_more_loss_takes_longer_and_heats_more_of_the_time() -> None:
    loss = np.linspace(1, 12, 30)
    assert (np.diff(heat_up_time(9e3, loss, 2600.0, 153.0)) > 0).all()
    assert (np.diff(holding_duty(loss, 2600.0, 153.0)) > 0).all()


@given(st.floats(275, 820))
def test_platinum_and_back(temperature: float) -> None:
    assert float(platinum_belief(platinum_sensor(500.0, temperature), 500.0)) == pytest.approx(
        temperature, abs=1e-6
    )


@given(st.floats(250, 570))
def test_thermistor_and_back(temperature: float) -> None:
    read = thermistor(100e3, 3950.0, temperature)
    assert float(thermistor_belief(read, 100e3, 3950.0)) == pytest.approx(temperature, abs=1e-6)


def test_broken_sensors_read_the_ends_of_their_curves() -> None:
    assert float(platinum_belief(math.inf, 1000.0)) > 1100
    assert float(platinum_belief(0.0, 1000.0)) < 80
    assert float(thermistor_belief(math.inf, 1e5, 3950.0)) == pytest.approx(173.15)
    assert float(thermistor_belief(0.0, 1e5, 3950.0)) == pytest.approx(573.15)


def test_no_power() -> None:
    assert math.isinf(float(heat_up_time(9e3, 4.5, 0.0, 10.0)))
    assert float(heat_up_time(9e3, 4.5, 0.0, 0.0)) == 0
    assert float(holding_duty(4.5, 0.0, 10.0)) == 1
    assert float(stall_temperature(0.0, 4.5, 295.0)) == 295
