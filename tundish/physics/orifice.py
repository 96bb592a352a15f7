"""Free jets through sharp holes.

Inputs are floats or (n,) arrays, the machine first.
"""

from __future__ import annotations

import numpy as np

from tundish.physics.bore import bore_area
from tundish.physics.constants import JET_DISCHARGE, STANDARD_GRAVITY, WATER_DENSITY_20
from tundish.physics.values import Value


def jet_velocity(head: Value) -> Value:
    """Velocity of a free jet without loss, v = sqrt(2 g h) (Torricelli).

    Parameters
    ----------
    head : height of liquid above the hole, 0 or more, h, [m]

    Returns
    -------
    Velocity, [m/s].

    Range: any height of 0 or more.

    Examples
    --------
    >>> round(float(jet_velocity(1.0)), 4)
    4.4287

    References
    ----------
    E. Torricelli, De motu gravium, 1644.
    """
    result: Value = np.sqrt(2 * STANDARD_GRAVITY.value * head)
    return result


def orifice_jet(
    drop: Value,
    bore: Value,
    discharge: Value = JET_DISCHARGE.value,
    *,
    density: Value = WATER_DENSITY_20.value,
) -> Value:
    """Flow of a free jet through a sharp round hole, Q = Cd A sqrt(2 dp / rho), with the sign of the drop.

    Parameters
    ----------
    drop : pressure drop over the hole, dp, [Pa]
    bore : diameter of the hole, D, [m]
    discharge : coefficient of discharge, Cd, [-]
    density : density of the liquid, above 0, rho, [kg/m3]

    Returns
    -------
    Flow, [m3/s].

    Range: hole much smaller than the pipe, Reynolds number above 10 000.

    Examples
    --------
    4 mm at 35 psi, in litres a minute:

    >>> round(float(orifice_jet(241.3e3, 4e-3)) * 60e3, 2)
    10.11

    References
    ----------
    D. Bernoulli, Hydrodynamica, 1738; coefficient: Kirchhoff 1869, pi / (pi + 2) for a slit.
    """
    # The root of the size with the sign put back lets water run either way.
    velocity = np.sqrt(2 * np.abs(drop) / density)
    result: Value = discharge * bore_area(bore) * np.copysign(velocity, drop)
    return result
