"""Oven heat and sensor tables of the trade against `tundish.physics.oven`.

Sensor figures: IEC 60751. Oven figures: worked out by hand for a lumped oven of 9.0 kJ/K and 4.5 W/K (the constants are common practice,
no source), room 24 degC. Printed to the minute's tenth, the ohm, the kelvin or the hundredth.
"""

from __future__ import annotations

import math

import numpy as np
from printed import C0, Case, check, each, relative

from tundish.physics.heating import heating_power
from tundish.physics.oven import (
    heat_up_time,
    holding_duty,
    platinum_belief,
    platinum_sensor,
    stall_temperature,
    thermistor_belief,
)
from tundish.physics.platinum import platinum_resistance
from tundish.physics.thermistor import thermistor

HEAT, LOSS, ROOM = 9e3, 4.5, 24.0
BY_HAND = "lumped oven by hand, constants common practice, no source"


def minutes(power: float, to: float, loss: float = LOSS) -> float:
    """Preheat from the room, [min]."""
    return float(heat_up_time(HEAT, loss, power, to - ROOM)) / 60


# The table prints 10.3 to 177, 12.1 to 200, half 25, quarter never; the European figures are rounded to the minute.
OVEN = [
    relative("2600 W to 177", BY_HAND, lambda: minutes(2600, 177), 10.3, 0.02),
    relative("2600 W to 200", BY_HAND, lambda: minutes(2600, 200), 12.1, 0.02),
    relative(
        "240 V element at 208 V",
        BY_HAND,
        lambda: minutes(float(heating_power(208.0, 240.0**2 / 2600)), 177),
        14.5,
        0.02,
    ),
    relative("half the elements", BY_HAND, lambda: minutes(1300, 177), 25, 0.02),
    relative("bake and broil, 5 kW", BY_HAND, lambda: minutes(5000, 177), 4.9, 0.04),
    relative("door gap, loss up by 40 %", BY_HAND, lambda: minutes(2600, 177, 1.4 * LOSS), 11.0, 0.02),
    relative("2 kW to 200", BY_HAND, lambda: minutes(2000, 200), 17, 0.05),
    relative(
        "2 kW at 207 V", BY_HAND, lambda: minutes(float(heating_power(207.0, 230.0**2 / 2000)), 200), 22, 0.05
    ),
    Case("stall at 650 W", BY_HAND, lambda: stall_temperature(650.0, LOSS, ROOM + C0) - C0, 168, 0.5),
    Case("duty at 177", BY_HAND, lambda: holding_duty(LOSS, 2600.0, 153.0), 0.26, 0.006),
    Case("duty with a door gap", BY_HAND, lambda: holding_duty(1.4 * LOSS, 2600.0, 153.0), 0.37, 0.006),
    relative("loss at 177", BY_HAND, lambda: LOSS * 153.0, 690, 0.005),
]

IEC = "IEC 60751 equation, printed to the ohm"
SENSOR = [
    Case(f"Pt1000 at {t}", IEC, lambda t=t: platinum_sensor(1000.0, t + C0), ohms, 0.51)
    for t, ohms in (
        (0, 1000), (20, 1078), (22, 1086), (25, 1097), (100, 1385), (177, 1674), (200, 1759), (260, 1977), (480, 2743),
    )
]  # fmt: skip
NTC = "beta law, 100 kohm at 25 degC, from memory"
NEGATIVE = [
    relative(f"NTC at {t}", NTC, lambda t=t: thermistor(100e3, 3950.0, t + C0), ohms, 0.03)
    for t, ohms in ((40, 53e3), (150, 2000.0), (200, 750.0))
]


def runs_cold_by(series: float) -> float:
    """How much too warm the control believes a platinum oven at 177 degC with a resistance in the connector, [K]."""
    return float(platinum_belief(platinum_sensor(1000.0, 177 + C0) + series, 1000.0)) - 177 - C0


def leaky(ohms: float, leak: float) -> float:
    """A sensor with a leak across it, [ohm]."""
    return ohms * leak / (ohms + leak)


def held_with_leak(leak: float) -> float:
    """Temperature a platinum oven set to 177 degC really holds with a leak across its sensor, [degC]."""
    seen = float(platinum_sensor(1000.0, 177 + C0))
    return float(platinum_belief(1 / (1 / seen - 1 / leak), 1000.0)) - C0


CONNECTOR = "slope 3.70 ohm a kelvin at 177 degC by IEC 60751, worked out by hand"
BELIEF = [
    Case("10 ohm", CONNECTOR, lambda: runs_cold_by(10), 2.7, 0.06),
    Case("20 ohm", CONNECTOR, lambda: runs_cold_by(20), 5.4, 0.06),
    Case("60 ohm", CONNECTOR, lambda: runs_cold_by(60), 16, 0.5),
    Case("20 kohm leak", CONNECTOR, lambda: held_with_leak(20e3), 218.5, 1.0),
    Case(
        "20 kohm leak, read at 22",
        CONNECTOR,
        lambda: leaky(platinum_sensor(1000.0, 22 + C0), 20e3),
        1030,
        1.0,
    ),
]


@each(OVEN, SENSOR, NEGATIVE, BELIEF)
def test_oven_tables(case: Case) -> None:
    check(case)


def test_a_quarter_of_the_power_never_reaches_177() -> None:
    assert math.isinf(minutes(650, 177))


def test_series_and_leak_act_the_other_way_on_a_thermistor() -> None:
    """Series resistance: platinum is believed too warm, a thermistor too cold. A leak: the other way round."""
    for temperature in np.array([22.0, 177.0]) + C0:
        platinum = float(platinum_resistance(temperature, 1000.0))
        negative = float(thermistor(100e3, 3950.0, temperature))
        assert float(platinum_belief(platinum + 20, 1000.0)) > temperature
        assert float(thermistor_belief(negative + 20, 100e3, 3950.0)) < temperature
        assert float(platinum_belief(leaky(platinum, 20e3), 1000.0)) < temperature
        assert float(thermistor_belief(leaky(negative, 20e3), 100e3, 3950.0)) > temperature
