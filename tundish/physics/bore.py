"""Round bores: their area and what stands in them.

Inputs are floats or (n,) arrays, the machine first.
"""

from __future__ import annotations

import math

from tundish.physics.values import Value


def bore_area(bore: Value) -> Value:
    """Area of a round bore, A = pi D2 / 4.

    Parameters
    ----------
    bore : diameter, D, [m]

    Returns
    -------
    Area, [m2].

    Range: any.

    Examples
    --------
    >>> round(bore_area(14e-3) * 1e6)
    154

    References
    ----------
    Geometry.
    """
    return math.pi / 4 * bore**2


def pipe_volume(length: Value, bore: Value) -> Value:
    """Water that stands in a pipe, V = A L.

    Parameters
    ----------
    length : length of the pipe, L, [m]
    bore : inner diameter, D, [m]

    Returns
    -------
    Volume, [m3].

    Range: any.

    Examples
    --------
    A metre of half-inch copper type L holds, in litres,

    >>> round(pipe_volume(1.0, 13.84e-3) * 1e3, 2)
    0.15

    References
    ----------
    Geometry.
    """
    return bore_area(bore) * length
