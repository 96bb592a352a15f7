"""Mixing hot and cold water, and the water that stands in the pipe.

Inputs are floats or (n,) arrays, the machine first.
"""

from __future__ import annotations

import numpy as np

from tundish.physics.arithmetic import ratio
from tundish.physics.values import Value


def mixed_temperature(
    hot_volume: Value, hot: Value, cold_volume: Value, *, cold: Value, dead_volume: Value = 0.0, dead: Value
) -> Value:
    """Temperature of a tub filled from two lines.

    T = (V_d T_d + (V_h - V_d) T_h + V_c T_c) / (V_h + V_c).
    The water that stood in the hot pipe (the dead leg) comes out of the hot tap first, so it is part of the
    hot volume.

    Parameters
    ----------
    hot_volume : volume taken from the hot line, V_h, [m3]
    hot : temperature of the hot water at its source, T_h, [K]
    cold_volume : volume taken from the cold line, V_c, [m3]
    cold : temperature of the cold water, T_c, [K]
    dead_volume : volume standing in the hot pipe, V_d, [m3]
    dead : temperature of the standing water, T_d, [K]

    Returns
    -------
    Temperature of the mix, [K]. A dead leg longer than the fill counts only as far as it is drawn. Volumes
    below 0 count as 0. Where nothing at all is drawn the answer is the cold temperature.

    Range: liquid water 0-100 degC; equal heat capacity of both waters, good to 0.02 K.

    Examples
    --------
    4 + 4 litres, hot 52, cold 12, and 1.5 litres of 20 degC in the pipe:

    >>> t = mixed_temperature(4e-3, 325.15, 4e-3, cold=285.15, dead_volume=1.5e-3, dead=293.15)
    >>> round(float(t) - 273.15, 2)
    26.0

    References
    ----------
    Conservation of energy; the rule of mixtures, G. W. Richmann, Novi Comment. Acad. Sci. Petropol. 1 (1750)
    152.
    """
    from_hot = np.maximum(hot_volume, 0.0)
    from_cold = np.maximum(cold_volume, 0.0)
    stood = np.clip(dead_volume, 0.0, from_hot)
    # Heat is counted from the cold water's temperature, so that an empty tub gives just that.
    above_cold = stood * np.subtract(dead, cold) + (from_hot - stood) * np.subtract(hot, cold)
    result: Value = cold + ratio(above_cold, from_hot + from_cold)
    return result


def hot_share(mixed: Value, hot: Value, cold: Value) -> Value:
    """Share of hot water in a mix, x = (T_m - T_c) / (T_h - T_c).

    Parameters
    ----------
    mixed : temperature of the mix, T_m, [K]
    hot : temperature of the hot water, T_h, [K]
    cold : temperature of the cold water, T_c, [K]

    Returns
    -------
    Share of hot, [-]. Outside 0 ... 1 the mix cannot have come from these two alone. 0 where hot equals cold
    and mix.

    Range: liquid water 0-100 degC, hot above cold.

    Examples
    --------
    >>> float(hot_share(mixed=303.15, hot=328.15, cold=288.15))
    0.375

    References
    ----------
    Conservation of energy; the rule of mixtures, G. W. Richmann, Novi Comment. Acad. Sci. Petropol. 1 (1750)
    152.
    """
    return ratio(np.subtract(mixed, cold), np.subtract(hot, cold))
