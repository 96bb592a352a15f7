"""What makes physical sense where: a reading outside is a slip of the pen, the unit or the meter.

The limits are wide. They refuse what cannot be, not what is unusual: unusual readings are what a fault looks
like.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from types import MappingProxyType

from tundish.quantity.errors import QuantityError, quoted
from tundish.quantity.exact import TRADE
from tundish.quantity.parse import Quantity
from tundish.quantity.units import dimension_of, find, from_si, to_si

_VACUUM = "a vacuum is 101.325 kPa below the air, 10th CGPM 1954"
_ZERO_KELVIN = "absolute zero, BIPM SI Brochure 9th ed. 2019"
_WATER = f"water freezes at 0 and boils near 100 °C at air pressure, ITS-90; 2 K for the thermometer: {TRADE}"
_PASSIVE = "a passive part has no negative value: power in it would be made from nothing"
_SIZE = "a size or a count is not negative"
_LEADS = "swap the leads or the arrow of the meter and enter the size"


@dataclass(frozen=True)
class Limit:
    """The numbers that make sense at a place.

    place : its name; the place named like a dimension is used when none is given
    low, high : lowest and highest number allowed, in `unit`; infinite where there is none
    unit : a symbol of the unit table
    source : where low and high come from
    advice : what to do with a number outside
    """

    place: str
    low: float
    high: float
    unit: str
    source: str
    advice: str

    @property
    def low_si(self) -> float:
        """Lowest value allowed, SI."""
        return to_si(self.low, self.unit)

    @property
    def high_si(self) -> float:
        """Highest value allowed, SI."""
        return to_si(self.high, self.unit)


_END = math.inf
_UNIT = "check the number and the unit of the instrument"
_PRESSURE = "check the gauge's unit and zero, and read again"
_FLOW = "check the volume, the time and the unit, and measure again"
_WARM = "check whether the thermometer shows °C or °F, and read again"

_ALL = (
    # Above 2 MPa no house pipe holds. Below a vacuum nothing can be.
    Limit("pressure", -101.325, 2000, "kPa", f"{_VACUUM}; high: {TRADE}", _PRESSURE),
    Limit("pressure at a tap", 0, 2000, "kPa", TRADE, _PRESSURE),
    # A fast valve on a fast flow: 10 ft/s stopped at once is 4.5 MPa (Joukowsky).
    Limit("surge in a pipe", -101.325, 5000, "kPa", f"{_VACUUM}; high: {TRADE}", _PRESSURE),
    # Two metres of water are 20 kPa, more than any machine is high.
    Limit("pressure in a tub", 0, 20, "kPa", TRADE, "check the unit: a metre of water is 9.8 kPa"),
    Limit("pressure in a duct", -5000, 5000, "Pa", TRADE, "check the unit: an inch of water is 249 Pa"),
    # Wide enough for the air of a range hood; the places below hold for water.
    Limit("flow", 0, 1800, "m3/h", TRADE, _FLOW),
    Limit("flow at a tap", 0, 150, "L/min", TRADE, _FLOW),
    Limit("flow into a machine", 0, 60, "L/min", TRADE, _FLOW),
    Limit("air flow in a duct", 0, 1000, "m3/h", TRADE, _FLOW),
    Limit("flow resistance", 0, _END, "kPa/(L/min)2", _PASSIVE, _UNIT),
    # The size of a cistern.
    Limit("volume", 0, 10, "m3", f"{_SIZE}; high: {TRADE}", "check the volume and its unit"),
    Limit(
        "volume in a bucket",
        0,
        30,
        "L",
        f"{_SIZE}; high: {TRADE}",
        "check the mark on the bucket and its unit",
    ),
    Limit("water in a machine", 0, 200, "L", f"{_SIZE}; high: {TRADE}", "check the volume and its unit"),
    # No upper end: an open line is a reading.
    Limit(
        "resistance",
        0,
        _END,
        "ohm",
        _PASSIVE,
        "zero the leads, make sure the part is dead and apart, and read again",
    ),
    Limit("conductance", 0, _END, "S", _PASSIVE, _UNIT),
    # A direct voltage has a sign by the leads. Above 1000 V is microwave work, which is not ours.
    Limit(
        "voltage", -1000, 1000, "V", TRADE, "check the range of the meter; above 1000 V stop and hand over"
    ),
    # 480 V is the highest supply between lines in a shop; in a home 400 V is.
    Limit("mains voltage", 0, 480, "V", TRADE, "set the meter to AC; if it is true, isolate and hand over"),
    Limit("voltage at a sensor", -30, 30, "V", TRADE, "check the terminals and the range of the meter"),
    Limit(
        "current", -100, 100, "A", TRADE, "check the range and the zero of the clamp, and one conductor in it"
    ),
    Limit("mains current", 0, 100, "A", TRADE, f"{_LEADS}; check the range of the clamp"),
    Limit("leakage current", 0, 1000, "mA", TRADE, f"{_LEADS}; check the range of the clamp"),
    # A house connection seldom gives 20 kW to one machine.
    Limit("power", 0, 20, "kW", TRADE, f"{_LEADS}; check W or kW"),
    Limit("energy", 0, 1000, "kWh", TRADE, "check Wh or kWh, and the time it was counted"),
    # The flame of a gas burner is near the upper end.
    Limit("temperature", -273.15, 1500, "°C", f"{_ZERO_KELVIN}; high: {TRADE}", _WARM),
    # Liquid water in an open machine; wide by the thermometer's own error.
    Limit("water temperature", -2, 102, "°C", _WATER, _WARM),
    Limit("room temperature", -40, 60, "°C", TRADE, _WARM),
    Limit("air temperature in a dryer", -20, 300, "°C", TRADE, _WARM),
    Limit("oven temperature", -20, 600, "°C", TRADE, _WARM),
    Limit("cold storage temperature", -60, 60, "°C", TRADE, _WARM),
    Limit("temperature difference", -1500, 1500, "delta K", TRADE, _WARM),
    # A time reaches from a relay's click to the age of a house.
    Limit("time", 0, 100, "yr", f"{_SIZE}; high: {TRADE}", "check the time and its unit"),
    Limit("time of a fill", 0, 2, "h", f"{_SIZE}; high: {TRADE}", "check minutes against seconds"),
    Limit("time of a cycle", 0, 24, "h", f"{_SIZE}; high: {TRADE}", "check hours against minutes"),
    Limit("age of a machine", 0, 70, "yr", f"{_SIZE}; high: {TRADE}", "give the age in years"),
    # The longest pipe from the street.
    Limit("length", 0, 1000, "m", f"{_SIZE}; high: {TRADE}", "check the length and its unit"),
    Limit("bore", 0, 300, "mm", f"{_SIZE}; high: {TRADE}", "check mm against inches"),
    Limit("length of a hose", 0, 50, "m", f"{_SIZE}; high: {TRADE}", "check the length and its unit"),
    Limit(
        "water level in a machine", 0, 1.5, "m", f"{_SIZE}; high: {TRADE}", "check mm against cm and inches"
    ),
    Limit("area", 0, 100, "m2", f"{_SIZE}; high: {TRADE}", "check the area and its unit"),
    Limit("frequency", 0, 10, "MHz", f"{_SIZE}; high: {TRADE}", "check Hz against kHz"),
    Limit("mains frequency", 40, 70, "Hz", TRADE, "check the range of the meter"),
    Limit("drum speed", 0, 3000, "rpm", f"{_SIZE}; high: {TRADE}", "check rpm against Hz"),
    # A humidity or a share; 30 typed for 30 % is caught here.
    Limit("fraction", 0, 100, "%", "parts of a whole", "write a share from 0 to 1 or with %"),
    Limit("number", -_END, _END, "-", "no limit", _UNIT),
    Limit(
        "capacitance",
        0,
        1,
        "farad",
        f"{_SIZE}; high: {TRADE}",
        "check µF against nF; discharge before measuring",
    ),
    Limit(
        "motor capacitor",
        0,
        500,
        "µF",
        f"{_SIZE}; high: {TRADE}",
        "check µF against nF; discharge before measuring",
    ),
    # A machine with its water weighs far less.
    Limit("mass", 0, 1000, "kg", f"{_SIZE}; high: {TRADE}", "zero the scale; check kg against lb"),
    Limit("load of laundry", 0, 30, "kg", f"{_SIZE}; high: {TRADE}", "zero the scale; check kg against lb"),
    # A bare heater in air may gain 10 K in a second; water may not.
    Limit("heating rate", -600, 600, "K/min", TRADE, "check both temperatures and the time"),
    Limit("heating rate of water", -30, 30, "K/min", TRADE, "check both temperatures and the time"),
    Limit("velocity", 0, 200, "m/s", TRADE, _UNIT),
    Limit("angle", -360, 360, "deg", "a full turn", "give the angle within one turn"),
    Limit("hardness", 0, 5000, "mg/L", f"{_SIZE}; high: {TRADE}", "check the strip or kit and its unit"),
    Limit("heat capacity", 0, _END, "kJ/K", _PASSIVE, _UNIT),
    Limit("heat conductance", 0, _END, "W/K", _PASSIVE, _UNIT),
    # A thermistor's coefficient is below zero, copper's above.
    Limit("temperature coefficient", -_END, _END, "1/K", "no limit", _UNIT),
    Limit("pulses per volume", 0, _END, "pulses/L", _SIZE, _UNIT),
    Limit("frequency per length", -_END, _END, "Hz/mm", "no limit", _UNIT),
)

LIMITS: Mapping[str, Limit] = MappingProxyType({limit.place: limit for limit in _ALL})


def check(quantity: Quantity, place: str | None = None) -> Quantity:
    """The quantity itself when it makes sense at a place.

    A bound is held to the same limits; an open line (OL) makes sense wherever resistance has no upper limit.

    Parameters
    ----------
    quantity : what was entered
    place : a name of `LIMITS`; None for the limits of the dimension alone

    Raises
    ------
    QuantityError : outside the limits, an unknown place, a place of another dimension.

    Examples
    --------
    >>> check(Quantity(4.7e5, "pressure", "exact", "bar"), "pressure at a tap").value
    470000.0
    >>> check(Quantity(-5.0, "resistance", "exact", "ohm"))
    Traceback (most recent call last):
    ...
    tundish.quantity.errors.QuantityError: saw resistance of -5 ohm; allowed: 0 ohm or more; \
