"""From a number in SI to what a technician reads.

Three significant digits, and no digit before the point is lost: about as fine as the instruments of a call.
`digits` changes that.
"""

from __future__ import annotations

import math

from tundish.quantity.clock import show_clock
from tundish.quantity.errors import QuantityError
from tundish.quantity.parse import Quantity
from tundish.quantity.systems import UNIT_SYSTEMS, unit_for
from tundish.quantity.table import Unit
from tundish.quantity.units import find, from_si

__all__ = ["UNIT_SYSTEMS", "rounded", "show", "show_in", "show_quantity", "unit_for"]

_DIGITS = 3
# What an endless number means to a technician, where it means something.
_ENDLESS = {"resistance": "OL", "time": "never"}
_SIGNS = {"exact": "", "above": "> ", "below": "< "}


def show(value_si: float, unit: str, digits: int | None = None) -> str:
    """A number in a unit, rounded.

    Parameters
    ----------
    value_si : SI; infinite resistance shows as OL, infinite time as never, not-a-number as unknown
    unit : symbol or spelling of the unit
    digits : significant digits to keep, 1 or more; None for three or all before the point

    Raises
    ------
    QuantityError : unknown unit, digits below 1.

    Examples
    --------
    >>> show(301234.0, "kPa"), show(1.4e-4, "L/min"), show(3900.0, "kohm"), show(float("inf"), "ohm")
    ('301 kPa', '8.4 L/min', '3.9 kohm', 'OL')
    >>> show(301234.0, "psi", digits=2)
    '44 psi'
    """
    row = find(unit)
    if math.isnan(value_si):
        return "unknown"
    if math.isinf(value_si):
        return _endless(value_si, row)
    return _behind(rounded(from_si(value_si, row.symbol), digits), row.label)


def show_in(value_si: float, dimension: str, system: str, *, digits: int | None = None) -> str:
    """A number in the customary unit of a system.

    From two minutes to two days a time is shown as on a clock, unless `digits` is given.

    Parameters
    ----------
    value_si : SI
    dimension : a name of `tundish.quantity.dimensions.DIMENSIONS`
    system : "metric" or "US"
    digits : as in `show`

    Raises
    ------
    QuantityError : no such dimension or system, digits below 1.

    Examples
    --------
    >>> [show_in(3e5, "pressure", system) for system in ("metric", "US")]
    ['300 kPa', '43.5 psi']
    >>> show_in(4.7e6, "resistance", "US"), show_in(220.0, "time", "metric")
    ('4.7 Mohm', '3:40 min')
    >>> show_in(5.0, "temperature difference", "US")
    '9 °F'
    """
    unit = unit_for(value_si, dimension, system)
    if unit in ("min", "h") and digits is None and value_si > 0:
        return show_clock(value_si)
    return show(value_si, unit, digits)


def show_quantity(quantity: Quantity, system: str) -> str:
    """A quantity with its bound in the customary unit of a system.

    Raises
    ------
    QuantityError : no such system.

    Examples
    --------
    >>> show_quantity(Quantity(2e7, "resistance", "above", "Mohm"), "metric")
    '> 20 Mohm'
    """
    # OL already says that the value lies above.
    sign = "" if math.isinf(quantity.value) else _SIGNS[quantity.bound]
    return sign + show_in(quantity.value, quantity.dimension, system)


def rounded(value: float, digits: int | None = None) -> str:
    """A finite number to significant digits, without a unit.

    Raises
    ------
    QuantityError : digits below 1.

    Examples
    --------
    >>> rounded(8.4), rounded(1234.5), rounded(1234.5, 2), rounded(8.4, 3), rounded(-0.0001234)
    ('8.4', '1234', '1200', '8.40', '-0.000123')
    """
    if digits is not None and digits < 1:
        raise QuantityError(
            seen=f"{digits} digits", allowed="1 or more", do="leave digits out for the usual three"
        )
    if value == 0:
        return "0"
    before_point = math.floor(math.log10(abs(value))) + 1
    decimals = (digits or max(_DIGITS, before_point)) - before_point
    # Very small and very large numbers would be rows of zeros.
    if not -6 < before_point < 10:
        return f"{value:.{digits or _DIGITS}g}"
    text = f"{round(value, decimals):.{max(decimals, 0)}f}"
    # Zeros at the end say something only when the digits were asked for.
    return text if digits or "." not in text else text.rstrip("0").rstrip(".")


def _behind(number: str, label: str) -> str:
    return number if label == "-" else f"{number} {label}"


def _endless(value: float, row: Unit) -> str:
    if value > 0 and row.dimension in _ENDLESS:
        return _ENDLESS[row.dimension]
    return _behind("∞" if value > 0 else "-∞", row.label)
