"""Surge (water hammer): the pressure a stopping column of water makes.

Inputs are floats or (n,) arrays, the machine first.
"""

from __future__ import annotations

import numpy as np

from tundish.physics.arithmetic import ratio
from tundish.physics.bore import bore_area
from tundish.physics.constants import WATER_DENSITY_20
from tundish.physics.values import Value


def surge(flow: Value, bore: Value, wave_speed: Value) -> Value:
    """Pressure rise when a flow is stopped at once, dp = rho a v (Joukowsky), water of 20 degC.

    Parameters
    ----------
    flow : flow that is stopped, Q, [m3/s]
    bore : inner diameter of the pipe, D, [m]
    wave_speed : speed of the pressure wave, a, [m/s]

    Returns
    -------
    Pressure rise on top of the static pressure, with the sign of the flow, [Pa]. Infinite where flow meets no
    bore, 0 where there is no flow.

    Range: closing faster than 2 L / a, no column separation. Slower closing gives less.

    Examples
    --------
    Half-inch copper, 8 litres a minute, in kilopascal:

    >>> round(float(surge(flow=8e-3 / 60, bore=13.84e-3, wave_speed=1300.0)) / 1e3)
    1150

    References
    ----------
    N. Joukowsky, Mem. Acad. Imp. Sci. St.-Petersbourg (8) 9 no. 5 (1898); Wylie and Streeter, Fluid
    Transients, ch. 1.
    """
    # Divided last, so that 0 times infinity cannot arise.
    momentum = WATER_DENSITY_20.value * np.multiply(wave_speed, flow)
    return ratio(momentum, bore_area(np.maximum(bore, 0.0)))


def wave_speed_in_pipe(
    bore: Value, wall: Value, elasticity: Value, *, bulk_modulus: Value, density: Value
) -> Value:
    """Speed of a pressure wave in an elastic pipe, a = sqrt(K / rho) / sqrt(1 + K D / (E s)) (Korteweg).

    Parameters
    ----------
    bore : inner diameter, D, [m]
    wall : thickness of the wall, above 0, s, [m]
    elasticity : modulus of elasticity of the wall, above 0, E, [Pa]
    bulk_modulus : bulk modulus of the liquid, K, [Pa]
    density : density of the liquid, above 0, rho, [kg/m3]

    Returns
    -------
    Wave speed, [m/s].

    Range: thin walls (D / s above 10 within 5 %), no air in the water. Plastic stiffens under fast loading.

    Examples
    --------
    >>> round(float(wave_speed_in_pipe(13e-3, 1e-3, 117e9, bulk_modulus=2.194e9, density=998.2)))
    1329

    References
    ----------
    D. J. Korteweg, Ann. Phys. Chem. 5 (1878) 525; Wylie and Streeter, Fluid Transients, ch. 1.
    """
    free = np.sqrt(np.true_divide(bulk_modulus, density))
    yielding = bulk_modulus * bore / (elasticity * wall)
    result: Value = free / np.sqrt(1 + yielding)
    return result


def critical_closing_time(length: Value, wave_speed: Value) -> Value:
    """Time for a wave to run to the main and back, t = 2 L / a.

    A valve that closes faster makes the full surge.

    Parameters
    ----------
    length : length of pipe from the valve to the wide main, L, [m]
    wave_speed : speed of the pressure wave, above 0, a, [m/s]

    Returns
    -------
    Time, [s].

    Range: one pipe without branches.

    Examples
    --------
    Ten metres of copper, in milliseconds:

    >>> round(critical_closing_time(10.0, 1325.0) * 1e3, 1)
    15.1

    References
    ----------
    Wylie and Streeter, Fluid Transients, ch. 1.
    """
    return 2 * length / wave_speed


def slow_closing_surge(velocity: Value, length: Value, closing_time: Value) -> Value:
    """Pressure rise when a flow is stopped evenly and slowly, dp = rho L v / t, water of 20 degC.

    The column of water is taken as rigid.

    Parameters
    ----------
    velocity : velocity that is stopped, v, [m/s]
    length : length of the column, L, [m]
    closing_time : time of closing, above 0, t, [s]

    Returns
    -------
    Pressure rise, [Pa].

    Range: closing much slower than 2 L / a; linear fall of the flow.

    Examples
    --------
    >>> round(slow_closing_surge(velocity=1.524, length=15.24, closing_time=0.1) / 1e3)
    232

    References
    ----------
    Newton's second law for the column; Wylie and Streeter, Fluid Transients, ch. 1.
    """
    return WATER_DENSITY_20.value * length * velocity / closing_time
