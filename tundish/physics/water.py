"""Liquid water between 0 and 100 degC at house pressures, from correlations for 0.1 MPa.

Inputs are temperatures in kelvin, floats or (n,) arrays, the machine first. A pressure of 1 MPa makes water
0.04 % denser, 0.1 % faster for sound and changes the rest by less, so pressure is left out.
"""

from __future__ import annotations

import numpy as np

from tundish.physics.constants import ICE_POINT
from tundish.physics.errors import check_range
from tundish.physics.values import Value

BOILING = 373.15
"""Upper end of every correlation here, 100 degC [K]."""

# Kell 1975, equation 16, highest power first: numerator [kg/m3] in t [degC], then the denominator's slope.
_KELL = (-280.54253e-12, 105.56302e-9, -46.170461e-6, -7.9870401e-3, 16.945176, 999.83952)
_KELL_SLOPE = 16.879850e-3

# IAPWS SR6-08(2011), table 8: coefficient [uPa s] and exponent of T / 300 K.
_VISCOSITY = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40.0))

# IAPWS SR1-86(1992), equation 1: coefficient and exponent of 1 - T / Tc; critical point below.
_SATURATION = (
    (-7.85951783, 1.0),
    (1.84408259, 1.5),
    (-11.7866497, 3.0),
    (22.6807411, 3.5),
    (-15.9618719, 4.0),
    (1.80122502, 7.5),
)
_CRITICAL_TEMPERATURE = 647.096
_CRITICAL_PRESSURE = 22.064e6

# Bilaniuk and Wong 1993 with the erratum of 1996, 148 points, highest power first, [m/s] in t [degC].
_SOUND = (3.16585020e-9, -1.48259672e-6, 3.34638117e-4, -5.81172916e-2, 5.03836171, 1.40238744e3)

# IAPWS SR6-08(2011), tables 1 and 2: coefficient and exponent of 10 K / (593 K - T), then of
# 10 K / (T - 232 K).
_HEAT_HIGH = ((-1.661470539e5, 4), (2.708781640e6, 5), (-1.557191544e8, 7))
_HEAT_LOW = ((-8.237426256e-1, 2), (1.908956353, 3), (-2.017597384, 4), (8.546361348e-1, 5))
_HEAT_CONSTANT = -8.983025854
_GAS_CONSTANT = 461.51805


def density(temperature: Value) -> Value:
    """Density of water, rho = (a0 + a1 t + ... + a5 t5) / (1 + b t) with t in degC.

    Parameters
    ----------
    temperature : T, [K]

    Returns
    -------
    Density, [kg/m3].

    Raises
    ------
    PhysicsError : outside 273.15-373.15 K.

    Range: 0-100 degC; within 0.001 % at 0.1 MPa, 0.05 % up to 1 MPa.

    Examples
    --------
    >>> round(float(density(293.15)), 2)
    998.2

    References
    ----------
    G. S. Kell, J. Chem. Eng. Data 20 (1975) 97, doi:10.1021/je60064a005.
    """
    # Some copies of this equation swap two digits of the slope (16.897850e-3): 0.06 % off at 80 degC.
    celsius = _celsius(temperature)
    return _horner(_KELL, celsius) / (1 + _KELL_SLOPE * celsius)


def viscosity(temperature: Value) -> Value:
    """Viscosity of water, mu = 1e-6 (a1 x^b1 + ... + a4 x^b4) with x = T / 300 K.

    Parameters
    ----------
    temperature : T, [K]

    Returns
    -------
    Dynamic viscosity, [Pa s].

    Raises
    ------
    PhysicsError : outside 273.15-373.15 K.

    Range: 0-100 degC; within 1 %.

    Examples
    --------
    >>> round(float(viscosity(293.15)) * 1e3, 4)
    1.0016

    References
    ----------
    IAPWS SR6-08(2011), Properties of liquid water at 0.1 MPa; J. Patek et al., J. Phys. Chem. Ref. Data 38
    (2009) 21.
    """
    _check(temperature)
    # One logarithm and four exponentials are several times faster than four powers.
    log = np.log(np.true_divide(temperature, 300.0))
    micro: Value = sum(a * np.exp(b * log) for a, b in _VISCOSITY)
    return micro * 1e-6


def vapour_pressure(temperature: Value) -> Value:
    """Pressure at which water boils.

    ln(p / pc) = Tc / T (a1 x + a2 x^1.5 + a3 x^3 + a4 x^3.5 + a5 x^4 + a6 x^7.5) with x = 1 - T / Tc.

    Parameters
    ----------
    temperature : T, [K]

    Returns
    -------
    Absolute pressure, [Pa].

    Raises
    ------
    PhysicsError : outside 273.15-373.15 K.

    Range: 0-100 degC; within 0.025 %.

    Examples
    --------
    >>> round(float(vapour_pressure(333.15)))
    19947

    References
    ----------
    IAPWS SR1-86(1992); W. Wagner, A. Pruss, J. Phys. Chem. Ref. Data 22 (1993) 783, doi:10.1063/1.555926.
    """
    _check(temperature)
    below = 1 - np.true_divide(temperature, _CRITICAL_TEMPERATURE)
    exponent = sum(a * below**b for a, b in _SATURATION) / (1 - below)
    result: Value = _CRITICAL_PRESSURE * np.exp(exponent)
    return result


