"""Moist air against printed values, an independent library, and a printed example.

Printed: ASHRAE Handbook Fundamentals SI, chapter 1, example 1 (from memory, within its reading of a chart); latent heats and water's
vapour pressure of IAPWS-95. Library: `psychrolib` (Meyer and Thevenard, MIT licence), the Handbook's equations. Figures `by hand` were
worked out with that library outside this project.
"""

from __future__ import annotations

import numpy as np
import psychrolib
import pytest

from tundish.physics import moist_air
from tundish.physics.drying import air_rise

KELVIN = 273.15

# t °C -> vapour pressure [Pa], saturated humidity ratio [g/kg]: by hand with the library, vapour pressure of IAPWS-95 beside it.
SATURATED = {20: (2339, 14.70), 30: (4246, 27.20), 40: (7383, 48.88), 50: (12350, 86.33), 60: (19944, 152.42)}


@pytest.mark.parametrize("celsius", SATURATED)
def test_saturated_air(celsius: int) -> None:
    pressure, grams = SATURATED[celsius]
    found = float(moist_air.saturation(celsius + KELVIN))
    assert found == pytest.approx(pressure, rel=5e-4)
    # The library multiplies by no enhancement factor either.
    assert float(moist_air.humidity_ratio(found)) * 1e3 == pytest.approx(grams, rel=1e-3)


def test_printed_example_of_the_handbook() -> None:
    """40 °C with a wet bulb of 20 °C: W 6.5 g/kg, h 56.7 kJ/kg, 14 %, 0.896 m3/kg, read on the chart."""
    ratio = 6.4e-3
    assert float(moist_air.wet_bulb(313.15, ratio)) - KELVIN == pytest.approx(20.0, abs=0.1)
    assert float(moist_air.enthalpy(313.15, 6.401e-3)) / 1e3 == pytest.approx(56.7, abs=0.1)
    assert float(moist_air.relative_humidity(313.15, ratio)) == pytest.approx(0.14, abs=0.003)
    assert 1 / float(moist_air.dry_air(313.15, ratio)) == pytest.approx(0.896, abs=0.001)


def test_second_state_by_hand() -> None:
    """30 °C with a wet bulb of 20 °C: W 10.517 g/kg, h 57.07, 39.7 %, 0.87331 m3/kg."""
    assert float(moist_air.wet_bulb(303.15, 10.517e-3)) - KELVIN == pytest.approx(20.0, abs=0.01)
    assert float(moist_air.enthalpy(303.15, 10.517e-3)) / 1e3 == pytest.approx(57.07, abs=0.01)
    assert float(moist_air.relative_humidity(303.15, 10.517e-3)) == pytest.approx(0.397, abs=0.001)
    assert 1 / float(moist_air.dry_air(303.15, 10.517e-3)) == pytest.approx(0.87331, rel=1e-4)


@pytest.mark.parametrize(("celsius", "kilojoules"), [(20, 2453.5), (40, 2406.0)])
def test_latent_heat(celsius: int, kilojoules: float) -> None:
    """IAPWS-95 at saturation."""
    assert float(moist_air.latent_heat(celsius + KELVIN)) / 1e3 == pytest.approx(kilojoules, rel=1.5e-3)


@pytest.mark.parametrize(("cfm", "rise"), [(150, 64.8), (75, 129.5)])
def test_rise_over_a_heater(cfm: float, rise: float) -> None:
    """5.4 kW, by hand at 23.9 °C and 50 %, where the flow is counted cold at the inlet: 0.8541 m3/kg."""
    cold = 1 / float(moist_air.dry_air(297.05, 0.00924))
    flow = cfm * 4.719474e-4 / cold / float(moist_air.dry_air(328.15, 0.03))
    # The hand's 1006 J/(kg K) leaves out the vapour, 1.7 %.
    assert float(air_rise(5400.0, flow)) * 1023.2 / 1006 == pytest.approx(rise, rel=0.005)


def test_against_the_library() -> None:
    psychrolib.SetUnitSystem(psychrolib.SI)
    for celsius in (2.0, 10.0, 24.0, 40.0, 60.0, 80.0):
        for relative in (0.05, 0.2, 0.5, 0.8, 1.0):
            ratio = psychrolib.GetHumRatioFromRelHum(celsius, relative, 101325)
            wet = psychrolib.GetTWetBulbFromHumRatio(celsius, ratio, 101325)
            kelvin = celsius + KELVIN
            assert float(moist_air.room_humidity(kelvin, relative)) == pytest.approx(ratio, rel=1e-3)
            assert float(moist_air.relative_humidity(kelvin, ratio)) == pytest.approx(relative, rel=1e-3)
            if wet > 0.1:
                assert float(moist_air.wet_bulb(kelvin, ratio)) - KELVIN == pytest.approx(wet, abs=0.01)
            heat = psychrolib.GetMoistAirEnthalpy(celsius, ratio)
            assert float(moist_air.enthalpy(kelvin, ratio)) == pytest.approx(heat, rel=1e-6)
            volume = psychrolib.GetMoistAirVolume(celsius, ratio, 101325)
            assert 1 / float(moist_air.dry_air(kelvin, ratio)) == pytest.approx(volume, rel=1e-4)


def test_wet_bulb_gives_its_humidity_again() -> None:
    """Adiabatic saturation, put back into its equation, from 15 to 250 °C."""
    for ratio in (0.0, 0.002, 0.0093, 0.03):
        kelvin = np.linspace(288.15, 523.15, 60)
        wet = moist_air.wet_bulb(kelvin, ratio) - KELVIN
        full = moist_air.humidity_ratio(moist_air.saturation(wet + KELVIN))
        dry = kelvin - KELVIN
        again = ((2.501e6 - 2326 * wet) * full - 1006 * (dry - wet)) / (2.501e6 + 1860 * dry - 4186 * wet)
        below = wet > 1e-6
        assert again[below] == pytest.approx(np.minimum(ratio, full[below]), abs=1e-9)


# Viscosity [uPa s] of air at 0.1 MPa: Incropera and DeWitt, Fundamentals of Heat and Mass Transfer, table A.4, from memory.
@pytest.mark.parametrize(
    ("kelvin", "viscosity"), [(250.0, 15.96), (300.0, 18.46), (350.0, 20.82), (400.0, 23.01)]
)
def test_viscosity_of_air(kelvin: float, viscosity: float) -> None:
    assert float(moist_air.viscosity(kelvin)) * 1e6 == pytest.approx(viscosity, rel=0.01)
