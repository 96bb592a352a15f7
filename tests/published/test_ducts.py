"""Friction in ducts against an independent library and printed figures.

Library: `fluids` (Bell et al., MIT licence), Colebrook solved exactly. Figures in inches of water a hundred feet: worked out with it and
CoolProp's air outside this project. Printed: the dryer duct rule of IRC M1502.4.5.1 (5 ft a mitred elbow), read second-hand.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from tundish.physics.air import DUCT
from tundish.physics.law import passes
from tundish.physics.moist_air import dry_air, viscosity

INCH_WATER, FOOT, CFM = 249.089, 0.3048, 4.719474e-4
# Air temperature °C, cfm -> inches of water in 100 ft of 4 inch duct with 0.09 mm of roughness.
WORKED = {
    (20, 100): 0.605,
    (20, 150): 1.282,
    (20, 200): 2.199,
    (55, 100): 0.558,
    (55, 150): 1.178,
    (55, 200): 2.013,
}


@pytest.mark.parametrize("case", WORKED)
def test_worked_friction_of_a_four_inch_duct(case: tuple[int, int]) -> None:
    celsius, cfm = case
    drop = WORKED[case] * INCH_WATER
    flow = passes(DUCT, drop, length=100 * FOOT, bore=0.1016, temperature=celsius + 273.15)
    # The flow goes with the 0.54th power of the drop, so a per cent here is two there.
    assert float(flow) / CFM == pytest.approx(cfm, rel=0.005)


def test_thirty_five_feet_at_148_cfm() -> None:
    """0.07 m3/s in 10.7 m: 8.6 m/s and 99 Pa, 9.2 Pa/m (worked out by hand with Swamee and Jain at 1.04 kg/m3)."""
    flow = float(passes(DUCT, 99.0, length=10.7, bore=0.1016, temperature=339.0))
    assert flow == pytest.approx(0.07, rel=0.01)
    assert flow / (math.pi / 4 * 0.1016**2) == pytest.approx(8.6, rel=0.01)


@pytest.mark.parametrize("rough", [9e-5, 1e-3])
@pytest.mark.parametrize("bore", [0.1, 0.125, 0.15])
def test_flow_gives_the_librarys_drop(bore: float, rough: float) -> None:
    fluids = pytest.importorskip("fluids", reason="the reference library `fluids` is not installed")
    density, sticky = float(dry_air(328.15)), float(viscosity(328.15))
    for drop in np.logspace(1, 3, 15):
        flow = float(passes(DUCT, drop, length=8.0, bore=bore, fittings=2.0, roughness=rough))
        velocity = flow / (math.pi / 4 * bore**2)
        factor = fluids.friction.Clamond(density * velocity * bore / sticky, rough / bore)
        theirs = (factor * 8.0 / bore + 2.0) * density * velocity**2 / 2
        assert theirs == pytest.approx(drop, rel=1e-5)
