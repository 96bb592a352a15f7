"""Copper: windings and conductors against temperature.

Inputs are floats or (n,) arrays, the machine first. Temperatures in kelvin.
"""

from __future__ import annotations

import numpy as np

from tundish.physics.constants import AWG_36, AWG_RATIO, COPPER_INTERCEPT, COPPER_RESISTIVITY_20, ROOM_20
from tundish.physics.values import Value


def copper_factor(temperature: Value) -> Value:
    """Resistance of copper against that at 20 degC, k = (234.5 + t) / 254.5 with t in degC.

    Parameters
    ----------
    temperature : temperature of the copper, T, [K]

    Returns
    -------
    Factor, [-]. 0 at and below -234.5 degC, where the straight line ends.

    Range: -50 to 200 degC.

    Examples
    --------
    >>> round(float(copper_factor(333.15)), 3)
    1.157

    References
    ----------
    IEC 60228, annex on temperature correction; IEC 60034-1 clause 8.6 (which rounds 234.5 to 235).
    """
    line = np.subtract(temperature, COPPER_INTERCEPT.value) / (ROOM_20.value - COPPER_INTERCEPT.value)
    factor: Value = np.maximum(line, 0.0)
    return factor


def winding_resistance(resistance_20: Value, temperature: Value) -> Value:
    """Resistance of a copper winding at a temperature, R = R20 (234.5 + t) / 254.5 with t in degC.

    Parameters
    ----------
    resistance_20 : resistance at 20 degC, R20, [ohm]; infinite for an open winding
    temperature : temperature of the winding, T, [K]

    Returns
    -------
    Resistance, [ohm]. An open winding stays infinite above -234.5 degC; colder than that counts as just above
    it.

    Range: -50 to 200 degC.

    Examples
    --------
    >>> round(float(winding_resistance(resistance_20=1000.0, temperature=313.15)), 1)
    1078.6

    References
    ----------
    IEC 60228, annex on temperature correction; IEC 60034-1 clause 8.6 (which rounds 234.5 to 235).
    """
    # The smallest float instead of 0 keeps infinity times the factor infinite.
    return resistance_20 * np.maximum(copper_factor(temperature), np.finfo(float).tiny)


def winding_temperature(cold_resistance: Value, hot_resistance: Value, cold_temperature: Value) -> Value:
    """Temperature of a winding from two resistances, t2 = (R2 / R1) (234.5 + t1) - 234.5 with t in degC.

    Parameters
    ----------
    cold_resistance : resistance at the known temperature, above 0, R1, [ohm]
    hot_resistance : resistance at the temperature sought, R2, [ohm]
    cold_temperature : the known temperature, T1, [K]

    Returns
    -------
    Temperature sought, [K].

    Range: -50 to 200 degC.

    Examples
    --------
    80 ohm at 20 degC and 100 ohm after four hours is a rise of

    >>> round(winding_temperature(80.0, 100.0, 293.15) - 293.15, 1)
    63.6

    References
    ----------
    IEC 60034-1 clause 8.6, with 234.5 instead of 235.
    """
    above_intercept = cold_temperature - COPPER_INTERCEPT.value
    return COPPER_INTERCEPT.value + hot_resistance / cold_resistance * above_intercept


def gauge_diameter(gauge: Value) -> Value:
    """Diameter of a wire of American gauge n, d = 0.127 mm x 92^((36 - n) / 39).

    Parameters
    ----------
    gauge : gauge number n; 00 is -1, 000 is -2, 0000 is -3, [-]

    Returns
    -------
    Diameter, [m].

    Range: gauges -3 to 40, solid round wire.

    Examples
    --------
    >>> round(gauge_diameter(12) * 1e3, 3)
    2.053

    References
    ----------
    ASTM B258, Standard specification for standard nominal diameters of solid round wires.
    """
    diameter: Value = AWG_36.value * AWG_RATIO.value ** (36 - gauge)
    return diameter


def conductor_resistance(length: Value, area: Value, temperature: Value) -> Value:
    """Resistance of a copper conductor, R = rho20 k(T) L / A.

    Parameters
    ----------
    length : length of conductor, there and back for a pair, L, [m]
    area : cross-section, above 0, A, [m2]
    temperature : temperature of the conductor, T, [K]

    Returns
    -------
    Resistance, [ohm].

    Range: direct current and mains frequency to about 10 mm2; -50 to 200 degC. Stranding adds about 2 %.

    Examples
    --------
    >>> round(float(conductor_resistance(length=100.0, area=1.5e-6, temperature=293.15)), 3)
    1.149

    References
    ----------
    IEC 60028:1925, International standard of resistance for copper; IEC 60228.
    """
    return COPPER_RESISTIVITY_20.value * copper_factor(temperature) * length / area
