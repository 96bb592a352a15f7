"""Heat and moisture of a dryer: what must hold whatever the constants."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tundish.physics import moist_air
from tundish.physics.drying import air_heat, air_mass, air_rise, drying_time, exhaust_temperature, water_dried

FLOW = 248 / 3600
powers = st.floats(0.0, 8e3)
flows = st.floats(0.01, 0.12)
rooms = st.floats(278.15, 308.15)
humidities = st.floats(0.05, 0.95)


@given(powers, flows, rooms, humidities)
def test_heat_is_conserved(power: float, flow: float, room: float, humidity: float) -> None:
    """The share that touched the load leaves saturated at the wet bulb, the rest as it came; together they hold what the heater gave."""
    air = float(air_mass(flow))
    ambient = float(moist_air.room_humidity(room, humidity))
    out = float(exhaust_temperature(power, flow, room, humidity=humidity))
    given_off = float(water_dried(power, flow, room, humidity=humidity)) / air
    hot = room + power / (air * float(moist_air.heat_capacity(ambient)))
    wet = float(moist_air.wet_bulb(hot, ambient))
    touched = (hot - out) / (hot - wet)
    saturated = ambient + given_off / touched
    mixed = (1 - touched) * moist_air.enthalpy(hot, ambient) + touched * moist_air.enthalpy(wet, saturated)
    # The water comes in as liquid at the wet bulb.
    liquid = 4186.0 * (wet - 273.15) * given_off
    assert float(mixed - moist_air.enthalpy(room, ambient) - liquid) == pytest.approx(
        power / air, rel=1e-6, abs=0.1
    )


@given(flows, rooms, humidities)
def test_more_heat_dries_faster_and_leaves_hotter(flow: float, room: float, humidity: float) -> None:
    power = np.linspace(0.0, 7e3, 15)
    dried = water_dried(power, flow, room, humidity=humidity)
    out = exhaust_temperature(power, flow, room, humidity=humidity)
    assert (np.diff(dried) > 0).all()
    assert (np.diff(out) > 0).all()


def test_no_contact_dries_nothing() -> None:
    assert float(water_dried(5e3, FLOW, 297.15, humidity=0.5, contact=0.0)) == 0.0


def test_full_contact_leaves_at_the_wet_bulb() -> None:
    ambient = moist_air.room_humidity(297.15, 0.5)
    hot = 297.15 + 5400 / (float(air_mass(FLOW)) * float(moist_air.heat_capacity(ambient)))
    out = exhaust_temperature(5400.0, FLOW, 297.15, humidity=0.5, contact=50.0)
    assert float(out) == pytest.approx(float(moist_air.wet_bulb(hot, ambient)), abs=1e-6)


def test_without_heat_the_exhaust_is_below_the_room() -> None:
    assert float(exhaust_temperature(0.0, FLOW, 297.15, humidity=0.5)) < 297.15


def test_rise_and_heat_are_each_others_inverse() -> None:
    assert float(air_heat(FLOW, air_rise(5400.0, FLOW))) == pytest.approx(5400.0)


def test_half_the_air_doubles_the_rise() -> None:
    assert float(air_rise(5400.0, FLOW / 2)) == pytest.approx(2 * float(air_rise(5400.0, FLOW)))


def test_time_is_warm_up_and_water_over_rate() -> None:
    """Down to the critical moisture the rate is steady: 3 kg from 60 to 20 % at 0.1 kg a minute is 12 minutes and 5 of warm-up."""
    assert float(drying_time(0.1, 60.0, 3.0, wet=0.6, dry=0.2)) == pytest.approx(17 * 60)


def test_half_the_rate_doubles_the_time_after_warm_up() -> None:
    fast, slow = (float(drying_time(d, 60.0, 4.0, wet=0.6, dry=0.03)) - 300 for d in (0.1, 0.05))
    assert slow == pytest.approx(2 * fast)


def test_a_dry_load_takes_the_warm_up_only_and_no_drying_never_ends() -> None:
    assert float(drying_time(0.1, 60.0, 4.0, wet=0.02, dry=0.03)) == 300.0
    assert np.isinf(float(drying_time(0.0, 60.0, 4.0, wet=0.6, dry=0.03)))


def test_falling_rate_joins_the_steady_one() -> None:
    """Just above and just below the critical moisture the times agree."""
    above, below = (float(drying_time(0.1, 60.0, 4.0, wet=w, dry=0.03)) for w in (0.2 + 1e-9, 0.2 - 1e-9))
    assert above == pytest.approx(below, rel=1e-6)
