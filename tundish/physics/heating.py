"""Electric heating of water: power, resistance, rate of rise.

Inputs are floats or (n,) arrays, the machine first. Water is counted by the volume it has at 20 degC.
"""

from __future__ import annotations

import numpy as np

from tundish.physics.arithmetic import ratio
from tundish.physics.constants import WATER_DENSITY_20, WATER_HEAT_20
from tundish.physics.values import Value

WATER_HEAT_PER_VOLUME = WATER_DENSITY_20.value * WATER_HEAT_20.value
"""Heat that warms a cubic metre of water by a kelvin, rho c at 20 degC [J/(m3 K)]."""


def heating_power(volts: Value, resistance: Value) -> Value:
    """Power of a plain resistance, P = U2 / R.

    Parameters
    ----------
    volts : voltage across the element, effective value, U, [V]
    resistance : resistance of the element, hot, R, [ohm]

    Returns
    -------
    Power, [W]. 0 for an open element (infinite resistance); infinite for 0 ohm under voltage; a resistance
    below 0 counts as 0.

    Range: unity power factor; element resistance hot, which is 0-10 % above the cold reading.

    Examples
    --------
    >>> round(float(heating_power(volts=208.0, resistance=240.0**2 / 5400)), 1)
    4056.0

    References
    ----------
    J. P. Joule, Phil. Mag. 19 (1841) 260; Ohm's law.
    """
    return ratio(np.square(volts), np.maximum(resistance, 0.0))


def element_resistance(power: Value, volts: Value) -> Value:
    """Resistance of an element from its rating, R = U2 / P.

    Parameters
    ----------
    power : rated power, P, [W]
    volts : rated voltage, U, [V]

    Returns
    -------
    Hot resistance, [ohm]. Infinite for 0 W.

    Range: unity power factor.

    Examples
    --------
    >>> round(float(element_resistance(power=2000.0, volts=230.0)), 2)
    26.45

    References
    ----------
    J. P. Joule, Phil. Mag. 19 (1841) 260; Ohm's law.
    """
    return ratio(np.square(volts), power)


def heating_rate(power: Value, water: Value, load_heat: Value = 0.0) -> Value:
    """Rise of temperature in time, dT/dt = P / (rho c V + C).

    Parameters
    ----------
    power : heat that reaches the water, P, [W]
    water : volume of the water, V, [m3]
    load_heat : heat capacity of what is warmed with it (load, tub, dishes), C, [J/K]

    Returns
    -------
    Rate, [K/s]. Infinite where power meets nothing to warm; 0 where there is no power; water and load below 0
    count as 0.

    Range: well stirred, no losses, 0-100 degC (rho c changes by less than 4 %).

    Examples
    --------
    12 litres with 11 kJ/K of load and drum at 2 kW, in kelvin a minute:

    >>> round(float(heating_rate(power=2000.0, water=12e-3, load_heat=11e3)) * 60, 2)
    1.96

    References
    ----------
    Conservation of energy; water: Wagner and Pruss, J. Phys. Chem. Ref. Data 31 (2002) 387.
    """
    # What cannot be, a volume below 0, is taken as none, so that the rate keeps the sign of the power.
    capacity = WATER_HEAT_PER_VOLUME * np.maximum(water, 0.0) + np.maximum(load_heat, 0.0)
    return ratio(power, capacity)


def heating_energy(water: Value, rise: Value, load_heat: Value = 0.0) -> Value:
    """Heat for a rise of temperature, E = (rho c V + C) dT.

    Parameters
    ----------
    water : volume of the water, V, [m3]
    rise : rise of temperature, dT, [K]
    load_heat : heat capacity of what is warmed with it, C, [J/K]

    Returns
    -------
    Heat, [J].

    Range: 0-100 degC, no losses.

    Examples
    --------
    10 litres from 15 to 60 degC, in kilowatt-hours:

    >>> round(heating_energy(water=10e-3, rise=45.0) / 3.6e6, 3)
    0.522

    References
    ----------
    Conservation of energy; water: Wagner and Pruss, J. Phys. Chem. Ref. Data 31 (2002) 387.
    """
    return (WATER_HEAT_PER_VOLUME * water + load_heat) * rise
