"""Platinum resistance thermometers (Callendar-Van Dusen).

Inputs are floats or (n,) arrays, the machine first. Temperatures in kelvin.
"""

from __future__ import annotations

import numpy as np

from tundish.physics.constants import (
    ICE_POINT,
    PLATINUM_A,
    PLATINUM_B,
    PLATINUM_C,
    PLATINUM_HIGH,
    PLATINUM_LOW,
)
from tundish.physics.errors import check_range
from tundish.physics.values import Value

PT100 = 100.0
"""Resistance at 0 degC of the usual thermometer, exact by its name [ohm]."""


def platinum_resistance(temperature: Value, resistance_0: float = PT100) -> Value:
    """Resistance of a platinum thermometer, R = R0 (1 + A t + B t2 + C (t - 100) t3).

    t is in degC, and C counts only below 0 degC.

    Parameters
    ----------
    temperature : temperature of the sensor, T, [K]
    resistance_0 : resistance at 0 degC, R0, [ohm]

    Returns
    -------
    Resistance, [ohm].

    Raises
    ------
    PhysicsError : outside -200 to 850 degC.

    Range: -200 to 850 degC.

    Examples
    --------
    >>> round(float(platinum_resistance(373.15)), 2)
    138.51

    References
    ----------
    IEC 60751:2008, Industrial platinum resistance thermometers, clause 4.
    """
    low, high = PLATINUM_LOW.value, PLATINUM_HIGH.value
    advice = "give the sensor's temperature in kelvin, -200 to 850 degC"
    check_range("sensor temperature", temperature, low, high=high, unit="K", advice=advice)
    return resistance_0 * _ratio(np.subtract(temperature, ICE_POINT.value))


def platinum_temperature(resistance: Value, resistance_0: float = PT100) -> Value:
    """Temperature from a platinum thermometer's resistance, the inverse of `platinum_resistance`.

    The quadratic's root, bettered by Newton's steps below 0 degC.

    Parameters
    ----------
    resistance : resistance read, R, [ohm]
    resistance_0 : resistance at 0 degC, R0, [ohm]

    Returns
    -------
    Temperature, [K].

    Raises
    ------
    PhysicsError : outside 0.185-3.905 times the resistance at 0 degC, which the curve does not reach.

    Range: -200 to 850 degC.

    Examples
    --------
    >>> round(float(platinum_temperature(119.40)) - 273.15, 2)
    50.01

    References
    ----------
    IEC 60751:2008, Industrial platinum resistance thermometers, clause 4.
    """
    # The table's ends are 18.52 and 390.48 ohm; rounded outward, so that a printed or read end is taken.
    low, high = 0.185 * resistance_0, 3.905 * resistance_0
    advice = "check the leads, an open or shorted sensor has no temperature"
    check_range("sensor resistance", resistance, low, high=high, unit="ohm", advice=advice)
    return ICE_POINT.value + _celsius(np.true_divide(resistance, resistance_0))


def _ratio(celsius: Value) -> Value:
    """R / R0 at a temperature in degC."""
    below = np.minimum(celsius, 0.0)
    quadratic = 1 + celsius * (PLATINUM_A.value + PLATINUM_B.value * celsius)
    # The boiling point is where the quartic term is written to vanish.
    result: Value = quadratic + PLATINUM_C.value * (below - 100) * below**3
    return result


def _celsius(ratio: Value) -> Value:
    """Temperature in degC at R / R0."""
    a, b, c = PLATINUM_A.value, PLATINUM_B.value, PLATINUM_C.value
    celsius: Value = (-a + np.sqrt(a * a - 4 * b * (1 - ratio))) / (2 * b)
    # At and above 0 degC the root is exact; at -200 degC it is 2.4 K off, and Newton doubles the digits.
    for _ in range(4):
        below = np.minimum(celsius, 0.0)
        slope = a + 2 * b * celsius + c * below**2 * (4 * below - 300)
        celsius = celsius - (_ratio(celsius) - ratio) / slope
    return celsius
