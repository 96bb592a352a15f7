"""Water level: what it weighs, what the sensor sends, what a volume makes of it.

Inputs are floats or (n,) arrays, the machine first.
"""

from __future__ import annotations

import numpy as np

from tundish.physics.arithmetic import ratio
from tundish.physics.constants import STANDARD_GRAVITY, WATER_DENSITY_20
from tundish.physics.values import Value


def head_pressure(head: Value, density: Value) -> Value:
    """Pressure of a column of liquid, p = rho g h.

    Parameters
    ----------
    head : height of the column, h, [m]
    density : density of the liquid, rho, [kg/m3]

    Returns
    -------
    Pressure, [Pa].

    Range: any height; a negative one gives suction.

    Examples
    --------
    A storey of 3 m, water of 15 degC:

    >>> round(head_pressure(3.0, 999.1))
    29393

    References
    ----------
    Hydrostatics; standard gravity of the 3rd CGPM, 1901.
    """
    return density * STANDARD_GRAVITY.value * head


def pressure_head(pressure: Value, density: Value) -> Value:
    """Height of a column of liquid that makes a pressure, h = p / (rho g).

    Parameters
    ----------
    pressure : pressure, p, [Pa]
    density : density of the liquid, above 0, rho, [kg/m3]

    Returns
    -------
    Height, [m].

    Range: any pressure.

    Examples
    --------
    >>> round(pressure_head(100e3, 998.2), 3)
    10.216

    References
    ----------
    Hydrostatics; standard gravity of the 3rd CGPM, 1901.
    """
    return pressure / (density * STANDARD_GRAVITY.value)


def water_head(level: Value) -> Value:
    """Pressure under a level of water of 20 degC, p = rho g h.

    Parameters
    ----------
    level : height of the water, h, [m]

    Returns
    -------
    Pressure, [Pa]. A negative level gives suction.

    Range: 0-60 degC within 1.5 %.

    Examples
    --------
    >>> round(water_head(0.1))
    979

    References
    ----------
    Hydrostatics; density of Wagner and Pruss, J. Phys. Chem. Ref. Data 31 (2002) 387.
    """
    return head_pressure(level, WATER_DENSITY_20.value)


def level_signal(level: Value, empty: Value, slope: Value) -> Value:
    """Frequency of a level sensor, f = f_empty + slope x h.

    Parameters
    ----------
    level : height of the water at the sensor's chamber, h, [m]
    empty : frequency with no water, f_empty, [Hz]
    slope : change of frequency per metre, negative as a rule, [Hz/m]

    Returns
    -------
    Frequency, [Hz].

    Range: the straight part of the sensor, about 0-0.3 m; no number raises.

    Examples
    --------
    >>> round(level_signal(level=0.1, empty=26e3, slope=-20e3))
    24000

    References
    ----------
    Straight-line model, common practice, no source.
    """
    return empty + slope * level


def volume_level(volume: Value, area: Value, sump: Value = 0.0) -> Value:
    """Height of the water in an upright tub, h = (V - V_sump) / A.

    Parameters
    ----------
    volume : water in the machine, V, [m3]
    area : free area of the tub in plan, A, [m2]
    sump : volume that lies below the level's zero, V_sump, [m3]

    Returns
    -------
    Height, [m]. 0 until the sump is full; infinite where water has no area to stand on, 0 where there is no
    water either.

    Range: upright walls; no number raises.

    Examples
    --------
    >>> round(float(volume_level(volume=12e-3, area=0.1, sump=2e-3)), 3)
    0.1

    References
    ----------
    Geometry.
    """
    # Water fills the sump first and shows no level until it is full.
    above_sump = np.maximum(np.subtract(volume, sump), 0.0)
    return ratio(above_sump, np.maximum(area, 0.0))
