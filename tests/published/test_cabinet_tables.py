"""Tables of a refrigerator-freezer's cabinet, air and defrost, as the trade works with them.

Source: computed tables of the project's trade file on hot and cold appliances, sections on thermistors, heat balance and
defrost. Its constants are common practice, no source: walls 1.5 and 0.9 W/K, doors 8 W, fans and defrost 12 W,
160 W of cold at 24 degC less 0.8 % a kelvin, air 1.73 W/K to the fresh food. Every figure within 5 %, or half of its
last printed digit. Found when reading them: the loads are worked with the fresh food at 4 degC, not at the 3 degC set.

The table of a weak circuit keeps 22 K between the compartments, whatever the freezer does; by the same file's balance
of air the fresh food follows the freezer less. Both are held here, the first as the file has it.
"""

from __future__ import annotations

import numpy as np
import pytest

from tundish.physics.arithmetic import ratio
from tundish.physics.cabinet import (
    cabinet_load,
    compartment_temperature,
    cooling_capacity,
    freezer_temperature,
    passed_conductance,
    running_share,
)
from tundish.physics.constants import ICE_POINT
from tundish.physics.frost import defrost_time, ice_pressure, leak_frost, leak_heat
from tundish.physics.heating import element_resistance
from tundish.physics.thermistor import thermistor

C0 = ICE_POINT.value
ROOM, FRESH, FREEZER = C0 + 24, C0 + 4, C0 - 18
WALLS = {"walls_fresh": 1.5, "walls_freezer": 0.9}
AIR = 1.73
M3_PER_HOUR = 1 / 3600


def load(room: float = ROOM, fresh: float = FRESH, freezer: float = FREEZER, more: float = 0.0) -> float:
    return float(cabinet_load(room, fresh, freezer, **WALLS, gain=20.0 + more))


@pytest.mark.parametrize(
    ("celsius", "watts", "duty"),
    [(10, 54, 0.30), (16, 69, 0.40), (24, 88, 0.55), (32, 107, 0.71), (38, 121, 0.85)],
)
def test_load_and_duty_by_the_room(celsius: float, watts: float, duty: float) -> None:
    found = load(room=C0 + celsius)
    assert found == pytest.approx(watts, rel=0.05)
    # At 10 degC the printed duty rests on a load rounded down.
    assert float(running_share(found, cooling_capacity(160.0, C0 + celsius))) == pytest.approx(duty, rel=0.05)


@pytest.mark.parametrize(("left", "duty"), [(0.8, 0.69), (0.6, 0.91)])
def test_a_fouled_condenser(left: float, duty: float) -> None:
    assert float(running_share(load(), 160.0 * left)) == pytest.approx(duty, rel=0.05)


@pytest.mark.parametrize(
    ("leak", "watts", "grams", "duty"),
    [(0.5, 11, 122, 0.62), (1, 22, 244, 0.69), (2, 44, 488, 0.82), (4, 88, 976, 1.10)],
)
def test_a_leaking_door(leak: float, watts: float, grams: float, duty: float) -> None:
    """Room at 24 degC and 50 %. The last row is more than the circuit can do."""
    heat = float(leak_heat(leak * M3_PER_HOUR, ROOM, FREEZER, 0.5))
    assert heat == pytest.approx(watts, rel=0.05)
    assert float(leak_frost(leak * M3_PER_HOUR, ROOM, FREEZER, 0.5)) * 1e3 == pytest.approx(grams, rel=0.05)
    assert float(ratio(load(more=heat), 160.0)) == pytest.approx(duty, rel=0.05)


@pytest.mark.parametrize(
    ("share", "celsius"), [(1, 4.0), (0.75, 7.4), (0.5, 12), (0.35, 15.7), (0.2, 20.5), (0.1, 24.4)]
)
def test_fresh_food_by_its_air(share: float, celsius: float) -> None:
    """The freezer still cold: split readings are a matter of air."""
    found = compartment_temperature(1.5, ROOM, AIR * share, FREEZER, 8.0)
    assert float(found) - C0 == pytest.approx(celsius, abs=0.15)


