"""Conversion of floats and arrays between units and SI.

Numbers are floats or arrays of any shape; the shape is kept. Values that are not numbers pass through.
"""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches
from functools import lru_cache
from types import MappingProxyType
from typing import overload

import numpy as np
import numpy.typing as npt

from tundish.quantity.dimensions import dimension_named, serves
from tundish.quantity.errors import QuantityError, quoted
from tundish.quantity.spelling import fold, tidy
from tundish.quantity.table import UNITS, Unit

__all__ = [
    "UNITS", "difference_to_si", "dimension_of", "find", "from_si", "si_unit", "to_si", "units_for",
]  # fmt: skip

Floats = npt.NDArray[np.float64]

# Spellings that two readers would take for two things, or that need a number the technician must add.
REFUSED: Mapping[str, str] = MappingProxyType(
    {
        "psia": "this is absolute: take off the air pressure of the day, about 14.7 psi, and give psi",
        "bara": "this is absolute: take off the air pressure of the day, about 1.01 bar, and give bar",
        "kPaa": "this is absolute: take off the air pressure of the day, about 101 kPa, and give kPa",
        "mF": "old labels write it for microfarad: write µF, or 0.001 farad for a millifarad",
        "MF": "old labels write it for microfarad: write µF",
        "k": "a prefix alone: write kohm, kPa, kW or what is meant",
        "M": "a prefix alone: write Mohm, MPa, m or what is meant",
    }
)
_USUAL = "a known unit, such as kPa, psi, L/min, gpm, ohm, V, A, W, °C, °F, s, mm"


def _spellings(unit: Unit) -> tuple[str, ...]:
    return tuple(tidy(spelling) for spelling in (unit.symbol, *unit.spellings))


_EXACT = {spelling: unit for unit in UNITS.values() for spelling in _spellings(unit)}


def _folded() -> dict[str, Unit]:
    meanings: dict[str, set[str]] = {}
    for spelling, unit in _EXACT.items():
        meanings.setdefault(fold(spelling), set()).add(unit.symbol)
    # A key with two meanings, as ms for mS and ms, is good for neither.
    return {key: UNITS[symbols.pop()] for key, symbols in meanings.items() if len(symbols) == 1}


_FOLDED = _folded()


def _near(spelling: str) -> list[str]:
    lower = {known.lower(): unit.symbol for known, unit in _EXACT.items()}
    same = [unit.symbol for known, unit in _EXACT.items() if known.lower() == spelling.lower()]
    close = get_close_matches(spelling.lower(), lower, n=5)
    # A slip of the finger seldom hits the first letter.
    likely = [match for match in close if match[0] == spelling[0].lower()] or close
    return list(dict.fromkeys(same or (lower[match] for match in likely)))[:3]


def _advice(spelling: str) -> str:
    if spelling in REFUSED:
        return REFUSED[spelling]
    near = _near(spelling)
    return f"did you mean {' or '.join(near)}?" if near else "write the unit that stands on the instrument"


@lru_cache(maxsize=1024)
def find(unit: str) -> Unit:
    """The record of a unit, by its symbol or any of its spellings.

    Raises
    ------
    QuantityError : no such unit, or a spelling with two meanings.

    Examples
    --------
    >>> find("GAL/MIN").symbol, find("k\N{OHM SIGN}").symbol
    ('gpm', 'kohm')
    >>> find("psy")
    Traceback (most recent call last):
    ...
    tundish.quantity.errors.QuantityError: saw 'psy' as a unit; allowed: a known unit, such as \
kPa, psi, L/min, gpm, ohm, V, A, W, °C, °F, s, mm; did you mean psi?
    """
    # What is written exactly goes first, so that S and s, or mS and ms, keep their meanings.
    spelling = tidy(unit)
    found = _EXACT.get(spelling) or _FOLDED.get(fold(spelling))
    if found is None or spelling in REFUSED:
        raise QuantityError(seen=f"{quoted(unit)} as a unit", allowed=_USUAL, do=_advice(spelling))
    return found


@overload
def to_si(value: float, unit: str) -> float: ...
@overload
def to_si(value: Floats, unit: str) -> Floats: ...
def to_si(value: float | Floats, unit: str) -> float | Floats:
    """A number in a unit, in SI.

    Parameters
    ----------
    value : float or array of any shape, [unit]
    unit : symbol or spelling of the unit

    Raises
    ------
    QuantityError : unknown unit.

    Examples
    --------
    >>> round(to_si(80.0, "psi")), round(to_si(54.0, "F"), 2)
    (551581, 285.37)
    """
    row = find(unit)
    return row.factor * (value + row.offset)


@overload
def from_si(value: float, unit: str) -> float: ...
@overload
def from_si(value: Floats, unit: str) -> Floats: ...
def from_si(value: float | Floats, unit: str) -> float | Floats:
    """A number in SI, in a unit; the inverse of `to_si`.

    Parameters
    ----------
    value : float or array of any shape, SI
    unit : symbol or spelling of the unit

    Raises
    ------
    QuantityError : unknown unit.

    Examples
    --------
    >>> round(from_si(273.15, "F"), 9)
    32.0
    """
    row = find(unit)
    return value / row.factor - row.offset


@overload
def difference_to_si(value: float, unit: str) -> float: ...
@overload
def difference_to_si(value: Floats, unit: str) -> Floats: ...
def difference_to_si(value: float | Floats, unit: str) -> float | Floats:
    """A difference, spread or error in a unit, in SI: a temperature's offset is left out.

    Parameters
    ----------
    value : float or array of any shape, [unit]
    unit : symbol or spelling of the unit

    Raises
    ------
    QuantityError : unknown unit.

    Examples
    --------
    >>> difference_to_si(18.0, "F"), difference_to_si(5.0, "kPa")
    (10.0, 5000.0)
    """
    return find(unit).factor * value


def dimension_of(unit: str) -> str:
    """The dimension of a unit.

    Raises
    ------
    QuantityError : unknown unit.

    Examples
    --------
    >>> dimension_of("gpm"), dimension_of("K"), dimension_of("delta K")
    ('flow', 'temperature', 'temperature difference')
    """
    return find(unit).dimension


def si_unit(dimension: str) -> str:
    """The symbol of the unit kept inside for a dimension.

    Raises
    ------
    QuantityError : unknown dimension.

    Examples
    --------
    >>> si_unit("flow"), si_unit("fraction")
    ('m3/s', '-')
    """
    return dimension_named(dimension).si


def units_for(dimension: str) -> tuple[str, ...]:
    """The symbols that may be written for a dimension, the usual ones first.

    Raises
    ------
    QuantityError : unknown dimension.

    Examples
    --------
    >>> units_for("temperature difference")
    ('delta K', 'delta °C', 'delta °F', '°C', '°F', 'K')
    """
    own = dimension_named(dimension).name
    usable = [row for row in UNITS.values() if serves(row.dimension, own)]
    return tuple(row.symbol for row in sorted(usable, key=lambda row: row.dimension != own))