def sound_speed(temperature: Value) -> Value:
    """Speed of sound in water, c = k0 + k1 t + ... + k5 t5 with t in degC.

    Parameters
    ----------
    temperature : T, [K]

    Returns
    -------
    Speed, [m/s].

    Raises
    ------
    PhysicsError : outside 273.15-373.15 K.

    Range: 0-100 degC; within 0.03 m/s at 0.1 MPa, 0.1 % higher at 1 MPa.

    Examples
    --------
    >>> round(float(sound_speed(293.15)))
    1482

    References
    ----------
    N. Bilaniuk, G. S. K. Wong, J. Acoust. Soc. Am. 93 (1993) 1609, doi:10.1121/1.406819; erratum 99 (1996)
    3257.
    """
    return _horner(_SOUND, _celsius(temperature))


def heat_capacity(temperature: Value) -> Value:
    """Heat capacity of water, cp = -R (c3 + x (sum n(n+1) a y^(n+2) + sum m(m+1) b z^(m+2))), x = T / 10 K.

    y = 10 K / (593 K - T) and z = 10 K / (T - 232 K).

    Parameters
    ----------
    temperature : T, [K]

    Returns
    -------
    Heat capacity at constant pressure, [J/(kg K)].

    Raises
    ------
    PhysicsError : outside 273.15-373.15 K.

    Range: 0-100 degC; within 0.1 %.

    Examples
    --------
    >>> round(float(heat_capacity(298.15)), 1)
    4181.4

    References
    ----------
    IAPWS SR6-08(2011), Properties of liquid water at 0.1 MPa; J. Patek et al., J. Phys. Chem. Ref. Data 38
    (2009) 21.
    """
    _check(temperature)
    high = np.true_divide(10.0, np.subtract(593.0, temperature))
    low = np.true_divide(10.0, np.subtract(temperature, 232.0))
    curved_high = sum(n * (n + 1) * a * high ** (n + 2) for a, n in _HEAT_HIGH)
    curved_low = sum(n * (n + 1) * b * low ** (n + 2) for b, n in _HEAT_LOW)
    bent = np.true_divide(temperature, 10.0) * (curved_high + curved_low)
    result: Value = -_GAS_CONSTANT * (_HEAT_CONSTANT + bent)
    return result


def bulk_modulus(temperature: Value) -> Value:
    """Stiffness of water against quick pressing, K = rho c2.

    Parameters
    ----------
    temperature : T, [K]

    Returns
    -------
    Isentropic bulk modulus, [Pa].

    Raises
    ------
    PhysicsError : outside 273.15-373.15 K.

    Range: 0-100 degC; water without air.

    Examples
    --------
    >>> round(float(bulk_modulus(293.15)) / 1e9, 2)
    2.19

    References
    ----------
    Newton-Laplace relation; density of Kell 1975 and sound speed of Bilaniuk and Wong 1993.
    """
    return density(temperature) * sound_speed(temperature) ** 2


def expansion(cold: Value, hot: Value) -> Value:
    """Relative growth of a volume of water on heating, dV / V = rho(cold) / rho(hot) - 1.

    Parameters
    ----------
    cold : temperature before, [K]
    hot : temperature after, [K]

    Returns
    -------
    Relative growth, [-].

    Raises
    ------
    PhysicsError : outside 273.15-373.15 K.

    Range: 0-100 degC, free to expand.

    Examples
    --------
    From 60 to 120 degF, in per cent:

    >>> round(float(expansion(288.706, 322.039)) * 100, 2)
    1.06

    References
    ----------
    Conservation of mass; density of G. S. Kell, J. Chem. Eng. Data 20 (1975) 97.
    """
    return density(cold) / density(hot) - 1


def _horner(coefficients: tuple[float, ...], x: Value) -> Value:
    """Polynomial, highest power first."""
    value: Value = coefficients[0]
    for coefficient in coefficients[1:]:
        value = value * x + coefficient
    return value


def _check(temperature: Value) -> None:
    """Refuse what is not liquid water at house pressure."""
    advice = "give the water's temperature in kelvin, 0-100 degC"
    check_range("water temperature", temperature, ICE_POINT.value, high=BOILING, unit="K", advice=advice)


def _celsius(temperature: Value) -> Value:
    """Degrees Celsius of a checked temperature."""
    _check(temperature)
    return temperature - ICE_POINT.value
