"""Moist air at house pressure: humidity, heat, density, viscosity, wet bulb.

Symbols: W humidity ratio, water by dry air [-]; e vapour pressure [Pa]; T temperature [K]; Tw wet bulb [K]. Inputs are
floats or (n,) arrays, the machine first. Nothing here raises on the odd machine: what is colder than ice or hotter
than boiling water counts as the nearer end where only liquid water has the property.
"""

from __future__ import annotations

import numpy as np

from tundish.physics import water
from tundish.physics.constants import ATMOSPHERE, ICE_POINT
from tundish.physics.values import Value

DRY_GAS = 287.042
"""Gas constant of dry air [J/(kg K)]; ASHRAE Handbook Fundamentals 2017, chapter 1, equation 1."""

WEIGHT_RATIO = 0.621945
"""Molar mass of water over that of dry air [-]; ASHRAE Handbook Fundamentals 2017, chapter 1, equation 20."""

# ASHRAE Handbook Fundamentals 2017, chapter 1, equations 30 to 33, in J/kg and degC.
_AIR_HEAT, _VAPOUR_HEAT, _WATER_HEAT = 1006.0, 1860.0, 4186.0
_LATENT, _LATENT_SLOPE = 2.501e6, 2326.0
# Newton's start and the range of wet bulbs asked for; ten rounds settle within 1e-9 K from any start.
_MILD, _HOTTEST = 310.0, 370.0
_ROUNDS = 10
# Sutherland's law of air: viscosity at the ice point [Pa s] and constant [K]; F. M. White, Viscous Fluid Flow, from memory.
_VISCOSITY, _SUTHERLAND = 1.716e-5, 110.4


def saturation(temperature: Value) -> Value:
    """Pressure of water vapour over water, e_s.

    Parameters
    ----------
    temperature : T, [K]

    Returns
    -------
    Pressure, [Pa]. Outside 0-100 degC as at the nearer end.

    Range: 0-100 degC; within 0.1 %.

    Examples
    --------
    >>> round(float(saturation(293.15)))
    2339

    References
    ----------
    IAPWS SR1-86(1992), by `water.vapour_pressure`.
    """
    # As an array even for one machine: a lone number takes another road through `**` and differs in its last digit.
    within = np.clip(np.atleast_1d(temperature), ICE_POINT.value, water.BOILING)
    result: Value = np.reshape(water.vapour_pressure(within), np.shape(temperature))[()]
    return result


def humidity_ratio(pressure: Value) -> Value:
    """Water by dry air, W = 0.622 e / (p - e).

    Parameters
    ----------
    pressure : vapour pressure e, [Pa]

    Returns
    -------
    W, [-]. The pressure counts as between 0 and 99 % of the atmosphere.

    Range: sea level; at 1500 m W is a fifth larger.

    Examples
    --------
    Saturated at 20 degC, grams a kilogram:

    >>> round(float(humidity_ratio(2339.0)) * 1e3, 1)
    14.7

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, chapter 1, equation 20.
    """
    vapour = np.clip(pressure, 0.0, 0.99 * ATMOSPHERE.value)
    result: Value = WEIGHT_RATIO * vapour / (ATMOSPHERE.value - vapour)
    return result


def relative_humidity(temperature: Value, ratio: Value) -> Value:
    """Share of the vapour that the air could hold, e / e_s.

    Parameters
    ----------
    temperature : T, [K]
    ratio : W, [-]

    Returns
    -------
    Relative humidity, [-]; above 1 where fog would form. W below 0 counts as 0.

    Range: 0-100 degC, sea level.

    Examples
    --------
    >>> round(float(relative_humidity(297.05, 0.00924)), 2)
    0.5

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, chapter 1, equations 12 and 20.
    """
    water_by_air = np.maximum(ratio, 0.0)
    vapour = ATMOSPHERE.value * water_by_air / (WEIGHT_RATIO + water_by_air)
    result: Value = vapour / saturation(temperature)
    return result


def room_humidity(temperature: Value, relative: Value) -> Value:
    """Humidity ratio of a room.

    Parameters
    ----------
    temperature : T, [K]
    relative : relative humidity, 0 ... 1, [-]

    Returns
    -------
    W, [-].

    Range: 0-100 degC, sea level.

    Examples
    --------
    23.9 degC and 50 %, the room of the test procedure, grams a kilogram:

    >>> round(float(room_humidity(297.05, 0.5)) * 1e3, 2)
    9.24

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, chapter 1, equations 12 and 20; room of 10 CFR 430 subpart B, appendix D2.
    """
    return humidity_ratio(np.clip(relative, 0.0, 1.0) * saturation(temperature))


def enthalpy(temperature: Value, ratio: Value) -> Value:
    """Heat of moist air by dry air over 0 degC, h = 1006 t + W (2.501e6 + 1860 t).

    Parameters
    ----------
    temperature : T, [K]
    ratio : W, [-]

    Returns
    -------
    h, [J/kg].

    Range: 0-150 degC.

    Examples
    --------
    >>> round(float(enthalpy(303.15, 0.010517)) / 1e3, 2)
    57.07

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, chapter 1, equation 30.
    """
    celsius = np.subtract(temperature, ICE_POINT.value)
    result: Value = _AIR_HEAT * celsius + ratio * (_LATENT + _VAPOUR_HEAT * celsius)
    return result


