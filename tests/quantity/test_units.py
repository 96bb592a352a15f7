"""Every unit against pint and against printed tables; spellings; round trips."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tundish.quantity.dimensions import DIMENSIONS, serves
from tundish.quantity.errors import QuantityError
from tundish.quantity.spelling import fold, tidy
from tundish.quantity.table import UNITS
from tundish.quantity.units import (
    REFUSED,
    difference_to_si,
    dimension_of,
    find,
    from_si,
    si_unit,
    to_si,
    units_for,
)

PINT: Any = pint.UnitRegistry()
PINT.define("gpm = gallon / minute")
PINT.define("cuft_min = foot ** 3 / minute")
PINT.define("mH2O = 1000 kg / m ** 3 * 9.80665 m / s ** 2 * m")
# A turn counts as a cycle here; pint's own rpm is an angle in a time.
PINT.define("turns_min = 1 / minute")
# Hardness by the weights of CaCO3 and CaO, 100.0869 and 56.0774 g/mol (handbook of chemistry, from memory).
PINT.define("mmol_chalk = 100.0869 mg")
PINT.define("german_degree = 10 * 100.0869 / 56.0774 mg / liter")

# Where pint spells a unit as we do, it is left out here.
EXPRESSIONS = {
    "ohm": "ohm",
    "kohm": "kiloohm",
    "Mohm": "megaohm",
    "mohm": "milliohm",
    "Gohm": "gigaohm",
    "gpm": "gpm",
    "cfm": "cuft_min",
    "gal/h": "gallon / hour",
    "gal": "gallon",
    "qt": "quart",
    "fl oz": "fluid_ounce",
    "in3": "inch ** 3",
    "ft3": "foot ** 3",
    "m3": "m ** 3",
    "m3/h": "m ** 3 / hour",
    "m3/s": "m ** 3 / s",
    "mmH2O": "mH2O / 1000",
    "m water": "mH2O",
    "ft water": "ftH2O",
    "kgf/cm2": "kgf / cm ** 2",
    "kPa/(L/min)2": "kPa / (L / min) ** 2",
    "psi/gpm2": "psi / gpm ** 2",
    "Pa s2/m6": "Pa * s ** 2 / m ** 6",
    "gpg": "grain / gallon",
    "°dH": "german_degree",
    "°fH": "10 mg / L",
    "mmol/L": "mmol_chalk / L",
    "kg/m3": "kg / m ** 3",
    "pulses/L": "1 / L",
    "pulses/gal": "1 / gallon",
    "1/m3": "1 / m ** 3",
    "Btu/h": "Btu_it / hour",
    "Btu": "Btu_it",
    "µF": "microfarad",
    "nF": "nanofarad",
    "pF": "picofarad",
    "rpm": "turns_min",
    "Hz/mm": "Hz / mm",
    "Hz/m": "Hz / m",
    "Hz/in": "Hz / inch",
    "°C": "degC",
    "°F": "degF",
    "delta K": "kelvin",
    "delta °C": "delta_degC",
    "delta °F": "delta_degF",
    "K/min": "kelvin / min",
    "°C/min": "delta_degC / min",
    "°F/min": "delta_degF / min",
    "K/s": "kelvin / s",
    "K/h": "kelvin / hour",
    "°F/h": "delta_degF / hour",
    "kJ/K": "kJ / kelvin",
    "J/K": "J / kelvin",
    "W/K": "W / kelvin",
    "1/K": "1 / kelvin",
    "%/K": "0.01 / kelvin",
    "ppm/K": "1e-6 / kelvin",
    "d": "day",
    "yr": "julian_year",
    "in": "inch",
    "in2": "inch ** 2",
    "ft2": "foot ** 2",
    "m2": "m ** 2",
    "cm2": "cm ** 2",
    "mm2": "mm ** 2",
    "ft/s": "foot / s",
    "ft/min": "foot / min",
    "deg": "degree",
    "%": "percent",
    "-": "dimensionless",
    "S": "siemens",
    "mS": "millisiemens",
    "µS": "microsiemens",
}
SI_EXPRESSIONS = {
    "Pa": "Pa",
    "m3/s": "m ** 3 / s",
    "Pa s2/m6": "Pa * s ** 2 / m ** 6",
    "m3": "m ** 3",
    "ohm": "ohm",
    "S": "siemens",
    "-": "dimensionless",
    "farad": "farad",
    "K/s": "kelvin / s",
    "rad": "rad",
    "kg/m3": "kg / m ** 3",
    "J/K": "J / kelvin",
    "W/K": "W / kelvin",
    "1/K": "1 / kelvin",
    "1/m3": "1 / m ** 3",
    "Hz/m": "Hz / m",
    "m2": "m ** 2",
    "K": "kelvin",
}

# NIST Special Publication 811 (2008), appendix B.8, printed to seven digits; recalled from memory.
PRINTED = {
    "psi": 6.894757e3,
    "inH2O": 2.490889e2,
    "ft water": 2.989067e3,
    "kgf/cm2": 9.80665e4,
    "gpm": 6.309020e-5,
    "cfm": 4.719474e-4,
    "gal": 3.785412e-3,
    "qt": 9.463529e-4,
    "fl oz": 2.957353e-5,
    "ft3": 2.831685e-2,
    "in3": 1.638706e-5,
    "Btu": 1.055056e3,
    "Btu/h": 2.930711e-1,
    "lb": 4.535924e-1,
    "oz": 2.834952e-2,
    "in2": 6.4516e-4,
    "ft2": 9.290304e-2,
    "ft/min": 5.08e-3,
    "kWh": 3.6e6,
    "gpg": 1.711806e-2,
    "deg": 1.745329e-2,
}


def by_pint(value: float, symbol: str) -> float:
    """The value in SI as pint has it."""
    si = si_unit(dimension_of(symbol))
    quantity = PINT.Quantity(value, PINT.parse_expression(EXPRESSIONS.get(symbol, symbol)).units)
    scale = PINT.parse_expression(EXPRESSIONS.get(symbol, symbol)).magnitude
    return float((quantity * scale if scale != 1 else quantity).to(SI_EXPRESSIONS.get(si, si)).magnitude)


@pytest.mark.parametrize("symbol", UNITS)
@pytest.mark.parametrize("value", [1.0, 37.5])
def test_every_unit_agrees_with_pint(symbol: str, value: float) -> None:
    # Hardness rests on atomic weights that two tables round differently.
    tolerance = 2e-5 if UNITS[symbol].dimension == "hardness" else 1e-12
    assert to_si(value, symbol) == pytest.approx(by_pint(value, symbol), rel=tolerance)


@pytest.mark.parametrize("symbol", PRINTED)
def test_printed_factors(symbol: str) -> None:
    assert UNITS[symbol].factor == pytest.approx(PRINTED[symbol], rel=5e-7)


@pytest.mark.parametrize(
    ("value", "unit", "expected", "in_unit", "tolerance"),
    [
        # W1: 80 psi is 551.6 kPa, the code prints 552; IPC 604.8 as adopted in Philadelphia P-1304.2.
        (80, "psi", 551.6, "kPa", 1e-4),
        # W3: 100 psi is 690 kPa and 8 ft/s is 2.44 m/s; Chicago 18-29-604.10.1.
        (100, "psi", 690, "kPa", 1e-3),
        (8, "ft/s", 2.44, "m/s", 1e-3),
        # W6-W10: outlets of IPC table 604.3 and IRC table P2903.1, beside their metric values.
        (2.75, "gpm", 10.41, "L/min", 1e-3),
        (4, "gpm", 15.14, "L/min", 1e-3),
        (5, "gpm", 18.93, "L/min", 1e-3),
        (1.75, "gpm", 6.62, "L/min", 1e-3),
        (8, "psi", 55.2, "kPa", 1e-3),
        # W15: 0.05-0.6 MPa is 7.3-87 psi; Polish building conditions par. 114(1).
        (0.6, "MPa", 87, "psi", 1e-3),
        # W23: ASME A112.18.6-2009 prints 140-860 kPa for 20-125 psi, 4-71 °C for 40-160 °F.
        (125, "psi", 860, "kPa", 3e-3),
        (160, "°F", 71, "°C", 3e-3),
        (180, "°F", 82, "°C", 3e-3),
        # W99: 4.5 pulses a second at 1 L/min are 270 pulses/L; a supplier's sheet.
        (4.5 * 60, "pulses/L", 270e3, "1/m3", 1e-9),
        # W102: 0.1 gal is 0.38 L; 86 FR 49140.
        (0.1, "gal", 0.38, "L", 5e-3),
        # W103: 2.00 gpm is 7.57 L/min.
        (2, "gpm", 7.57, "L/min", 1e-3),
        # W113: 2.309 ft of water for 1 psi at 15 °C; the conventional column is 0.1 % heavier.
        (1, "psi", 2.309, "ft water", 1.5e-3),
        (3, "m water", 29.4, "kPa", 1e-3),
        # D40, D44: 120 °F is 48.9 °C (88 FR 3234); 240 kPa is 34.8 psi (IEC 60456, from memory).
        (120, "°F", 48.9, "°C", 1e-3),
        (240, "kPa", 34.8, "psi", 1e-3),
        # US usage: 1 grain per gallon is 17.1 mg/L as CaCO3; common practice, no source.
        (1, "gpg", 17.1, "mg/L", 2e-3),
    ],
)
def test_published_conversions(
    value: float, unit: str, expected: float, in_unit: str, tolerance: float
) -> None:
    assert from_si(to_si(value, unit), in_unit) == pytest.approx(expected, rel=tolerance)


@given(st.sampled_from(list(UNITS)), st.floats(-1e6, 1e6))
def test_there_and_back(symbol: str, value: float) -> None:
    assert from_si(to_si(value, symbol), symbol) == pytest.approx(value, rel=1e-12, abs=1e-9)


@given(st.sampled_from(list(UNITS)), st.floats(-1e3, 1e3), st.floats(-1e3, 1e3))
def test_a_difference_is_the_difference_of_two(symbol: str, one: float, other: float) -> None:
    expected = to_si(one, symbol) - to_si(other, symbol)
    scale = abs(to_si(one, symbol)) + abs(to_si(other, symbol))
    assert difference_to_si(one - other, symbol) == pytest.approx(expected, abs=1e-12 * scale + 1e-300)


def test_arrays_keep_their_shape_and_their_gaps() -> None:
    seen = np.array([[32.0, 212.0], [np.nan, np.inf]])
    kelvin = to_si(seen, "°F")
    assert kelvin.shape == (2, 2)
    np.testing.assert_allclose(kelvin, [[273.15, 373.15], [np.nan, np.inf]])
    np.testing.assert_allclose(from_si(kelvin, "°F"), seen)
    np.testing.assert_allclose(difference_to_si(seen[0], "°F"), [17.7777778, 117.7777778])
    assert seen[0, 0] == 32.0


def test_every_dimension_has_a_unit_and_every_unit_a_dimension() -> None:
    assert {unit.dimension for unit in UNITS.values()} == set(DIMENSIONS)
    for name, dimension in DIMENSIONS.items():
        assert serves(dimension_of(dimension.si), name)
        assert to_si(1.0, dimension.si) == 1.0
        assert units_for(name)


def test_every_unit_has_a_source() -> None:
    assert all(len(unit.source) > 10 for unit in UNITS.values())


def test_a_spelling_means_one_unit() -> None:
    seen: dict[str, str] = {}
    for unit in UNITS.values():
        for spelling in (unit.symbol, *unit.spellings):
            assert seen.setdefault(tidy(spelling), unit.symbol) == unit.symbol
            assert find(spelling) is unit


def test_milli_is_never_read_for_mega_nor_mega_for_milli() -> None:
    written = {tidy(s): unit for unit in UNITS.values() for s in (unit.symbol, *unit.spellings)}
    swapped = {s[0].swapcase() + s[1:]: unit for s, unit in written.items() if s[0] in "mM"}
    refused = set()
    for spelling, unit in swapped.items():
        try:
            # MFD and mfd are both microfarad.
            assert find(spelling) is unit or spelling in written
        except QuantityError:
            refused.add(spelling)
    assert refused >= {"Mbar", "Mm", "mPa", "MV", "MA", "mHz", "ML"}


@pytest.mark.parametrize(
    ("typed", "symbol"),
    [
        ("PSI", "psi"),
        ("Psi", "psi"),
        ("KPA", "kPa"),
        ("kpa", "kPa"),
        ("BAR", "bar"),
        ("MPA", "MPa"),
        ("psig", "psi"),
        ("in w.g.", "inH2O"),
        ("in. w.c.", "inH2O"),
        ("IN WG", "inH2O"),
        ('"', "in"),
        ("GPM", "gpm"),
        ("gal / min", "gpm"),
        ("gal per min", "gpm"),
        ("LPM", "L/min"),
        ("l/min", "L/min"),
        ("L/Min", "L/min"),
        ("m³/h", "m3/h"),
        ("m^3/h", "m3/h"),
        ("CFM", "cfm"),
        ("Ω", "ohm"),
        ("\N{OHM SIGN}", "ohm"),
        ("OHM", "ohm"),
        ("kΩ", "kohm"),
        ("KOHM", "kohm"),
        ("K ohm", "kohm"),
        ("MΩ", "Mohm"),
        ("MOHM", "Mohm"),
        ("Megohms", "Mohm"),
        ("mohm", "mohm"),
        ("µF", "µF"),
        ("μF", "µF"),
        ("uF", "µF"),
        ("MFD", "µF"),
        ("µA", "µA"),
        ("V AC", "V"),
        ("vac", "V"),
        ("kw", "kW"),
        ("KWH", "kWh"),
        ("℃", "°C"),
        ("º C", "°C"),
        ("deg. F", "°F"),
        ("f", "°F"),
        ("Min", "min"),
        ("hrs", "h"),
        ("mm²", "mm2"),
        ("RPM", "rpm"),
        ("MFD.", "µF"),
        ("PPM", "mg/L"),
        ("°dh", "°dH"),
        ("p/L", "pulses/L"),
        ("°C/min", "°C/min"),
        ("Δ°F", "delta °F"),
    ],
)
def test_spellings(typed: str, symbol: str) -> None:
    assert find(typed).symbol == symbol


@pytest.mark.parametrize(
    ("typed", "near"),
    [
        ("psy", "psi"),
        ("Mbar", "mbar"),
        ("Mm", "mm"),
        ("mpa", "MPa"),
        ("MV", "mV"),
        ("ohmm", "ohm"),
        ("galon", "gal"),
        ("celcius", "°C"),
        ("kelvn", "K"),
        ("L/mn", "L/min"),
        ("liters/mim", "L/min"),
    ],
)
def test_a_slip_is_refused_with_the_near_unit(typed: str, near: str) -> None:
    with pytest.raises(QuantityError) as refused:
        find(typed)
    assert refused.value.seen == f"{typed!r} as a unit"
    assert "kPa, psi" in refused.value.allowed
    assert near in refused.value.do.removeprefix("did you mean ").removesuffix("?").split(" or ")


@pytest.mark.parametrize("typed", REFUSED)
def test_two_meanings_are_refused_with_advice(typed: str) -> None:
    with pytest.raises(QuantityError) as refused:
        to_si(1.0, typed)
    assert refused.value.do == REFUSED[typed]


@pytest.mark.parametrize("typed", ["", " ", "qqqq", "💧", "1", "/", "--", "psi psi", "k" * 500])
def test_nonsense_is_refused(typed: str) -> None:
    with pytest.raises(QuantityError, match="as a unit; allowed"):
        dimension_of(typed)


@pytest.mark.parametrize("dimension", ["", "Pressure", "smell"])
def test_an_unknown_dimension_is_refused(dimension: str) -> None:
    for function in (si_unit, units_for):
        with pytest.raises(QuantityError, match="as a dimension; allowed: pressure, flow"):
            function(dimension)


@given(st.text(max_size=12))
def test_tidy_and_fold_settle_at_once(text: str) -> None:
    assert fold(fold(tidy(text))) == fold(tidy(text))


def test_absolute_zero_is_the_same_in_all_scales() -> None:
    assert to_si(-459.67, "°F") == to_si(-273.15, "°C") == 0.0
    assert math.isclose(to_si(-40.0, "°F"), to_si(-40.0, "°C"))