zero the leads, make sure the part is dead and apart, and read again
    """
    limit = _limit(quantity.dimension, place or quantity.dimension)
    if limit.low_si <= quantity.value <= limit.high_si:
        return quantity
    unit = quantity.unit if _convertible(quantity) else limit.unit
    sign = {"above": "> ", "below": "< "}.get(quantity.bound, "")
    raise QuantityError(
        seen=f"{limit.place} of {sign}{_number(quantity.value, unit, 7)} {find(unit).label}",
        allowed=_allowed(limit, unit),
        do=limit.advice,
    )


def _limit(dimension: str, place: str) -> Limit:
    limit = LIMITS.get(place)
    if limit is not None and dimension_of(limit.unit) == dimension_of(LIMITS[dimension].unit):
        return limit
    fitting = [p for p in LIMITS if dimension_of(LIMITS[p].unit) == dimension_of(LIMITS[dimension].unit)]
    near = get_close_matches(place, fitting, n=1)
    raise QuantityError(
        seen=f"{quoted(place)} as a place for {dimension}",
        allowed=", ".join(fitting),
        do=f"did you mean {near[0]}?" if near else "name one of these places, or none",
    )


def _convertible(quantity: Quantity) -> bool:
    """Whether the unit as typed can be shown again; "L in s" and "OL" cannot."""
    try:
        return dimension_of(quantity.unit) == quantity.dimension
    except QuantityError:
        return False


def _allowed(limit: Limit, unit: str) -> str:
    label = find(unit).label
    if math.isinf(limit.high):
        return f"{_number(limit.low_si, unit, 5)} {label} or more"
    return f"{_number(limit.low_si, unit, 5)} to {_number(limit.high_si, unit, 5)} {label}"


def _number(value_si: float, unit: str, digits: int) -> str:
    # More digits than a reading has, so that a number just outside is not shown as the limit itself.
    number = from_si(value_si, unit)
    text = f"{number:.{digits}g}"
    return f"{number:.12g}" if "e" in text else text
