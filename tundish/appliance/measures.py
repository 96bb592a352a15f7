"""Numbers that may carry a unit: plain in a stated unit, or a text such as "9.5 mm".

A number that was refused comes back as NaN, so that no comparison with it holds.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from tundish.appliance.fields import ANY, Range, is_number, number
from tundish.appliance.lines import Node, Text
from tundish.quantity.dimensions import dimension_named, serves
from tundish.quantity.errors import QuantityError
from tundish.quantity.parse import parse
from tundish.quantity.units import difference_to_si, dimension_of, from_si, si_unit, to_si

# What laws and forms write for an input whose unit follows from what is bound to it.
_OPEN_UNITS = ("", "any", "same")


@dataclass(frozen=True)
class Scale:
    """The unit in which plain numbers are written.

    unit : symbol; "", "any" or "same" where every unit will do, then plain numbers are SI.
    difference : the number is a spread, an error or a sum, so a temperature has no offset.
    """

    unit: str
    difference: bool = False

    @property
    def dimension(self) -> str | None:
        """The unit's dimension, None where every unit will do."""
        return dimension(self.unit)

    @property
    def asked(self) -> str | None:
        """The dimension a text must have."""
        return (
            "temperature difference"
            if self.difference and self.dimension == "temperature"
            else self.dimension
        )

    def to_si(self, value: float) -> float:
        """A plain number in SI."""
        # Without a known unit a plain number is taken as it stands.
        if not known(self.unit):
            return value
        return difference_to_si(value, self.unit) if self.difference else to_si(value, self.unit)

    def from_si(self, value: float) -> float:
        """The inverse of `to_si`."""
        if not known(self.unit):
            return value
        # A difference has no offset, so its inverse is a plain ratio.
        return value / difference_to_si(1.0, self.unit) if self.difference else from_si(value, self.unit)


PLAIN = Scale("-")


@lru_cache(maxsize=1024)
def known(symbol: str) -> bool:
    """Whether a unit is in the table of units."""
    try:
        dimension_of(symbol)
    except QuantityError:
        return False
    return symbol != ""


def dimension(symbol: str) -> str | None:
    """The dimension of a unit, None where every unit will do.

    An input in a unit outside the table takes plain numbers only.

    >>> dimension("kPa"), dimension("any"), dimension("kg m2/s3")
    ('pressure', None, 'number')
    """
    if symbol in _OPEN_UNITS:
        return None
    return dimension_of(symbol) if known(symbol) else "number"


def agree(one: str | None, other: str | None) -> bool:
    """Whether two dimensions may stand for each other; None agrees with all.

    >>> agree("number", "fraction"), agree("pressure", "flow"), agree(None, "flow")
    (True, False, True)
    """
    return one is None or other is None or serves(one, other) or serves(other, one)


def unit(node: Node | None, default: str = "") -> str:
    """The symbol of a known unit; refuses others."""
    if node is None:
        return default
    if not isinstance(node, Text) or node.is_null:
        node.refuse("a unit", 'write a unit, or "-" for a plain number')
        return default
    try:
        dimension_of(node.text)
    except QuantityError as error:
        node.refuse(error.allowed, error.do)
        return default
    return node.text


def in_si(node: Node | None, scale: Scale, within: Range = ANY, default: float = 0.0) -> float:
    """A number in SI: a plain one is in the scale's unit, a text carries its own. The range is in SI."""
    if node is None:
        return default
    value = _read(node, scale) if _is_measured(node) else scale.to_si(number(node, default=math.nan))
    return _within(node, value, within)


def in_unit(node: Node, scale: Scale, within: Range = ANY) -> float:
    """A number in the scale's unit: a text with another unit is turned into it. The range is in that unit."""
    value = scale.from_si(_read(node, scale)) if _is_measured(node) else number(node, default=math.nan)
    if _is_measured(node) and not known(scale.unit):
        # The unit to turn it into was refused where it stands.
        return math.nan
    return _within(node, value, within)


def starts_like_number(written: str) -> bool:
    """True for a text that is meant as a number and not as a name.

    >>> starts_like_number("9.5 mm"), starts_like_number("static_cold")
    (True, False)
    """
    return written[:1] in "+-.<>\N{MINUS SIGN}0123456789"


def unit_of(written: str) -> str:
    """The unit a text such as "20 kPa" is written in, "" when it is no number with a unit.

    >>> unit_of("9.5 L"), unit_of("10 L in 28 s"), unit_of("much")
    ('L', 'm3/s', '')
    """
    try:
        found = parse(written)
    except QuantityError:
        return ""
    # What was typed may be no unit, as in 10 L in 28 s.
    return found.unit if known(found.unit) else si_unit(found.dimension)


def _is_measured(node: Node) -> bool:
    return isinstance(node, Text) and not node.is_null and not is_number(node)


def _within(node: Node, value: float, within: Range) -> float:
    if not math.isnan(value) and not within.holds(value):
        node.refuse(within.words, "correct the number or its unit")
        return math.nan
    return value


def _read(node: Node, scale: Scale) -> float:
    """A text's value in SI."""
    written = node.text if isinstance(node, Text) else ""
    try:
        found = parse(written, scale.asked)
    except QuantityError:
        node.refuse(_allowed(scale), _advice(written, scale))
        return math.nan
    if found.bound != "exact":
        node.refuse("one number", "take out the sign in front")
        return math.nan
    return found.value


def _allowed(scale: Scale) -> str:
    if scale.asked is None:
        return "a number and its unit"
    if not known(scale.unit):
        return f"a plain number, in {scale.unit}"
    return f'a number in {scale.unit}, or a text with unit such as "{dimension_named(scale.asked).example}"'


def _advice(written: str, scale: Scale) -> str:
    """What to do about a text that is no number of the dimension asked."""
    try:
        found = parse(written)
    except QuantityError as error:
        return error.do
    return f"use a unit of {scale.asked}, not of {found.dimension}"
