"""The unit table: every unit Tundish knows, its spellings, its factor to SI and where the factor comes from.

Rows are (symbol, factor, source, other spellings). Messages offer the symbols in this order.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from tundish.quantity import exact
from tundish.quantity.exact import COUNT, NIST, SI, TRADE, WATER_COLUMN, WITH_SI


@dataclass(frozen=True)
class Unit:
    """A unit: SI value = factor x (number + offset).

    symbol : how the unit is shown
    dimension : a name of `tundish.quantity.dimensions.DIMENSIONS`
    factor : SI units in one of this unit
    offset : added first, in this unit; 0 but for °C and °F
    spellings : other ways to write it
    source : where the factor comes from
    """

    symbol: str
    dimension: str
    factor: float
    offset: float
    spellings: tuple[str, ...]
    source: str

    @property
    def label(self) -> str:
        """The symbol as written behind a number: a difference is shown without the word delta."""
        return self.symbol.removeprefix("delta ")


Row = tuple[str, float, str, str]

_PSI = exact.POUND * exact.GRAVITY / exact.INCH**2

# Spellings are separated by commas. Upper and lower case are handled in `tundish.quantity.units`.
_FLUIDS: dict[str, tuple[Row, ...]] = {
    "pressure": (
        ("kPa", 1e3, SI, "kilopascal, kilopascals"),
        ("bar", 1e5, exact.BAR_SOURCE, "bars, barg, bar g, bar(g)"),
        # Gauges show pressure above the air's; "pounds" alone means psi to a plumber.
        ("psi", _PSI, NIST, "psig, psi g, lb/in2, lbf/in2, pounds"),
        ("mbar", 1e2, exact.BAR_SOURCE, "millibar, hPa"),
        ("MPa", 1e6, SI, "megapascal"),
        ("Pa", 1.0, SI, "pascal, pascals"),
        # Ducts and level hoses. One density whatever the temperature: within 0.5 % up to 30 °C.
        (
            "inH2O",
            exact.WATER * exact.INCH,
            WATER_COLUMN,
            "in H2O, in wg, in wc, inwg, inwc, iwg, iwc, in water",
        ),
        ("mmH2O", exact.WATER * 1e-3, WATER_COLUMN, "mm H2O, mm wg, mm wc, mm water"),
        ("m water", exact.WATER, WATER_COLUMN, "mH2O, m H2O, m wc, m wg, mwc"),
        ("ft water", exact.WATER * exact.FOOT, WATER_COLUMN, "ftH2O, ft H2O, ft wc, ft wg, feet of water"),
        ("kgf/cm2", exact.GRAVITY * 1e4, NIST, "kg/cm2, kgf/cm2 g"),
    ),
    "flow": (
        (
            "L/min",
            exact.LITRE / exact.MINUTE,
            WITH_SI,
            "lpm, L/minute, litre/min, litres/min, liters/min, dm3/min",
        ),
        # The gallon is the US one everywhere.
        ("gpm", exact.GALLON / exact.MINUTE, NIST, "gal/min, gallon/min, gallons/min, US gpm, USgpm"),
        ("L/s", exact.LITRE, WITH_SI, "lps, L/sec, litre/s, litres/s, liters/s, dm3/s"),
        ("L/h", exact.LITRE / exact.HOUR, WITH_SI, "lph, L/hr, litre/h, litres/h, liters/h"),
        ("mL/min", 1e-6 / exact.MINUTE, WITH_SI, "cc/min, cm3/min"),
        ("m3/h", 1 / exact.HOUR, WITH_SI, "m3/hr, cubic metres/h, cubic meters/h"),
        ("m3/s", 1.0, SI, "m3/sec"),
        ("cfm", exact.FOOT**3 / exact.MINUTE, NIST, "ft3/min, cu ft/min, cubic feet/min"),
        ("gal/h", exact.GALLON / exact.HOUR, NIST, "gph, gal/hr"),
    ),
    # Drop of pressure over the square of the flow.
    "flow resistance": (
        ("kPa/(L/min)2", 1e3 / (exact.LITRE / exact.MINUTE) ** 2, WITH_SI, ""),
        ("psi/gpm2", _PSI / (exact.GALLON / exact.MINUTE) ** 2, NIST, "psi/(gal/min)2"),
        ("Pa s2/m6", 1.0, SI, "Pa/(m3/s)2"),
    ),
    "volume": (
        ("L", exact.LITRE, WITH_SI, "l, litre, litres, liter, liters, dm3"),
        ("gal", exact.GALLON, NIST, "gallon, gallons, gals, US gal"),
        ("mL", 1e-6, WITH_SI, "ml, cc, cm3, millilitre, milliliter"),
        ("m3", 1.0, SI, "cubic metre, cubic meter, cubic metres, cubic meters"),
        ("qt", exact.GALLON / 4, NIST, "quart, quarts"),
        ("fl oz", exact.GALLON / 128, NIST, "floz, fluid ounce, fluid ounces"),
        ("ft3", exact.FOOT**3, NIST, "cu ft, cubic foot, cubic feet"),
        ("in3", exact.INCH**3, NIST, "cu in, cubic inch, cubic inches"),
    ),
    "hardness": (
        # All as calcium carbonate.
        ("mg/L", 1e-3, WITH_SI, "ppm, g/m3"),
        ("gpg", exact.GRAIN / exact.GALLON, NIST, "gr/gal, grains/gal, grains/gallon"),
        ("°dH", exact.GERMAN_DEGREE, exact.ATOMIC_WEIGHTS, "dH, °d"),
        ("°fH", 1e-2, exact.ATOMIC_WEIGHTS, "fH, °f hardness"),
        ("mmol/L", exact.CHALK, exact.ATOMIC_WEIGHTS, "mol/m3"),
        ("kg/m3", 1.0, SI, "g/L"),
    ),
    "pulses per volume": (
        ("pulses/L", 1 / exact.LITRE, WITH_SI, "1/L, pulse/L, p/L, imp/L"),
        ("pulses/gal", 1 / exact.GALLON, NIST, "1/gal, pulse/gal, p/gal"),
        ("1/m3", 1.0, SI, "pulses/m3"),
    ),
}

_ELECTRIC: dict[str, tuple[Row, ...]] = {
    "resistance": (
        # Milli and mega are told apart by the capital only: see fold in `tundish.quantity.spelling`.
        ("ohm", 1.0, SI, "Ω, ohms"),
        ("kohm", 1e3, SI, "kΩ, k ohm, k ohms, k Ω, kohms, kilohm, kilohms, kiloohm"),
        ("Mohm", 1e6, SI, "MΩ, M ohm, M ohms, M Ω, Mohms, megohm, megohms, Megohm, Megohms, megaohm"),
        ("mohm", 1e-3, SI, "mΩ, m ohm, m ohms, m Ω, mohms, milliohm, milliohms"),
        ("Gohm", 1e9, SI, "GΩ, G ohm, G ohms, G Ω, Gohms, gigaohm"),
    ),
    "conductance": (("S", 1.0, SI, "siemens"), ("mS", 1e-3, SI, ""), ("µS", 1e-6, SI, "uS")),
    "voltage": (
        ("V", 1.0, SI, "v, volt, volts, VAC, VDC, V AC, V DC, V~"),
        ("mV", 1e-3, SI, "millivolt, millivolts, mVAC, mVDC, mV AC, mV DC"),
        ("kV", 1e3, SI, "kilovolt, kilovolts"),
    ),
    "current": (
        ("A", 1.0, SI, "a, amp, amps, ampere, amperes"),
        ("mA", 1e-3, SI, "milliamp, milliamps"),
        ("µA", 1e-6, SI, "uA, microamp, microamps"),
    ),
    "power": (
        ("W", 1.0, SI, "w, watt, watts"),
        ("kW", 1e3, SI, "kilowatt, kilowatts"),
        ("Btu/h", exact.BTU / exact.HOUR, NIST, "Btu/hr, Btuh"),
    ),
    "energy": (
        ("kWh", 3.6e6, WITH_SI, "kilowatt hour, kilowatt hours"),
        ("Wh", 3600.0, WITH_SI, "watt hour, watt hours"),
        ("J", 1.0, SI, "joule, joules, Ws"),
        ("kJ", 1e3, SI, "kilojoule, kilojoules"),
        ("MJ", 1e6, SI, "megajoule, megajoules"),
        ("Btu", exact.BTU, NIST, "Btus"),
    ),
    "capacitance": (
        # Motor capacitors in North America are marked MFD for microfarad.
        ("µF", 1e-6, SI, "uF, microfarad, microfarads, mfd, MFD, µfd, ufd"),
        ("nF", 1e-9, SI, "nanofarad, nanofarads"),
        ("pF", 1e-12, SI, "picofarad, picofarads"),
        ("farad", 1.0, SI, "farads"),
    ),
    "frequency": (
        # Turns and pulses are counted as cycles, so 60 rpm is 1 Hz, not an angle per second.
        ("Hz", 1.0, SI, "hertz, 1/s, pulses/s, pulse/s, pulses/sec, imp/s"),
        ("kHz", 1e3, SI, "kilohertz"),
        ("rpm", 1 / exact.MINUTE, WITH_SI, "r/min, rev/min, 1/min, turns/min, pulses/min"),
        ("MHz", 1e6, SI, "megahertz"),
    ),
    "frequency per length": (
        ("Hz/mm", 1e3, SI, ""),
        ("Hz/m", 1.0, SI, ""),
        ("Hz/in", 1 / exact.INCH, NIST, ""),
    ),
}

_HEAT: dict[str, tuple[Row, ...]] = {
    "temperature": (
        # C and F alone are degrees: nobody on a call means coulomb or farad.
        ("°C", 1.0, WITH_SI, "C, c, degC, deg C, degrees C, degree C, celsius, °celsius"),
        ("°F", exact.FAHRENHEIT, NIST, "F, f, degF, deg F, degrees F, degree F, fahrenheit, °fahrenheit"),
        ("K", 1.0, SI, "kelvin, kelvins"),
    ),
    "temperature difference": (
        # Where a difference is asked, K, °C and °F are taken as differences too.
        ("delta K", 1.0, SI, "ΔK, Δ K, deltaK"),
        ("delta °C", 1.0, WITH_SI, "Δ°C, Δ °C, ΔC, delta C, deltaC, delta deg C"),
        ("delta °F", exact.FAHRENHEIT, NIST, "Δ°F, Δ °F, ΔF, delta F, deltaF, delta deg F"),
    ),
    "heating rate": (
        ("K/min", 1 / exact.MINUTE, WITH_SI, ""),
        ("°C/min", 1 / exact.MINUTE, WITH_SI, "C/min, degC/min, deg C/min"),
        ("°F/min", exact.FAHRENHEIT / exact.MINUTE, NIST, "F/min, degF/min, deg F/min"),
        ("K/s", 1.0, SI, "°C/s, C/s"),
        ("K/h", 1 / exact.HOUR, WITH_SI, "°C/h, C/h"),
        ("°F/h", exact.FAHRENHEIT / exact.HOUR, NIST, "F/h, degF/h"),
    ),
    "heat capacity": (("kJ/K", 1e3, SI, ""), ("J/K", 1.0, SI, "")),
    "heat conductance": (("W/K", 1.0, SI, "W/°C"),),
    "temperature coefficient": (
        ("1/K", 1.0, SI, "1/°C"),
        ("%/K", 1e-2, COUNT, "%/°C"),
        ("ppm/K", 1e-6, COUNT, ""),
    ),
}

_SHAPES: dict[str, tuple[Row, ...]] = {
    "time": (
        ("s", 1.0, SI, "sec, secs, second, seconds"),
        # A telephone's keyboard likes to start with a capital.
        ("min", exact.MINUTE, WITH_SI, "mins, minute, minutes, Min, Mins, Minute, Minutes"),
        ("h", exact.HOUR, WITH_SI, "hr, hrs, hour, hours"),
        ("d", exact.DAY, WITH_SI, "day, days"),
        ("yr", 365.25 * exact.DAY, exact.JULIAN_YEAR, "y, yrs, year, years"),
        ("ms", 1e-3, SI, "msec, millisecond, milliseconds"),
    ),
    "length": (
        ("mm", 1e-3, SI, "millimetre, millimeter, millimetres, millimeters"),
        ("cm", 1e-2, SI, "centimetre, centimeter, centimetres, centimeters"),
        ("m", 1.0, SI, "metre, meter, metres, meters"),
        ("in", exact.INCH, NIST, 'inch, inches, ", ″'),
        ("ft", exact.FOOT, NIST, "foot, feet"),
        ("µm", 1e-6, SI, "um, micrometre, micrometer, micron, microns"),
    ),
    "area": (
        ("mm2", 1e-6, SI, "sq mm"),
        ("cm2", 1e-4, SI, "sq cm"),
        ("m2", 1.0, SI, "sq m"),
        ("in2", exact.INCH**2, NIST, "sq in"),
        ("ft2", exact.FOOT**2, NIST, "sq ft"),
    ),
    "velocity": (
        ("m/s", 1.0, SI, "m/sec"),
        ("ft/s", exact.FOOT, NIST, "fps, ft/sec"),
        ("ft/min", exact.FOOT / exact.MINUTE, NIST, "fpm"),
    ),
    "mass": (
        ("kg", 1.0, SI, "kilogram, kilograms, kilo, kilos"),
        ("g", 1e-3, SI, "gram, grams"),
        # An ounce is of mass; the volume is fl oz.
        ("lb", exact.POUND, NIST, "lbs"),
        ("oz", exact.POUND / 16, NIST, "ounce, ounces"),
    ),
    "angle": (("deg", exact.DEGREE, WITH_SI, "°, degree, degrees"), ("rad", 1.0, SI, "radian, radians")),
    "fraction": (("%", 1e-2, COUNT, "percent, per cent, pct"),),
    "number": (("-", 1.0, COUNT, "pulses, pulse, counts, turns"),),
}

_OFFSETS = {"°C": 273.15, "°F": 459.67}
_TRADE_FACTORS = {"mg/L": f"{WITH_SI}; ppm of hardness as mg/L: {TRADE}", "µF": f"{SI}; MFD: {TRADE}"}


def _unit(dimension: str, row: Row) -> Unit:
    symbol, factor, source, spellings = row
    others = tuple(s.strip() for s in spellings.split(",") if s.strip())
    return Unit(
        symbol, dimension, factor, _OFFSETS.get(symbol, 0.0), others, _TRADE_FACTORS.get(symbol, source)
    )


UNITS: Mapping[str, Unit] = MappingProxyType(
    {
        row[0]: _unit(dimension, row)
        for group in (_FLUIDS, _ELECTRIC, _HEAT, _SHAPES)
        for dimension, rows in group.items()
        for row in rows
    }
)
