"""Valve coefficients: how much a valve passes at a stated drop.

Inputs are floats or (n,) arrays, the machine first.
"""

from __future__ import annotations

import math

import numpy as np

from tundish.physics.constants import BAR, GALLON, HOUR, MINUTE, PSI, WATER_DENSITY_15, WATER_DENSITY_20
from tundish.physics.values import Value


def kv_from_cv(cv: Value) -> Value:
    """Metric valve coefficient from the US one, Kv = Cv (gal/min per root psi) in (m3/h per root bar).

    Parameters
    ----------
    cv : US coefficient, gallons a minute at 1 psi, [gal/min]

    Returns
    -------
    Metric coefficient, cubic metres an hour at 1 bar, [m3/h].

    Range: any; a change of units.

    Examples
    --------
    >>> round(1 / float(kv_from_cv(1.0)), 4)
    1.1561

    References
    ----------
    IEC 60534-1, Industrial-process control valves, definitions.
    """
    flow = cv * GALLON.value / MINUTE.value * HOUR.value
    # At 1 bar more passes than at 1 psi, by the root of their ratio.
    return flow * math.sqrt(BAR.value / PSI.value)


def valve_flow(kv: Value, drop: Value, density: Value = WATER_DENSITY_20.value) -> Value:
    """Flow through a valve, Q = Kv sqrt(dp / 1 bar x rho_15 / rho), with the sign of the drop.

    Parameters
    ----------
    kv : valve coefficient, [m3/h]
    drop : pressure drop over the valve, dp, [Pa]
    density : density of the liquid, above 0, rho, [kg/m3]

    Returns
    -------
    Flow, [m3/s].

    Range: turbulent, not cavitating, water of 5-40 degC.

    Examples
    --------
    >>> round(float(valve_flow(kv=1.0, drop=1e5, density=999.103)) * 3600, 6)
    1.0

    References
    ----------
    IEC 60534-2-1, Flow capacity, incompressible non-choked flow.
    """
    root = np.sqrt(np.abs(drop) / BAR.value * WATER_DENSITY_15.value / density)
    result: Value = kv / HOUR.value * np.copysign(root, drop)
    return result


def valve_coefficient(flow: Value, drop: Value, density: Value = WATER_DENSITY_20.value) -> Value:
    """Valve coefficient from a flow and a drop, Kv = Q / sqrt(dp / 1 bar x rho_15 / rho).

    Parameters
    ----------
    flow : flow through the valve, Q, [m3/s]
    drop : pressure drop over the valve, above 0, dp, [Pa]
    density : density of the liquid, above 0, rho, [kg/m3]

    Returns
    -------
    Kv, [m3/h].

    Range: turbulent, not cavitating.

    Examples
    --------
    >>> round(float(valve_coefficient(0.1, 460e3, density=965.4)))
    165

    References
    ----------
    IEC 60534-2-1, Flow capacity, incompressible non-choked flow.
    """
    root = np.sqrt(np.true_divide(drop, BAR.value) * WATER_DENSITY_15.value / density)
    result: Value = flow * HOUR.value / root
    return result
