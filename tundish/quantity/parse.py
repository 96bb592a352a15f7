"""From what a technician types to a number in SI.

The forms are listed in docs/quantity.md. What can be read in two ways is refused.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Literal

from tundish.quantity.clock import read_clock
from tundish.quantity.compound import read_compound
from tundish.quantity.dimensions import dimension_named, serves
from tundish.quantity.errors import QuantityError, quoted
from tundish.quantity.number import NUMBER, read_number
from tundish.quantity.rate import RATES, split_rate
from tundish.quantity.table import Unit
from tundish.quantity.units import difference_to_si, dimension_of, find, to_si, units_for

Bound = Literal["exact", "above", "below"]

_START = re.compile(rf"({NUMBER})\s*(.*)", re.DOTALL)
_BOUND = re.compile(
    r"(>=|<=|[><≥≤]|(?:over|above|more than|at least|under|below|less than|at most)(?=\s))\s*", re.IGNORECASE
)
_ABOVE = frozenset({">", ">=", "≥", "over", "above", "more than", "at least"})
# What meters show, and what is said, when the path is open or beyond the range.
_OPEN = re.compile(
    r"(?:o\.?\s?l\.?|ofl|overload|open(?: line| circuit)?|over range|∞)(?:\s*(\S.*))?", re.IGNORECASE
)
_LETTER_AS_POINT = re.compile(r"([kKMRrΩ])[0-9]+")
_UNIT_STARTS = '°%"″'


@dataclass(frozen=True)
class Quantity:
    """A number somebody entered.

    value : SI; infinite only for an open line
    dimension : a name of `tundish.quantity.dimensions.DIMENSIONS`
    bound : "exact", or "above" or "below" when the true value lies beyond `value`
    unit : as typed; "L in s" for an amount in a time, "OL" for an open line
    """

    value: float
    dimension: str
    bound: Bound
    unit: str

    def __post_init__(self) -> None:
        dimension_named(self.dimension)
        opened = self.value == math.inf and self.bound == "above" and self.dimension == "resistance"
        if not (math.isfinite(self.value) or opened):
            raise QuantityError(
                seen=f"{self.value} as {self.dimension}",
                allowed="a finite number, or an open line as resistance above infinity",
                do="enter what the instrument shows",
            )
        if self.bound not in ("exact", "above", "below"):
            raise QuantityError(
                seen=f"{self.bound!r} as a bound", allowed="exact, above, below", do="use one of these words"
            )


def parse(text: str, dimension: str | None = None) -> Quantity:
    """A number with its unit.

    Parameters
    ----------
    text : as typed
    dimension : the dimension asked for, None for any

    Raises
    ------
    QuantityError : not one number with one unit, an ambiguous number, another or an unknown dimension.

    Examples
    --------
    >>> parse("4.7 bar").value, parse("3:40 min").value
    (470000.0, 220.0)
    >>> round(parse("0.5 gal in 14 s", "flow").value * 60000, 3)
    8.112
    >>> parse("> 20 Mohm")
    Quantity(value=20000000.0, dimension='resistance', bound='above', unit='Mohm')
    """
    if dimension is not None:
        dimension_named(dimension)
    plain = text.replace("\N{MINUS SIGN}", "-").strip()
    opened = _OPEN.fullmatch(plain)
    if opened:
        return _open_line(plain, opened[1], dimension)
    bound, rest = _split_bound(plain)
    value, found, unit = _measure(rest, dimension)
    return Quantity(value, found, bound, unit)


def _split_bound(text: str) -> tuple[Bound, str]:
    match = _BOUND.match(text)
    if match is None:
        return "exact", text
    return ("above" if match[1].lower() in _ABOVE else "below"), text[match.end() :]


def _open_line(text: str, unit: str | None, asked: str | None) -> Quantity:
    if asked in (None, "resistance") and (unit is None or dimension_of(unit) == "resistance"):
        return Quantity(math.inf, "resistance", "above", text)
    wanted = asked or dimension_of(unit or "ohm")
    raise QuantityError(
        seen=f"{quoted(text)}, which says above the range of an ohmmeter",
        allowed=_choices(wanted),
        do=f"for a reading above the range write the range's end, as in > {dimension_named(wanted).example}",
    )


# SI value, dimension, unit as typed.
_Measured = tuple[float, str, str]


def _measure(text: str, asked: str | None) -> _Measured:
    # The special forms come first, because each begins like a plain number.
    found = read_clock(text) or read_compound(text)
    if found:
        return found[0], _agreed(text, found[1].dimension, asked), found[1].symbol
    parts = split_rate(text)
    return _rate(text, parts, asked) if parts else _simple(text, asked)


def _simple(text: str, asked: str | None) -> _Measured:
    match = _START.fullmatch(text)
    if match is None:
        raise QuantityError(
            seen=quoted(text), allowed=_choices(asked), do=f"write for example {_example(asked)}"
        )
    number = read_number(match[1])
    if not match[2]:
        return number, _bare(text, asked), "-"
    unit = _unit(text, match[2], asked)
    dimension = _agreed(text, unit.dimension, asked)
    convert = difference_to_si if dimension == "temperature difference" else to_si
    return convert(number, unit.symbol), dimension, match[2]


def _rate(text: str, parts: tuple[str, str], asked: str | None) -> _Measured:
    # The amount may have any dimension; the result is held against the one asked.
    amount, kind, unit = _simple(parts[0], None)
    seconds, _, time_unit = _measure(parts[1], "time")
    if seconds <= 0 or kind not in RATES:
        raise QuantityError(
            seen=quoted(text),
            allowed=f"an amount ({', '.join(RATES)}) in a time above 0 s",
            do="write for example 10 L in 28 s",
        )
    if kind == "temperature":
        # A rise has no offset.
        amount = _simple(parts[0], "temperature difference")[0]
    return amount / seconds, _agreed(text, RATES[kind], asked), f"{unit} in {time_unit}"


def _bare(text: str, asked: str | None) -> str:
    # Only what is counted or a share may stand without a unit.
    if asked in ("number", "fraction"):
        return asked
    raise QuantityError(
        seen=f"{quoted(text)} without a unit",
        allowed=_choices(asked),
        do=f"add the unit that stands on the instrument, for example {_example(asked)}",
    )


def _unit(text: str, typed: str, asked: str | None) -> Unit:
    try:
        return find(typed)
    except QuantityError as error:
        advice = _shape_advice(typed) or error.do
        raise QuantityError(
            seen=f"{quoted(text)} with the unit {quoted(typed)}", allowed=_choices(asked), do=advice
        ) from None


def _shape_advice(typed: str) -> str:
    """What to do when the text behind the number is not a unit at all."""
    # Digits: thousands set apart, or a mixed fraction such as 1 3/4.
    if typed[0] in "0123456789":
        return "write the number without spaces and as a decimal, for example 1200 or 0.75"
    if _LETTER_AS_POINT.fullmatch(typed):
        return "write the point where the letter stands, for example 1.2 kohm for 1k2, 4.7 ohm for 4R7"
    # A dash, a slash, a plus-minus sign or a built fraction.
    if not typed[0].isalpha() and typed[0] not in _UNIT_STARTS:
        return "write one decimal number; enter the readings of a range one by one"
    return ""


def _agreed(text: str, found: str, asked: str | None) -> str:
    """The dimension the number is taken for."""
    if asked is None or serves(found, asked):
        return asked or found
    raise QuantityError(
        seen=f"{quoted(text)}, which is {found}",
        allowed=_choices(asked),
        do=f"give {asked}, for example {_example(asked)}, or pick the check that asks for {found}",
    )


def _choices(asked: str | None) -> str:
    if asked is None:
        return "a number and its unit"
    return f"{asked} in {', '.join(units_for(asked))}"


def _example(asked: str | None) -> str:
    return dimension_named(asked or "pressure").example
