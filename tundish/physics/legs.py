"""Legs of a building's supply as complex potentials, against the neutral."""

from __future__ import annotations

import cmath
import math

from tundish.physics.errors import PhysicsError

LEGS: dict[str, dict[str, float]] = {
    "single": {"L1": 0.0},
    "split phase": {"L1": 0.0, "L2": 180.0},
    "two legs of a wye": {"L1": 0.0, "L2": -120.0},
    "three phase": {"L1": 0.0, "L2": -120.0, "L3": 120.0},
}
"""Angle of each leg [degrees], by kind of supply."""


def legs(kind: str, volts: float) -> dict[str, complex]:
    """Held potentials of a supply, its neutral N at 0.

    Parameters
    ----------
    kind : one of LEGS
    volts : from each leg to the neutral, root mean square, [V]

    Returns
    -------
    Potentials by node, [V].

    Raises
    ------
    PhysicsError : the kind is unknown.

    Examples
    --------
    A building of 208 V between legs has 120 V to the neutral, one of 400 V has 230 V:

    >>> wye = legs("two legs of a wye", 120.0)
    >>> round(abs(wye["L1"] - wye["L2"]), 1)
    207.8
    >>> [round(abs(leg - legs("three phase", 230.0)["L1"])) for leg in legs("three phase", 230.0).values()]
    [0, 398, 398, 230]

    References
    ----------
    IEC 60050-141 (polyphase systems); the names of the legs are common practice, no source.
    """
    if kind not in LEGS:
        raise PhysicsError(f"supply `{kind}` is unknown; known are {', '.join(LEGS)}: name one of these")
    # All angles are leads on the first leg.
    return {leg: cmath.rect(volts, math.radians(angle)) for leg, angle in LEGS[kind].items()} | {"N": 0j}
