"""Pump affinity: what a change of speed does to one and the same pump.

Inputs are floats or (n,) arrays, the machine first.
"""

from __future__ import annotations

from tundish.physics.values import Value


def affinity(speed_ratio: Value) -> tuple[Value, Value, Value]:
    """Factors of flow, head and power with speed, Q ~ n, H ~ n2, P ~ n3.

    Parameters
    ----------
    speed_ratio : new speed over old speed, n, [-]

    Returns
    -------
    Factors of flow, head and shaft power, three of [-].

    Range: same impeller, efficiency unchanged, speeds within about a factor of 2.

    Examples
    --------
    >>> affinity(2.0)
    (2.0, 4.0, 8.0)

    References
    ----------
    ISO 9906:2012, 6.1.1 (translation of test results to the specified speed), clause number from memory.
    """
    return speed_ratio, speed_ratio**2, speed_ratio**3