@pytest.mark.parametrize(("watts", "rise"), [(15, 4.6), (80, 25)])
def test_a_lamp_that_stays_on(watts: float, rise: float) -> None:
    dark, lit = (compartment_temperature(1.5, ROOM, AIR, FREEZER, 8.0 + w) for w in (0.0, watts))
    assert float(lit) - float(dark) == pytest.approx(rise, rel=0.02)


@pytest.mark.parametrize(("watts", "freezer", "fresh"), [(96, -21, 1), (60, -6, 16), (40, 2, 24)])
def test_a_weak_circuit_with_22_kelvin_between_the_compartments(
    watts: float, freezer: float, fresh: float
) -> None:
    """Held far below, so that the circuit is the limit; both walls then follow the freezer."""
    held, apart = C0 - 40, 22.0
    found = freezer_temperature(
        held, load(fresh=held + apart, freezer=held), 2.4, capacity=watts, coil=1e6, evaporator=C0 - 60
    )
    assert float(found) - C0 == pytest.approx(freezer, abs=0.6)
    assert float(found) + apart - C0 == pytest.approx(fresh, abs=0.6)


def test_a_weak_circuit_by_the_balance_of_air() -> None:
    """60 W: worked by hand from the same constants, 37.17 - 1.7034 t = 40 for the freezer at t degC."""
    held = compartment_temperature(1.5, ROOM, AIR, FREEZER, 8.0)
    slope = 0.9 + passed_conductance(1.5, AIR)
    found = freezer_temperature(
        FREEZER, load(fresh=float(held)), slope, capacity=60.0, coil=17.3, evaporator=C0 - 30
    )
    assert float(found) - C0 == pytest.approx(-1.66, abs=0.02)
    assert float(compartment_temperature(1.5, ROOM, AIR, found, 8.0)) - C0 == pytest.approx(12.73, abs=0.02)


@pytest.mark.parametrize(
    ("ice", "power", "minutes"), [(0.2, 400, 7.5), (0.5, 400, 15), (1.0, 400, 28), (0.5, 180, 34)]
)
def test_time_of_a_defrost(ice: float, power: float, minutes: float) -> None:
    assert float(defrost_time(ice, power)) / 60 == pytest.approx(minutes, rel=0.05)


@pytest.mark.parametrize(
    ("watts", "volts", "ohms"), [(400, 115, 33), (500, 120, 29), (180, 230, 294), (400, 230, 132)]
)
def test_resistance_of_defrost_heaters(watts: float, volts: float, ohms: float) -> None:
    assert float(element_resistance(watts, volts)) == pytest.approx(ohms, rel=0.01)


@pytest.mark.parametrize(
    ("kohm_25", "beta", "celsius", "kohm"),
    [
        (5, 3840, 0, 16.3), (5, 3840, 4, 13.3), (5, 3840, -18, 43.8), (10, 3950, 0, 33.6), (10, 3950, 4, 27.3), (10, 3950, -18, 93.3),
        (2.7, 3980, 0, 9.2), (2.7, 3980, -18, 25.6),
    ],
)  # fmt: skip
def test_cold_thermistors(kohm_25: float, beta: float, celsius: float, kohm: float) -> None:
    """The 2.7 k type is printed without its beta; 3980 K comes from its two points."""
    assert float(thermistor(kohm_25 * 1e3, beta, C0 + celsius)) / 1e3 == pytest.approx(kohm, rel=0.01)


@pytest.mark.parametrize(("celsius", "pascal"), [(-10, 259.9), (-20, 103.26), (-30, 38.01)])
def test_vapour_over_ice(celsius: float, pascal: float) -> None:
    """Saturation over ice: CRC Handbook of Chemistry and Physics, vapor pressure of ice, from memory."""
    assert float(ice_pressure(np.float64(C0 + celsius))) == pytest.approx(pascal, rel=0.005)
