"""Water between 0 and 100 degC: ranges, arrays, and published points that are not in the check list."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest

from tundish.physics import water
from tundish.physics.errors import PhysicsError
from tundish.physics.values import Value

PROPERTIES = (
    water.density,
    water.viscosity,
    water.vapour_pressure,
    water.sound_speed,
    water.heat_capacity,
    water.bulk_modulus,
)
Property = Callable[[Value], Value]


@pytest.mark.parametrize("prop", PROPERTIES, ids=lambda prop: prop.__name__)
def test_an_array_gives_what_its_machines_give(prop: Property) -> None:
    temperatures = np.linspace(273.15, 373.15, 11)
    together = np.asarray(prop(temperatures))
    assert together.tolist() == pytest.approx([float(prop(float(one))) for one in temperatures], rel=1e-13)


@pytest.mark.parametrize("prop", PROPERTIES, ids=lambda prop: prop.__name__)
@pytest.mark.parametrize("wrong", [273.0, 374.0, 20.0, -5.0, float("nan"), float("inf")])
def test_what_is_not_liquid_is_refused(prop: Property, wrong: float) -> None:
    with pytest.raises(PhysicsError, match=r"water temperature \S+ K is outside 273.15 ... 373.15 K: give"):
        prop(wrong)


def test_one_wrong_machine_is_named() -> None:
    with pytest.raises(PhysicsError, match="water temperature 400 K"):
        water.density(np.array([290.0, 400.0, 300.0]))


def test_water_is_densest_near_four_degrees() -> None:
    # 3.98 degC: M. Tanaka et al., Metrologia 38 (2001) 301.
    celsius = np.linspace(0, 10, 10001)
    densest = celsius[np.argmax(water.density(celsius + 273.15))]
    assert densest == pytest.approx(3.98, abs=0.05)


def test_iapws_points_at_25_degrees() -> None:
    # IAPWS SR6-08(2011), table of check values at 298.15 K, from memory.
    assert float(water.viscosity(298.15)) == pytest.approx(889.996774e-6, rel=1e-8)
    assert float(water.heat_capacity(298.15)) == pytest.approx(4181.44618, rel=1e-8)
    assert float(water.sound_speed(298.15)) == pytest.approx(1496.69922, rel=1e-4)


def test_saturation_points_of_wagner_and_pruss() -> None:
    # J. Phys. Chem. Ref. Data 22 (1993) 783, table 1, from memory: triple point and normal boiling point.
    assert float(water.vapour_pressure(273.16)) == pytest.approx(611.657, rel=1e-5)
    assert float(water.vapour_pressure(373.1243)) == pytest.approx(101325.0, rel=1e-5)


def test_heating_and_cooling_undo_each_other() -> None:
    grown = 1 + float(water.expansion(288.0, 333.0))
    shrunk = 1 + float(water.expansion(333.0, 288.0))
    assert grown * shrunk == pytest.approx(1.0, rel=1e-14)
    assert grown > 1
