"""Thermistors that fall with temperature: the beta law and the three-constant law.

Inputs are floats or (n,) arrays, the machine first. Temperatures in kelvin.
"""

from __future__ import annotations

import numpy as np

from tundish.physics.constants import ROOM_25, THERMISTOR_HIGH, THERMISTOR_LOW
from tundish.physics.values import Value

# e600 is about 1e260: far beyond any sensor, and still a float after it is multiplied by a resistance.
_EXPONENT_LIMIT = 600.0


def beta_law(resistance: Value, beta: Value, temperature: Value, *, reference: Value) -> Value:
    """Resistance by the beta law from a known point, R = R_ref exp(B (1/T - 1/T_ref)).

    Parameters
    ----------
    resistance : resistance at the reference temperature, R_ref, [ohm]
    beta : slope of ln R against 1/T, B, [K]
    temperature : temperature, T, [K]
    reference : the reference temperature, above 0, T_ref, [K]

    Returns
    -------
    Resistance, [ohm]. Temperatures outside -100 to 300 degC count as the nearer end.

    Range: within about 50 K of the reference, 3-4 % off at 75 K below it.

    Examples
    --------
    >>> round(float(beta_law(4700.0, 3950.0, 313.15, reference=298.15)), 0)
    2492.0

    References
    ----------
    J. A. Becker, C. B. Green, G. L. Pearson, Bell System Technical Journal 26 (1947) 170.
    """
    # Held inside the range of beads so that a machine drawn at 0 K cannot overflow the exponential.
    held = np.clip(temperature, THERMISTOR_LOW.value, THERMISTOR_HIGH.value)
    exponent = np.clip(beta * (1 / held - 1 / reference), -_EXPONENT_LIMIT, _EXPONENT_LIMIT)
    result: Value = resistance * np.exp(exponent)
    return result


def thermistor(resistance_25: Value, beta: Value, temperature: Value) -> Value:
    """Resistance of a thermistor by the beta law, R = R25 exp(B (1/T - 1/298.15 K)).

    Parameters
    ----------
    resistance_25 : resistance at 25 degC, R25, [ohm]; infinite for an open sensor
    beta : slope of ln R against 1/T, B, [K]
    temperature : temperature of the bead, T, [K]

    Returns
    -------
    Resistance, [ohm]. Temperatures outside -100 to 300 degC count as the nearer end, so no machine overflows.

    Range: -20 to 110 degC; 3-4 % off at 0 degC for beta given between 25 and 85 degC.

    Examples
    --------
    >>> round(float(thermistor(resistance_25=10e3, beta=3950.0, temperature=313.15)), 0)
    5301.0

    References
    ----------
    J. A. Becker, C. B. Green, G. L. Pearson, Bell System Technical Journal 26 (1947) 170.
    """
    return beta_law(resistance_25, beta, temperature, reference=ROOM_25.value)


def thermistor_temperature(resistance: Value, resistance_25: Value, beta: Value) -> Value:
    """Temperature from a thermistor's resistance by the beta law, 1/T = 1/298.15 K + ln(R/R25)/B.

    Parameters
    ----------
    resistance : resistance read, above 0, R, [ohm]
    resistance_25 : resistance at 25 degC, above 0, R25, [ohm]
    beta : slope of ln R against 1/T, above 0, B, [K]

    Returns
    -------
    Temperature, [K].

    Range: -20 to 110 degC.

    Examples
    --------
    >>> round(float(thermistor_temperature(5301.0, resistance_25=10e3, beta=3950.0)) - 273.15, 1)
    40.0

    References
    ----------
    J. A. Becker, C. B. Green, G. L. Pearson, Bell System Technical Journal 26 (1947) 170.
    """
    result: Value = 1 / (1 / ROOM_25.value + np.log(np.true_divide(resistance, resistance_25)) / beta)
    return result


def beta_from_alpha(alpha: Value, temperature: Value) -> Value:
    """Beta from the fall of resistance at one temperature, B = alpha T2.

    Parameters
    ----------
    alpha : relative fall of resistance per kelvin, positive, [1/K]
    temperature : temperature it is stated for, T, [K]

    Returns
    -------
    Beta, [K].

    Range: any; it follows from the beta law.

    Examples
    --------
    >>> round(beta_from_alpha(alpha=0.044, temperature=278.15), 1)
    3404.2

    References
    ----------
    Derivative of the beta law: dR/dT = -R B / T2.
    """
    return alpha * temperature**2


def steinhart_hart(resistance: Value, constant: float, slope: float, *, cubic: float) -> Value:
    """Temperature by the three-constant law, 1/T = A + B ln R + C (ln R)3.

    Parameters
    ----------
    resistance : resistance read, above 0, R, [ohm]
    constant : A, [1/K]
    slope : B, [1/K]
    cubic : C, [1/K]

    Returns
    -------
    Temperature, [K].

    Range: that of the three points the constants were fitted to; within 0.02 K over 100 K.

    Examples
    --------
    >>> t = steinhart_hart(10e3, 1.12924e-3, 2.34108e-4, cubic=0.87755e-7)
    >>> round(float(t) - 273.15, 2)
    25.0

    References
    ----------
    J. S. Steinhart, S. R. Hart, Deep-Sea Research 15 (1968) 497, doi:10.1016/0011-7471(68)90057-0.
    """
    log = np.log(resistance)
    result: Value = 1 / (constant + slope * log + cubic * log**3)
    return result
