"""Which unit is customary: metric or US, by dimension and size. All choices: common practice, no source."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from tundish.quantity.dimensions import dimension_named
from tundish.quantity.errors import QuantityError, quoted


@dataclass(frozen=True)
class Choice:
    """The units of a dimension in one system.

    usual : unit for zero and for what has no size
    steps : (least size in SI, unit), rising; the last one reached is used, the first below all
    """

    usual: str
    steps: tuple[tuple[float, str], ...]


def _one(unit: str) -> Choice:
    return Choice(unit, ((0.0, unit),))


_BOTH: dict[str, Choice] = {
    # Below a tenth of an ohm a technician reads a milliohm meter.
    "resistance": Choice("ohm", ((0.0, "mohm"), (0.1, "ohm"), (1e3, "kohm"), (1e6, "Mohm"), (1e9, "Gohm"))),
    "conductance": Choice("S", ((0.0, "µS"), (1e-3, "mS"), (1.0, "S"))),
    "voltage": Choice("V", ((0.0, "mV"), (0.1, "V"), (1e3, "kV"))),
    "current": Choice("A", ((0.0, "µA"), (1e-4, "mA"), (1.0, "A"))),
    "power": Choice("W", ((0.0, "W"), (1e3, "kW"))),
    "energy": Choice("Wh", ((0.0, "J"), (3600.0, "Wh"), (3.6e6, "kWh"))),
    # From 120 s to two days `show_in` writes these as on a clock.
    "time": Choice(
        "s", ((0.0, "ms"), (1.0, "s"), (120.0, "min"), (7200.0, "h"), (172800.0, "d"), (63115200.0, "yr"))
    ),
    "frequency": Choice("Hz", ((0.0, "Hz"), (1e3, "kHz"), (1e6, "MHz"))),
    "frequency per length": _one("Hz/mm"),
    "fraction": _one("%"),
    "number": _one("-"),
    # Motor capacitors are named in microfarads down to a tenth.
    "capacitance": Choice("µF", ((0.0, "pF"), (1e-9, "nF"), (1e-7, "µF"), (1.0, "farad"))),
    "angle": _one("deg"),
    "heat capacity": Choice("kJ/K", ((0.0, "J/K"), (1e3, "kJ/K"))),
    "heat conductance": _one("W/K"),
    "temperature coefficient": _one("%/K"),
}
_METRIC: dict[str, Choice] = {
    "pressure": Choice("kPa", ((0.0, "Pa"), (1e3, "kPa"), (1e7, "MPa"))),
    # From 0.01 m3/s on it is air.
    "flow": Choice("L/min", ((0.0, "mL/min"), (0.05 / 60000, "L/min"), (0.01, "m3/h"))),
    "flow resistance": _one("kPa/(L/min)2"),
    "volume": Choice("L", ((0.0, "mL"), (1e-4, "L"), (1.0, "m3"))),
    "temperature": _one("°C"),
    "temperature difference": _one("delta K"),
    "length": Choice("mm", ((0.0, "µm"), (1e-4, "mm"), (1.0, "m"))),
    "area": Choice("mm2", ((0.0, "mm2"), (1e-2, "cm2"), (1.0, "m2"))),
    "mass": Choice("kg", ((0.0, "g"), (1.0, "kg"))),
    "heating rate": _one("K/min"),
    "velocity": _one("m/s"),
    "hardness": _one("mg/L"),
    "pulses per volume": _one("pulses/L"),
}
_US: dict[str, Choice] = {
    # Ducts and level hoses are read in inches of water, taps in psi.
    "pressure": Choice("psi", ((0.0, "inH2O"), (2500.0, "psi"))),
    "flow": Choice("gpm", ((0.0, "gpm"), (0.01, "cfm"))),
    "flow resistance": _one("psi/gpm2"),
    "volume": Choice("gal", ((0.0, "fl oz"), (4e-4, "gal"))),
    "temperature": _one("°F"),
    "temperature difference": _one("delta °F"),
    # Hoses up to 4 ft are named in inches.
    "length": Choice("in", ((0.0, "in"), (1.2192, "ft"))),
    "area": Choice("in2", ((0.0, "in2"), (0.09290304, "ft2"))),
    "mass": Choice("lb", ((0.0, "oz"), (0.45359237, "lb"))),
    "heating rate": _one("°F/min"),
    "velocity": _one("ft/s"),
    "hardness": _one("gpg"),
    "pulses per volume": _one("pulses/gal"),
}

UNIT_SYSTEMS: Mapping[str, Mapping[str, Choice]] = MappingProxyType(
    {"metric": MappingProxyType(_BOTH | _METRIC), "US": MappingProxyType(_BOTH | _US)}
)


def unit_for(value: float, dimension: str, system: str) -> str:
    """The customary unit for a number of this size.

    Parameters
    ----------
    value : SI; the size alone counts
    dimension : a name of `tundish.quantity.dimensions.DIMENSIONS`
    system : "metric" or "US"

    Raises
    ------
    QuantityError : no such system or dimension.

    Examples
    --------
    >>> unit_for(3900.0, "resistance", "US"), unit_for(0.0, "pressure", "metric")
    ('kohm', 'kPa')
    """
    if system not in UNIT_SYSTEMS:
        raise QuantityError(
            seen=f"{quoted(system)} as a system of units",
            allowed=", ".join(UNIT_SYSTEMS),
            do="use one of these",
        )
    choice = UNIT_SYSTEMS[system][dimension_named(dimension).name]
    if value == 0 or not abs(value) < float("inf"):
        return choice.usual
    return [unit for least, unit in choice.steps if least <= abs(value)][-1]
