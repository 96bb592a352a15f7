"""An oven as one heat capacity with one loss: heat-up, holding duty, stall; and what its sensor says.

Inputs are floats or (n,) arrays, the machine first. Temperatures in kelvin. None raises on the odd machine.
"""

from __future__ import annotations

import numpy as np

from tundish.physics.arithmetic import ratio
from tundish.physics.constants import (
    PLATINUM_HIGH,
    PLATINUM_LOW,
    ROOM_25,
    THERMISTOR_HIGH,
    THERMISTOR_LOW,
)
from tundish.physics.platinum import platinum_resistance, platinum_temperature
from tundish.physics.values import Value

# The ends of the platinum curve as shares of R0, a little inside what `platinum_temperature` takes.
_RATIO_LOW, _RATIO_HIGH = 0.1853, 3.904


def heat_up_time(capacity: Value, loss: Value, power: Value, rise: Value) -> Value:
    """Time in which a lossy oven rises, t = -(C/UA) ln(1 - UA dT / P), from the temperature of the room.

    Parameters
    ----------
    capacity : heat capacity of cavity and walls, C, [J/K]
    loss : heat lost per kelvin over the room, UA, [W/K]
    power : heat of the elements, P, [W]
    rise : temperature sought over the room, dT, [K]

    Returns
    -------
    Time, [s]. 0 where no rise is sought; infinite where the power does not reach it; without a loss C dT / P.

    Range: one lumped capacity, constant power and loss; a real oven's air leads its walls.

    Examples
    --------
    9 kJ/K and 4.5 W/K at 2600 W from 24 to 177 degC, in minutes:

    >>> round(float(heat_up_time(9e3, 4.5, 2600.0, 153.0)) / 60, 1)
    10.3

    References
    ----------
    Newton's law of cooling; lumped capacity, e.g. Incropera and DeWitt, Fundamentals of Heat and Mass Transfer,
    section 5.1-5.3.
    """
    stored, lost, sought = (np.maximum(x, 0.0) for x in (capacity, loss, rise))
    share = np.minimum(ratio(lost * sought, np.maximum(power, 0.0)), 1.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        # log1p keeps small losses exact; at a share of 1 the power is just eaten up and it takes for ever.
        lossy = np.multiply(np.where(lost > 0, ratio(stored, lost), 0.0), -np.log1p(-share))
    plain = ratio(stored * sought, np.maximum(power, 0.0))
    reached = np.where(lost > 0, np.where(share < 1, lossy, np.inf), plain)
    result: Value = np.where(sought <= 0, 0.0, reached)[()]
    return result


def holding_duty(loss: Value, power: Value, rise: Value) -> Value:
    """Share of the time for which the elements heat to hold a temperature, UA dT / P, at most 1.

    Parameters
    ----------
    loss : heat lost per kelvin over the room, UA, [W/K]
    power : heat of the elements while they heat, P, [W]
    rise : temperature held over the room, dT, [K]

    Returns
    -------
    Share of the time, [-]. 1 where the power is not enough or there is none; 0 where nothing has to be held.

    Range: steady state, after three cycles or more.

    Examples
    --------
    >>> round(float(holding_duty(4.5, 2600.0, 153.0)), 2)
    0.26

    References
    ----------
    Conservation of energy: mean power equals loss.
    """
    needed = np.maximum(loss, 0.0) * np.maximum(rise, 0.0)
    result: Value = np.minimum(ratio(needed, np.maximum(power, 0.0)), 1.0)
    return result


def stall_temperature(power: Value, loss: Value, room: Value) -> Value:
    """Temperature at which the loss eats the whole power, T = Ta + P / UA.

    Parameters
    ----------
    power : heat of the elements, all the time, P, [W]
    loss : heat lost per kelvin over the room, UA, [W/K]
    room : temperature of the room, Ta, [K]

    Returns
    -------
    Temperature, [K]. Infinite where power meets no loss; the room's where there is no power.

    Range: constant loss; at high temperature radiation makes the true value lower.

    Examples
    --------
    A quarter of 2600 W never reaches 177 degC:

    >>> round(float(stall_temperature(650.0, 4.5, 297.15)) - 273.15, 1)
    168.4

    References
    ----------
    Conservation of energy: at rest the loss equals the power.
    """
    result: Value = np.add(room, ratio(np.maximum(power, 0.0), np.maximum(loss, 0.0)))
    return result


def platinum_sensor(resistance_0: Value, temperature: Value) -> Value:
    """Resistance of an oven's platinum sensor, R0 (1 + A t + B t2), t in degC.

    Parameters
    ----------
    resistance_0 : resistance at 0 degC, R0, [ohm]; infinite for an open sensor
    temperature : temperature of the sensor, T, [K]

    Returns
    -------
    Resistance, [ohm]. Temperatures outside -200 to 850 degC count as the nearer end.

    Range: -200 to 850 degC.

    Examples
    --------
    >>> round(float(platinum_sensor(1000.0, 450.15)))
    1674

    References
    ----------
    IEC 60751:2008, Industrial platinum resistance thermometers, clause 4.
    """
    held = np.clip(temperature, PLATINUM_LOW.value, PLATINUM_HIGH.value)
    result: Value = np.multiply(resistance_0, platinum_resistance(held, 1.0))
    return result


def platinum_belief(resistance: Value, resistance_0: Value) -> Value:
    """Temperature a control believes from what it measures at a platinum sensor's plug.

    Parameters
    ----------
    resistance : resistance at the control's plug, R, [ohm]
    resistance_0 : resistance at 0 degC the control reckons with, R0, [ohm]

    Returns
    -------
    Temperature, [K]. What lies off the curve counts as its nearer end.

    Range: -200 to 850 degC.

    Examples
    --------
    20 ohm in a connector at 177 degC make the control believe 5.4 K more:

    >>> round(float(platinum_belief(platinum_sensor(1000.0, 450.15) + 20.0, 1000.0)) - 450.15, 1)
    5.4

    References
    ----------
    IEC 60751:2008, Industrial platinum resistance thermometers, clause 4.
    """
    # An open sensor has the ratio infinity and a shorted one 0: both are held at an end of the curve.
    result: Value = platinum_temperature(
        np.clip(ratio(resistance, resistance_0), _RATIO_LOW, _RATIO_HIGH), 1.0
    )
    return result


def thermistor_belief(resistance: Value, resistance_25: Value, beta: Value) -> Value:
    """Temperature a control believes from a falling thermistor, 1/T = 1/298.15 K + ln(R/R25)/B.

    Parameters
    ----------
    resistance : resistance at the control's plug, R, [ohm]
    resistance_25 : resistance at 25 degC the control reckons with, R25, [ohm]
    beta : slope of ln R against 1/T, B, [K]

    Returns
    -------
    Temperature, [K]. What lies outside -100 to 300 degC, or on no curve, counts as the nearer end.

    Range: within about 50 K of where beta was fitted.

    Examples
    --------
    >>> round(float(thermistor_belief(2003.0, 100e3, 3950.0)) - 273.15)
    150

    References
    ----------
    J. A. Becker, C. B. Green, G. L. Pearson, Bell System Technical Journal 26 (1947) 170.
    """
    share = np.clip(ratio(np.maximum(resistance, 0.0), np.maximum(resistance_25, 0.0)), 1e-30, 1e30)
    inverse = 1 / ROOM_25.value + ratio(np.log(share), np.maximum(beta, 0.0))
    low, high = 1 / THERMISTOR_HIGH.value, 1 / THERMISTOR_LOW.value
    result: Value = 1 / np.clip(inverse, low, high)
    return result
