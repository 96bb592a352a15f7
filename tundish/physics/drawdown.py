"""Well tanks: the water an air cushion gives between two pressures.

Inputs are floats or (n,) arrays, the machine first. Pressures are gauge, as a technician reads them.
"""

from __future__ import annotations

import numpy as np

from tundish.physics.constants import ATMOSPHERE
from tundish.physics.values import Value


def tank_drawdown(tank: Value, precharge: Value, cut_in: Value, *, cut_out: Value) -> Value:
    """Water given by a tank with a membrane, V (p0/p1 - p0/p2), absolute pressures, isothermal.

    Parameters
    ----------
    tank : whole volume of the tank, V, [m3]
    precharge : gauge pressure of the air in the empty tank, p0, [Pa]
    cut_in : gauge pressure at which the pump starts, p1, [Pa]
    cut_out : gauge pressure at which the pump stops, p2, [Pa]

    Returns
    -------
    Water between the two pressures, [m3]. Where the air's pressure is above the cut-in the tank is empty
    before the pump starts, so each of the two ratios counts as 1 at most.

    Range: slow draw (isothermal), gauge pressures above -0.1 MPa.

    Examples
    --------
    76 litres with 28 psi of air, switch 30/50 psi, in litres:

    >>> psi = 6894.757
    >>> round(float(tank_drawdown(76e-3, 28 * psi, 30 * psi, cut_out=50 * psi)) * 1e3, 1)
    22.4

    References
    ----------
    R. Boyle, 1662: p V is constant.
    """
    # The law of gases wants absolute pressures; a gauge shows the rest above the air outside.
    air = np.add(precharge, ATMOSPHERE.value)
    at_start = np.minimum(air / np.add(cut_in, ATMOSPHERE.value), 1.0)
    at_stop = np.minimum(air / np.add(cut_out, ATMOSPHERE.value), 1.0)
    result: Value = tank * (at_start - at_stop)
    return result


def cushion_drawdown(air: Value, cut_in: Value, cut_out: Value) -> Value:
    """Water given by a plain tank with air left on top, V_a (1 - p1/p2), absolute pressures, isothermal.

    Parameters
    ----------
    air : volume of the air at the cut-in pressure, V_a, [m3]
    cut_in : gauge pressure at which the pump starts, p1, [Pa]
    cut_out : gauge pressure at which the pump stops, p2, [Pa]

    Returns
    -------
    Water between the two pressures, [m3].

    Range: slow draw (isothermal), gauge pressures above -0.1 MPa.

    Examples
    --------
    3 litres of air, switch 30/50 psi, in litres:

    >>> psi = 6894.757
    >>> round(float(cushion_drawdown(3e-3, 30 * psi, 50 * psi)) * 1e3, 1)
    0.9

    References
    ----------
    R. Boyle, 1662: p V is constant.
    """
    result: Value = air * (1 - np.add(cut_in, ATMOSPHERE.value) / np.add(cut_out, ATMOSPHERE.value))
    return result
