"""A dryer's balance of heat and moisture, steady: what the air carries, how hot it leaves, how fast it dries.

Symbols: m dry air [kg/s]; P heater's mean power [W]; Th heater's outlet, Te exhaust, Ta room [K]; Wa room's and We exhaust's
humidity ratio [-]; eta contact efficiency [-]. Air passes the heater and then the wet load, which sits at the wet bulb:
Te = Th - eta (Th - Tw), We = Wa + eta (Ws(Tw) - Wa), eta = 1 - exp(-NTU). Inputs are floats or (n,) arrays, the machine first.
"""

from __future__ import annotations

import numpy as np

from tundish.physics import moist_air
from tundish.physics.air import EXHAUST
from tundish.physics.arithmetic import ratio
from tundish.physics.constants import ICE_POINT
from tundish.physics.values import Value

EXHAUST_HUMIDITY = 0.03
"""Humidity ratio of a dryer's exhaust for its density only [-]; common practice, no source."""

WARM_UP = 300.0
"""Time before the drying rate is steady [s]; common practice, no source."""

# Contact of tumbling cloth: NTU 1.386 (eta 0.75) at 0.078 kg/s, falling with the root of the flow. Common practice, no source.
_NTU, _NTU_AIR = 1.386, 0.078
# A flow too small to speak of; it keeps the heater's outlet a number.
_LEAST_AIR = 1e-5
_HOTTEST = 2000.0


def air_mass(flow: Value, temperature: Value = EXHAUST) -> Value:
    """Dry air carried by a flow of exhaust.

    Parameters
    ----------
    flow : at the outlet, [m3/s]
    temperature : of that air, [K]

    Returns
    -------
    Dry air, [kg/s]. A flow below 0 counts as none.

    Range: sea level; exhaust with 30 g/kg of water, which for 10-50 g/kg is within 3 %.

    Examples
    --------
    248 m3/h:

    >>> round(float(air_mass(248 / 3600)), 3)
    0.071

    References
    ----------
    ASHRAE Handbook Fundamentals 2017, chapter 1, equation 26.
    """
    result: Value = np.maximum(flow, 0.0) * moist_air.dry_air(temperature, EXHAUST_HUMIDITY)
    return result


def air_heat(flow: Value, rise: Value) -> Value:
    """Heat that warms a dryer's flow of air by a rise of temperature, P = m cp dT.

    Parameters
    ----------
    flow : at the outlet, [m3/s]
    rise : dT, [K]

    Returns
    -------
    Power, [W].

    Range: as `air_mass`; air with 9 g/kg of water.

    Examples
    --------
    What 100 m3/h carries from 24 to 115 degC, where the high limit holds it:

    >>> round(float(air_heat(100 / 3600, 91.0)), -1)
    2650.0

    References
    ----------
    Conservation of energy.
    """
    result: Value = air_mass(flow) * moist_air.heat_capacity(0.0093) * rise
    return result


def air_rise(power: Value, flow: Value) -> Value:
    """Rise of a dryer's flow of air over a heater, dT = P / (m cp).

    Parameters
    ----------
    power : P, [W]
    flow : at the outlet, [m3/s]

    Returns
    -------
    Rise, [K]. Infinite where power meets no air, 0 where there is no power.

    Range: as `air_mass`; air with 9 g/kg of water.

    Examples
    --------
    5.4 kW in 248 m3/h:

    >>> round(float(air_rise(5400.0, 248 / 3600)))
    75

    References
    ----------
    Conservation of energy.
    """
    return ratio(power, air_heat(flow, 1.0))


def exhaust_temperature(
    power: Value, flow: Value, room: Value, *, humidity: Value, contact: Value = 1.0
) -> Value:
    """Temperature of a dryer's exhaust with a wet load, Te = Th - eta (Th - Tw).

    Parameters
    ----------
    power : mean power that reaches the air, [W]
    flow : at the outlet, [m3/s]
    room : Ta, [K]
    humidity : relative humidity of the room, [-]
    contact : share of the usual contact of air and load, [-]

    Returns
    -------
    Te, [K].

    Range: load wet through; the last fifth of the water leaves warmer.

    Examples
    --------
    5.4 kW and 0.2 kW of the motor in 248 m3/h from a room of 24 degC and 50 %:

    >>> round(float(exhaust_temperature(5600.0, 248 / 3600, 297.15, humidity=0.5)) - 273.15)
    51

    References
    ----------
    Contact as in a wet-bulb cooler: ASHRAE Handbook Systems 2016, chapter 41, from memory; NTU common practice, no source.
    """
    hot, wet, share = _at_load(power, flow, room, humidity=humidity, contact=contact)
    result: Value = hot - share * (hot - wet)
    return result


