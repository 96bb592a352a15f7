"""Numbers in two or three falling units: "3 min 40 s", "5 ft 3 in", "2 lb 3 oz"."""

from __future__ import annotations

import re

from tundish.quantity.errors import QuantityError, quoted
from tundish.quantity.number import read_number
from tundish.quantity.table import Unit
from tundish.quantity.units import find

_PART = r"([0-9]+(?:[.,][0-9]+)*)\s*([A-Za-z]+)"
_COMPOUND = re.compile(rf"{_PART}(?:\s*{_PART}){{1,2}}")
_COMPOUNDED = frozenset({"time", "length", "mass"})


def read_compound(text: str) -> tuple[float, Unit] | None:
    """SI value and largest unit of a text with several numbers in units of one dimension; None for others.

    Raises
    ------
    QuantityError : the units do not fall, or a part is as large as one of the unit before it.

    Examples
    --------
    >>> read_compound("3 min 40 s")[0], round(read_compound("5 ft 3 in")[0], 4), read_compound("28 s")
    (220.0, 1.6002, None)
    """
    if not _COMPOUND.fullmatch(text):
        return None
    parts = re.findall(_PART, text)
    # An unknown or foreign unit is left to the plain reading, which says what is wrong with it.
    try:
        units = [find(unit) for _, unit in parts]
    except QuantityError:
        return None
    if len({unit.dimension for unit in units}) > 1 or units[0].dimension not in _COMPOUNDED:
        return None
    sizes = [read_number(number) * unit.factor for (number, _), unit in zip(parts, units, strict=True)]
    if any(size >= unit.factor for size, unit in zip(sizes[1:], units[:-1], strict=True)):
        raise QuantityError(
            seen=quoted(text),
            allowed="falling units, each part less than one of the unit before it",
            do="write it in one unit, as a decimal number",
        )
    return sum(sizes), units[0]
