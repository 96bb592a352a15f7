"""Plain arithmetic on quantities: what a description may do with numbers without a formula language.

Inputs are floats or (n,) arrays, the machine first. Nothing here raises on odd numbers; each docstring says
what comes out.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import reduce
from operator import add, mul

import numpy as np

from tundish.physics.errors import PhysicsError
from tundish.physics.values import Value


def total(of: Sequence[Value]) -> Value:
    """Sum of the given quantities, a + b + ...

    Parameters
    ----------
    of : the quantities, all in one unit, [any]; an empty list gives 0

    Returns
    -------
    The sum, [same].

    Range: any finite numbers; infinite where one of them is.

    Examples
    --------
    >>> total([1.5, 2.0, 0.5])
    4.0

    References
    ----------
    Arithmetic.
    """
    return reduce(add, of, 0.0)


def product(of: Sequence[Value]) -> Value:
    """Product of the given quantities, a b ...

    Parameters
    ----------
    of : the quantities, [any]; an empty list gives 1

    Returns
    -------
    The product, [any].

    Range: any finite numbers.

    Examples
    --------
    >>> product([2.0, 3.0, 0.5])
    3.0

    References
    ----------
    Arithmetic.
    """
    return reduce(mul, of, 1.0)


def least(of: Sequence[Value]) -> Value:
    """Smallest of the given quantities, machine by machine.

    Parameters
    ----------
    of : the quantities, all in one unit, at least one, [any]

    Returns
    -------
    The least, [same].

    Raises
    ------
    PhysicsError : on an empty list, which has no least.

    Range: any numbers, infinite ones too.

    Examples
    --------
    >>> import numpy as np
    >>> least([np.array([1.0, 5.0]), 3.0]).tolist()
    [1.0, 3.0]

    References
    ----------
    Arithmetic.
    """
    _refuse_nothing(of, "least")
    smallest: Value = reduce(np.minimum, of)
    return smallest


def greatest(of: Sequence[Value]) -> Value:
    """Largest of the given quantities, machine by machine.

    Parameters
    ----------
    of : the quantities, all in one unit, at least one, [any]

    Returns
    -------
    The greatest, [same].

    Raises
    ------
    PhysicsError : on an empty list, which has no greatest.

    Range: any numbers, infinite ones too.

    Examples
    --------
    >>> import numpy as np
    >>> greatest([np.array([1.0, 5.0]), 3.0]).tolist()
    [3.0, 5.0]

    References
    ----------
    Arithmetic.
    """
    _refuse_nothing(of, "greatest")
    largest: Value = reduce(np.maximum, of)
    return largest


def difference(a: Value, b: Value) -> Value:
    """Difference a - b.

    Parameters
    ----------
    a : from this, [any]
    b : this is taken away, in the same unit, [any]

    Returns
    -------
    a - b, [same]. Two equal infinities differ by 0: two fills that both never end are alike.

    Range: any numbers.

    Examples
    --------
    >>> float(difference(5.0, 3.0))
    2.0
    >>> float(difference(float("inf"), float("inf")))
    0.0

    References
    ----------
    Arithmetic.
    """
    with np.errstate(invalid="ignore"):
        rest = np.subtract(a, b)
    result: Value = np.where(np.equal(a, b), 0.0, rest)[()]
    return result


def ratio(a: Value, b: Value) -> Value:
    """Quotient a / b.

    Parameters
    ----------
    a : numerator, [any]
    b : denominator, [any]

    Returns
    -------
    a / b, [any]. Infinite, with the sign of a, where only b is 0; 0 where both are 0 or both are infinite.

    Range: any numbers.

    Examples
    --------
    >>> float(ratio(6.0, 4.0)), float(ratio(1.0, 0.0)), float(ratio(0.0, 0.0))
    (1.5, inf, 0.0)

    References
    ----------
    Arithmetic.
    """
    undefined = (np.equal(a, 0) & np.equal(b, 0)) | (np.isinf(a) & np.isinf(b))
    with np.errstate(divide="ignore", invalid="ignore"):
        # Adding 0 turns -0 into 0, so that the sign of an infinite quotient is that of a.
        quotient = np.true_divide(a, np.add(b, 0.0))
    result: Value = np.where(undefined, 0.0, quotient)[()]
    return result


def linear_change(start: Value, rate: Value, time: Value) -> Value:
    """A quantity that changes evenly, start + rate x time.

    Parameters
    ----------
    start : value at time 0, [any]
    rate : change per second, [any/s]
    time : time gone by, [s]

    Returns
    -------
    Value after that time, in the unit of `start`, [same].

    Range: any finite numbers.

    Examples
    --------
    >>> round(linear_change(start=288.15, rate=0.03, time=600.0), 2)
    306.15

    References
    ----------
    Arithmetic.
    """
    return start + rate * time


def _refuse_nothing(of: Sequence[Value], what: str) -> None:
    """An empty list has neither a least nor a greatest."""
    if len(of) == 0:
        raise PhysicsError(
            f"`{what}` was given {len(of)} quantities, at least 1 is needed: list them under `of`"
        )
