"""Room air that leaks into a freezer: the heat and the frost it brings, and the heat that melts the frost again.

Inputs are floats or (n,) arrays, the machine first. Frost is counted as mass over a time.
"""

from __future__ import annotations

import numpy as np

from tundish.physics.arithmetic import ratio
from tundish.physics.constants import ICE_POINT, Constant
from tundish.physics.moist_air import dry_air, humidity_ratio, room_humidity, saturation
from tundish.physics.values import Value

AIR_HEAT = Constant(
    "cp", 1006.0, "J/(kg K)", 2.0, "dry air: ASHRAE Handbook Fundamentals 2017, chapter 1, eq. 30"
)
MELTING = Constant(
    "L", 334.0e3, "J/kg", 0.5e3, "ice to water at 0 degC, 333.55 kJ/kg: CRC Handbook, from memory"
)
SUBLIMATION = Constant("Ls", 2.834e6, "J/kg", 3e3, "vapour to ice at 0 degC: Smithsonian tables, from memory")
ICE_HEAT = Constant("c", 2050.0, "J/(kg K)", 50.0, "ice near -10 degC: CRC Handbook, from memory")
_COLDEST = 193.15


def ice_pressure(temperature: Value) -> Value:
    """Pressure of water vapour over ice, e = 611.2 Pa exp(22.46 t / (272.62 + t)), t in degC.

    Parameters
    ----------
    temperature : temperature of the ice, [K]

    Returns
    -------
    Pressure, [Pa]. Outside -80 to 0 degC as at the nearer end.

    Range: -65 to 0 degC, within 0.5 %.

    Examples
    --------
    >>> round(float(ice_pressure(255.15)))
    125

    References
    ----------
    Magnus form over ice: WMO Guide to Instruments and Methods of Observation (WMO-No. 8), 2014, annex 4.B.
    """
    celsius = np.clip(temperature, _COLDEST, ICE_POINT.value) - ICE_POINT.value
    pressure: Value = 611.2 * np.exp(22.46 * celsius / (272.62 + celsius))
    return pressure


def leak_frost(flow: Value, room: Value, inside: Value, humidity: Value, time: Value = 86400.0) -> Value:
    """Frost, or dew above 0 degC, that leaking room air leaves, m = rho V (Wa - Wi) t.

    Parameters
    ----------
    flow : room air that leaks in, V, [m3/s]
    room : temperature of the room, [K]
    inside : temperature of the compartment, [K]
    humidity : relative humidity of the room, [-]
    time : over which it gathers, t, [s]; a day

    Returns
    -------
    Frost, [kg]; 0 where the room is the drier.

    Range: sea level; all vapour above saturation is left inside.

    Examples
    --------
    A cubic metre an hour at 24 degC and half saturated, in grams a day:

    >>> round(float(leak_frost(1 / 3600, 297.15, 255.15, humidity=0.5)) * 1e3)
    240

    References
    ----------
    Conservation of mass; ideal gas.
    """
    cold = np.where(np.asarray(inside) < ICE_POINT.value, ice_pressure(inside), saturation(inside))
    kept = np.maximum(room_humidity(room, humidity) - humidity_ratio(cold), 0.0)
    frost: Value = _air(flow, room, humidity) * kept * np.maximum(time, 0.0)
    return frost


def leak_heat(flow: Value, room: Value, inside: Value, humidity: Value) -> Value:
    """Heat that leaking room air brings into a freezer, P = rho V (cp (Ta - Ti) + (Wa - Wi) L).

    Parameters
    ----------
    flow : room air that leaks in, V, [m3/s]
    room : temperature of the room, Ta, [K]
    inside : temperature of the freezer, Ti, [K]
    humidity : relative humidity of the room, [-]

    Returns
    -------
    Heat, [W], dry part and freezing vapour together; the dry part below 0 where the room is the colder.

    Range: sea level; vapour counts as freezing, so a compartment above 0 degC gets 4 % too much.

    Examples
    --------
    >>> round(float(leak_heat(1 / 3600, 297.15, 255.15, humidity=0.5)), 1)
    21.6

    References
    ----------
    Conservation of energy.
    """
    vapour = leak_frost(flow, room, inside, humidity, time=1.0) * SUBLIMATION.value
    heat: Value = _air(flow, room, humidity) * AIR_HEAT.value * (np.asarray(room) - inside) + vapour
    return heat


def defrost_time(ice: Value, power: Value, share: Value = 0.6, coil: Value = 32.0e3) -> Value:
    """Time a heater needs to free the coil, t = (m (c 20 K + L) + E) / (s P).

    Parameters
    ----------
    ice : frost on the coil, m, [kg]
    power : power of the heater, P, [W]
    share : part of the heat that reaches the frost, s, [-]
    coil : heat that warms the coil itself, E, [J]

    Returns
    -------
    Time, [s]. Infinite without power.

    Range: frost at -20 degC, 0.1-1 kg.

    Examples
    --------
    Half a kilogram at 400 W, in minutes:

    >>> round(float(defrost_time(ice=0.5, power=400.0)) / 60, 1)
    15.2

    References
    ----------
    Conservation of energy; the share and the coil's heat are common practice, no source.
    """
    needed = np.maximum(ice, 0.0) * (ICE_HEAT.value * 20.0 + MELTING.value) + np.maximum(coil, 0.0)
    return ratio(needed, np.maximum(share * np.asarray(power), 0.0))


def melted(time: Value, power: Value, share: Value = 0.6, coil: Value = 32.0e3) -> Value:
    """Frost that a heater melts in a time, m = (s P t - E) / (c 20 K + L).

    Parameters
    ----------
    time : time the heater is on, t, [s]
    power : power of the heater, P, [W]
    share : part of the heat that reaches the frost, s, [-]
    coil : heat that warms the coil itself, E, [J]

    Returns
    -------
    Frost, [kg]; 0 where the heat does not even warm the coil.

    Range: as `defrost_time`, of which it is the inverse.

    Examples
    --------
    >>> round(float(melted(time=915.0, power=400.0)), 2)
    0.5

    References
    ----------
    Conservation of energy.
    """
    left = np.maximum(share, 0.0) * np.maximum(power, 0.0) * np.maximum(time, 0.0) - np.maximum(coil, 0.0)
    mass: Value = np.maximum(left, 0.0) / (ICE_HEAT.value * 20.0 + MELTING.value)
    return mass


def _air(flow: Value, room: Value, humidity: Value) -> Value:
    """Dry air that leaks in [kg/s]."""
    return np.maximum(flow, 0.0) * dry_air(room, room_humidity(room, humidity))