def water_dried(
    power: Value, flow: Value, room: Value, *, humidity: Value, contact: Value = 1.0, time: Value = 1.0
) -> Value:
    """Water that a wet load gives off in a time at the steady rate, m eta (Ws(Tw) - Wa) time = m eta cp (Th - Tw) / L time.

    Parameters
    ----------
    power : mean power that reaches the air, [W]
    flow : at the outlet, [m3/s]
    room : Ta, [K]
    humidity : relative humidity of the room, [-]
    contact : share of the usual contact of air and load, [-]
    time : how long, [s]

    Returns
    -------
    Water, [kg]; never below 0.

    Range: as `exhaust_temperature`; no warm-up.

    Examples
    --------
    Grams a minute at 5.6 kW, heater and motor, and 248 m3/h:

    >>> round(float(water_dried(5600.0, 248 / 3600, 297.15, humidity=0.5, time=60.0)) * 1e3)
    91

    References
    ----------
    As `exhaust_temperature`.
    """
    hot, wet, share = _at_load(power, flow, room, humidity=humidity, contact=contact)
    # At the wet bulb cooling pays for the vapour, so its heat gives the water without a difference of two humidities.
    ambient = moist_air.room_humidity(room, humidity)
    gained = share * moist_air.heat_capacity(ambient) * (hot - wet) / moist_air.latent_heat(wet)
    result: Value = np.maximum(air_mass(flow) * gained, 0.0) * np.maximum(time, 0.0)
    return result


def drying_time(
    dried: Value, within: Value, load: Value, *, wet: Value, dry: Value, critical: Value = 0.2
) -> Value:
    """Time to dry a load: warm-up, steady rate down to the critical moisture, then a rate that falls with the moisture.

    t = 5 min + M (X0 - Xc) / r + (M Xc / r) ln(Xc / Xf), r = dried / within.

    Parameters
    ----------
    dried : water given off at the steady rate, [kg]
    within : in this time, [s]
    load : dry mass M, [kg]
    wet : moisture by dry mass at the start, X0, [-]
    dry : moisture wanted, Xf, [-]
    critical : moisture below which the rate falls, Xc, [-]

    Returns
    -------
    Time, [s]; infinite where nothing dries. A load that is dry enough takes the warm-up only.

    Range: cotton, X0 above Xf above 0.

    Examples
    --------
    3.83 kg from 57.5 to 4 % at 91 g a minute, in minutes:

    >>> round(float(drying_time(0.091, 60.0, 3.83, wet=0.575, dry=0.04)) / 60)
    34

    References
    ----------
    Constant and falling rate: W. K. Lewis, J. Ind. Eng. Chem. 13 (1921) 427; Xc and warm-up common practice, no source.
    """
    start, goal = np.maximum(wet, 0.0), np.maximum(dry, 1e-6)
    knee = np.maximum(critical, goal)
    steady = np.maximum(start - knee, 0.0)
    # A load that starts below the knee dries at the falling rate only.
    falling = knee * np.log(np.maximum(np.minimum(start, knee), goal) / goal)
    water = np.maximum(load, 0.0) * (steady + falling)
    return WARM_UP + ratio(water * np.maximum(within, 0.0), np.maximum(dried, 0.0))


def _at_load(
    power: Value, flow: Value, room: Value, *, humidity: Value, contact: Value
) -> tuple[Value, Value, Value]:
    """Heater's outlet [K], wet bulb there [K], contact efficiency [-]."""
    air = np.maximum(air_mass(flow), _LEAST_AIR)
    ambient = moist_air.room_humidity(room, humidity)
    low = ICE_POINT.value
    hot = np.clip(room + power / (air * moist_air.heat_capacity(ambient)), low, _HOTTEST)
    units = np.maximum(contact, 0.0) * _NTU * np.sqrt(_NTU_AIR / air)
    return hot, moist_air.wet_bulb(hot, ambient), -np.expm1(-units)