def heat_capacity(ratio: Value) -> Value:
    """Heat capacity of moist air by dry air, 1006 + 1860 W.

    Parameters
    ----------
    ratio : W, [-]

    Returns
    -------
    Heat capacity, [J/(kg K)].

    Range: 0-150 degC.

    Examples
    --------
    >>> round(float(heat_capacity(0.0093)))
    1023

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, chapter 1, equation 30.
    """
    result: Value = _AIR_HEAT + _VAPOUR_HEAT * np.asarray(ratio)
    return result


def latent_heat(wet: Value) -> Value:
    """Heat that turns water of the wet bulb into vapour in adiabatic saturation, L = 2.501e6 - 2326 tw.

    Parameters
    ----------
    wet : wet bulb, [K]

    Returns
    -------
    L, [J/kg].

    Range: 0-100 degC, within 1 %.

    Examples
    --------
    >>> round(float(latent_heat(313.15)) / 1e3)
    2408

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, chapter 1, equation 33.
    """
    result: Value = _LATENT - _LATENT_SLOPE * np.subtract(wet, ICE_POINT.value)
    return result


def dry_air(temperature: Value, ratio: Value = 0.0) -> Value:
    """Dry air in a cubic metre of moist air, p / (R T (1 + W / 0.622)).

    Parameters
    ----------
    temperature : T, above 0, [K]
    ratio : W, [-]

    Returns
    -------
    Dry air, [kg/m3].

    Range: sea level, ideal gas, within 0.3 %.

    Examples
    --------
    A cubic metre of exhaust air at 55 degC, W 0.03, holds this much dry air:

    >>> round(float(dry_air(328.15, 0.03)), 3)
    1.026

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, chapter 1, equation 26.
    """
    weighed = DRY_GAS * np.maximum(temperature, 1.0) * (1 + np.maximum(ratio, 0.0) / WEIGHT_RATIO)
    result: Value = ATMOSPHERE.value / weighed
    return result


def viscosity(temperature: Value) -> Value:
    """Viscosity of air, mu = mu0 (T / T0)^1.5 (T0 + S) / (T + S).

    Parameters
    ----------
    temperature : T, above 0, [K]

    Returns
    -------
    Dynamic viscosity, [Pa s].

    Range: -20 to 200 degC, within 1 %; moisture of a dryer's exhaust lowers it by 1 %.

    Examples
    --------
    >>> round(float(viscosity(293.15)) * 1e5, 2)
    1.81

    References
    ----------
    W. Sutherland, Phil. Mag. 36 (1893) 507.
    """
    absolute = np.maximum(temperature, 1.0)
    share = absolute / ICE_POINT.value
    return _VISCOSITY * share**1.5 * (ICE_POINT.value + _SUTHERLAND) / (absolute + _SUTHERLAND)


def wet_bulb(temperature: Value, ratio: Value) -> Value:
    """Temperature at which wet cloth settles in moving air, by adiabatic saturation.

    Solves W = ((L - 2326 tw) W_s(tw) - 1006 (t - tw)) / (L + 1860 t - 4186 tw), t in degC, for tw by Newton's method.

    Parameters
    ----------
    temperature : T, [K]
    ratio : W, [-]

    Returns
    -------
    Tw, [K], between 0 and 96.9 degC; never above T where that is liquid water.

    Range: 0-400 degC, sea level; below 0 degC ice is not looked at.

    Examples
    --------
    >>> round(float(wet_bulb(303.15, 0.010517)) - 273.15, 2)
    20.0

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, chapter 1, equation 33.
    """
    warm = np.subtract(np.clip(temperature, ICE_POINT.value, 2000.0), ICE_POINT.value)
    wet = np.clip(ratio, 0.0, 1.0)
    guess: Value = np.full(np.shape(warm + wet), _MILD)
    for _ in range(_ROUNDS):
        excess, slope = _too_wet(guess, warm, wet)
        guess = np.clip(guess - excess / slope, ICE_POINT.value, _HOTTEST)
    result: Value = np.minimum(guess, warm + ICE_POINT.value)
    return result


def _too_wet(guess: Value, warm: Value, wet: Value) -> tuple[Value, Value]:
    """Heat that is missing at a guessed wet bulb [J/kg], rising with it, and its slope."""
    celsius = guess - ICE_POINT.value
    pressure = saturation(guess)
    full = humidity_ratio(pressure)
    latent = _LATENT - _LATENT_SLOPE * celsius
    excess = (
        latent * full
        - _AIR_HEAT * (warm - celsius)
        - wet * (_LATENT + _VAPOUR_HEAT * warm - _WATER_HEAT * celsius)
    )
    # Clausius-Clapeyron is near enough for the slope: a slope a little off costs a round, not a digit.
    steeper = full * (1 + full / WEIGHT_RATIO) * _LATENT / (461.5 * guess * guess)
    slope = latent * steeper - _LATENT_SLOPE * full + _AIR_HEAT + _WATER_HEAT * wet
    return excess, slope
