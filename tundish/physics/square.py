"""The kernel of every loss that goes with the square of the flow, turbulent and sharp-edged.

`square_flow` serves many laws, so that one call works out all their links. Pressures [Pa], flows [m3/s].
"""

from __future__ import annotations

import math

import numpy as np

from tundish.physics.constants import WATER_DENSITY_20
from tundish.physics.law import Response
from tundish.physics.values import Array, Value

CREEP = 1.0
"""Drop around which a square law turns into a straight one, as slow flow is laminar [Pa]; 0.1 mm of water."""

LEAK = 1e-17
"""What a shut valve still passes [m3/(s Pa)]: 0.02 mL an hour at 5 bar. It keeps potentials defined."""

# A shut way has an endless loss coefficient; this stands for it.
SHUT = 1e300


def square_flow(drop: Array, pass_: Value) -> Response:
    """Square law, Q = k D / (D2 + c2)^(1/4) + leak D: k sqrt(D) above a creeping drop c, straight below.

    Parameters
    ----------
    drop : D, [Pa]
    pass_ : k, flow at 1 Pa if the square law held there, [m3/s]

    Returns
    -------
    Flow [m3/s] and slope [m3/(s Pa)].

    Range: within 0.25 % of the pure square law from 10 Pa.

    Examples
    --------
    >>> flow, slope = square_flow(np.array([1e4]), 1e-6)
    >>> round(float(flow[0]) * 1e6, 3)
    100.0

    References
    ----------
    D. Bernoulli, Hydrodynamica, 1738; J. Weisbach, Die Experimental-Hydraulik, 1855. Straight foot: from
    memory, a numerical aid.
    """
    squared = drop * drop
    squared += CREEP * CREEP
    root = np.sqrt(squared)
    per_drop = pass_ / np.sqrt(root)
    slope = per_drop * (0.5 + (0.5 * CREEP * CREEP) / squared)
    return (per_drop + LEAK) * drop, slope + LEAK


def loss_pass(k: Value, area: Value, density: float = WATER_DENSITY_20.value) -> Value:
    """Flow at 1 Pa of a loss K rho v2 / 2 on an area.

    Parameters
    ----------
    k : loss coefficient K, [-]
    area : area of the velocity v, [m2]
    density : rho, [kg/m3]

    Returns
    -------
    Flow at 1 Pa, [m3/s].

    Examples
    --------
    >>> round(float(loss_pass(1.0, 1e-4)) * 1e6, 3)
    4.476

    References
    ----------
    J. Weisbach, Die Experimental-Hydraulik, 1855.
    """
    result: Value = area * math.sqrt(2 / density) / np.sqrt(np.maximum(k, 1e-12))
    return result
