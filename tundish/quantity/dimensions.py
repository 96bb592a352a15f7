"""The kinds of number a technician enters: what each is called, its SI unit, an example that parses."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from tundish.quantity.errors import QuantityError, quoted


@dataclass(frozen=True)
class Dimension:
    """A kind of number.

    name : what messages and records call it
    si : symbol of the unit kept inside
    example : a text that `tundish.quantity.parse.parse` takes for it
    """

    name: str
    si: str
    example: str


_ALL = (
    Dimension("pressure", "Pa", "68 psi"),
    Dimension("flow", "m3/s", "10 L in 28 s"),
    Dimension("flow resistance", "Pa s2/m6", "0.1 kPa/(L/min)2"),
    Dimension("volume", "m3", "10 L"),
    Dimension("resistance", "ohm", "1.2 kohm"),
    Dimension("conductance", "S", "0.1 S"),
    Dimension("voltage", "V", "230 V"),
    Dimension("current", "A", "9.5 A"),
    Dimension("power", "W", "2.1 kW"),
    Dimension("energy", "J", "1.1 kWh"),
    Dimension("temperature", "K", "54 °F"),
    Dimension("temperature difference", "K", "5 delta K"),
    Dimension("time", "s", "3:40 min"),
    Dimension("length", "m", "9.5 mm"),
    Dimension("area", "m2", "70 mm2"),
    Dimension("frequency", "Hz", "25 kHz"),
    Dimension("fraction", "-", "30 %"),
    Dimension("number", "-", "450 pulses"),
    Dimension("capacitance", "farad", "12 µF"),
    Dimension("mass", "kg", "5 kg"),
    Dimension("heating rate", "K/s", "1.4 K/min"),
    Dimension("velocity", "m/s", "2.5 m/s"),
    Dimension("angle", "rad", "90 deg"),
    Dimension("hardness", "kg/m3", "250 mg/L"),
    Dimension("heat capacity", "J/K", "20 kJ/K"),
    Dimension("heat conductance", "W/K", "3 W/K"),
    Dimension("temperature coefficient", "1/K", "0.39 %/K"),
    Dimension("pulses per volume", "1/m3", "450 pulses/L"),
    Dimension("frequency per length", "Hz/m", "15 Hz/mm"),
)

DIMENSIONS: Mapping[str, Dimension] = MappingProxyType({d.name: d for d in _ALL})

# A unit of the first may be written where the second is asked. A temperature unit then loses its offset.
LENDS = frozenset({("temperature", "temperature difference"), ("number", "fraction"), ("fraction", "number")})


def dimension_named(name: str) -> Dimension:
    """The record of a dimension.

    Raises
    ------
    QuantityError : no such dimension.

    Examples
    --------
    >>> dimension_named("flow").si
    'm3/s'
    """
    try:
        return DIMENSIONS[name]
    except KeyError:
        raise QuantityError(
            seen=f"{quoted(name)} as a dimension", allowed=", ".join(DIMENSIONS), do="use one of these names"
        ) from None


def serves(unit_dimension: str, asked: str) -> bool:
    """Whether a unit of one dimension may be written where `asked` is asked.

    Examples
    --------
    >>> serves("temperature", "temperature difference"), serves("temperature difference", "temperature")
    (True, False)
    """
    return unit_dimension == asked or (unit_dimension, asked) in LENDS
