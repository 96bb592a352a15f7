"""What physics says when it is asked for something outside its range."""

from __future__ import annotations

import numpy as np

from tundish.physics.values import Value


class PhysicsError(ValueError):
    """A number lies outside what a law or formula is good for.

    The message says what was seen, what is allowed, and what to do next.
    """


def check_range(name: str, value: Value, low: float, *, high: float, unit: str, advice: str) -> None:
    """Refuse a value outside low ... high, in whichever machine it occurs.

    Parameters
    ----------
    name : what the value is called in the message
    value : the value, (n,) or float, [unit]
    low : lowest allowed value, [unit]
    high : highest allowed value, [unit]
    unit : the unit's symbol, for the message
    advice : what to do next, for the message

    Raises
    ------
    PhysicsError : where the value is outside, or is not a number.

    Examples
    --------
    >>> check_range("temperature", 300.0, 273.15, high=373.15, unit="K", advice="give kelvin")
    >>> check_range("temperature", 20.0, 273.15, high=373.15, unit="K", advice="give kelvin")
    Traceback (most recent call last):
    ...
    tundish.physics.errors.PhysicsError: temperature 20 K is outside 273.15 ... 373.15 K: give kelvin

    References
    ----------
    House rule: seen, allowed, what to do.
    """
    seen = np.asarray(value, dtype=float)
    # Degrees turned into kelvin may miss an end by a last digit; that is no error.
    slack = 1e-12 * max(abs(low), abs(high))
    # Asked this way round so that a value that is not a number fails too.
    good = (seen >= low - slack) & (seen <= high + slack)
    if not good.all():
        first = seen[~good].flat[0]
        raise PhysicsError(f"{name} {first:g} {unit} is outside {low:g} ... {high:g} {unit}: {advice}")
