"""What a technician types, and what it is taken for."""

from __future__ import annotations

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tundish.quantity.dimensions import DIMENSIONS
from tundish.quantity.errors import QuantityError
from tundish.quantity.parse import Quantity, parse
from tundish.quantity.rate import RATES
from tundish.quantity.table import UNITS
from tundish.quantity.units import dimension_of, from_si, to_si

# Exact definitions: psi = 0.45359237 x 9.80665 / 0.0254^2 Pa, gal = 231 in3.
PSI = 0.45359237 * 9.80665 / 0.0254**2
GALLON = 231 * 0.0254**3


@pytest.mark.parametrize(
    ("text", "value", "dimension", "unit"),
    [
        ("68 psi", 68 * PSI, "pressure", "psi"),
        ("68psi", 68 * PSI, "pressure", "psi"),
        ("  68   psi ", 68 * PSI, "pressure", "psi"),
        ("68\N{NO-BREAK SPACE}psi", 68 * PSI, "pressure", "psi"),
        ("4.7 bar", 470e3, "pressure", "bar"),
        ("4,7 bar", 470e3, "pressure", "bar"),
        ("380 kPa", 380e3, "pressure", "kPa"),
        ("5 in w.g.", 1245.4445, "pressure", "in w.g."),
        ("-0.3 in w.c.", -74.72667, "pressure", "in w.c."),
        ("8 L/min", 8 / 60e3, "flow", "L/min"),
        ("2.1 gpm", 2.1 * GALLON / 60, "flow", "gpm"),
        ("10 L in 28 s", 0.01 / 28, "flow", "L in s"),
        ("0.5 gal in 14 s", 0.5 * GALLON / 14, "flow", "gal in s"),
        ("10 L in 1:05 min", 0.01 / 65, "flow", "L in min"),
        ("10 L in 1 min 5 s", 0.01 / 65, "flow", "L in min"),
        ("450 pulses in 60 s", 7.5, "frequency", "pulses in s"),
        ("12 °C in 5 min", 0.04, "heating rate", "°C in min"),
        ("9 °F in 5 min", 5 / 300, "heating rate", "°F in min"),
        ("1.1 kWh in 30 min", 2200.0, "power", "kWh in min"),
        ("1.2 kohm", 1200.0, "resistance", "kohm"),
        ("1,2 kohm", 1200.0, "resistance", "kohm"),
        ("1,25 kohm", 1250.0, "resistance", "kohm"),
        ("0,125 kohm", 125.0, "resistance", "kohm"),
        ("1,2345 kohm", 1234.5, "resistance", "kohm"),
        ("1.200 ohm", 1.2, "resistance", "ohm"),
        ("1,200.5 ohm", 1200.5, "resistance", "ohm"),
        ("1.200,5 ohm", 1200.5, "resistance", "ohm"),
        ("1,200,000 ohm", 1.2e6, "resistance", "ohm"),
        ("1200,500 ohm", 1200.5, "resistance", "ohm"),
        ("-1,200.5 V", -1200.5, "voltage", "V"),
        ("68 Ω", 68.0, "resistance", "Ω"),
        ("4.7 kΩ", 4700.0, "resistance", "kΩ"),
        ("2 MΩ", 2e6, "resistance", "MΩ"),
        ("1e3 ohm", 1000.0, "resistance", "ohm"),
        (".5 gal", GALLON / 2, "volume", "gal"),
        ("54 F", (54 + 459.67) * 5 / 9, "temperature", "F"),
        ("12 °C", 285.15, "temperature", "°C"),
        ("12C", 285.15, "temperature", "C"),
        ("\N{MINUS SIGN}18 °C", 255.15, "temperature", "°C"),
        ("+12 C", 285.15, "temperature", "C"),
        ("3:40 min", 220.0, "time", "min"),
        ("3:40.5 min", 220.5, "time", "min"),
        ("75:00 min", 4500.0, "time", "min"),
        ("1:05:00 h", 3900.0, "time", "h"),
        ("1:05:00", 3900.0, "time", "h"),
        ("1:05 h", 3900.0, "time", "h"),
        ("3 min 40 s", 220.0, "time", "min"),
        ("3min40s", 220.0, "time", "min"),
        ("1 h 5 min 10 s", 3910.0, "time", "h"),
        ("28 s", 28.0, "time", "s"),
        ("5 ft 3 in", 63 * 0.0254, "length", "ft"),
        ("5 in", 0.127, "length", "in"),
        ('5"', 0.127, "length", '"'),
        ("12 µF", 12e-6, "capacitance", "µF"),
        ("35 MFD", 35e-6, "capacitance", "MFD"),
        ("0.75 mA", 0.75e-3, "current", "mA"),
        ("30 %", 0.3, "fraction", "%"),
        ("1400 rpm", 1400 / 60, "frequency", "rpm"),
        ("1.4 K/min", 1.4 / 60, "heating rate", "K/min"),
        ("90°", math.pi / 2, "angle", "°"),
        ("5 delta F", 25 / 9, "temperature difference", "delta F"),
        ("7 gpg", 7 * 0.06479891e-3 / GALLON, "hardness", "gpg"),
    ],
)
def test_forms(text: str, value: float, dimension: str, unit: str) -> None:
    for asked in (None, dimension):
        found = parse(text, asked)
        assert found.value == pytest.approx(value, rel=1e-6)
        assert (found.dimension, found.bound, found.unit) == (dimension, "exact", unit)


def test_the_bucket_of_the_published_vector() -> None:
    """0.5 gal in 14 s is 2.143 gpm; W103: 1 gal in 30 s is 2.00 gpm and 7.57 L/min, by the definitions."""
    assert from_si(parse("0.5 gal in 14 s", "flow").value, "gpm") == pytest.approx(2.143, rel=1e-3)
    flow = parse("1 gal in 30 s", "flow").value
    assert from_si(flow, "gpm") == pytest.approx(2.0, rel=1e-12)
    assert from_si(flow, "L/min") == pytest.approx(7.57, rel=1e-3)
    assert from_si(parse("10 L in 60 s", "flow").value, "L/min") == pytest.approx(10.0, rel=1e-12)


@pytest.mark.parametrize(
    ("text", "value", "bound"),
    [
        ("> 20 Mohm", 20e6, "above"),
        (">20Mohm", 20e6, "above"),
        (">= 20 MΩ", 20e6, "above"),
        ("≥ 20 Mohm", 20e6, "above"),
        ("over 20 Mohm", 20e6, "above"),
        ("More than 20 Mohm", 20e6, "above"),
        ("at least 20 Mohm", 20e6, "above"),
        ("<0.1 ohm", 0.1, "below"),
        ("≤ 0.1 ohm", 0.1, "below"),
        ("less than 0.1 ohm", 0.1, "below"),
        ("at most 0.1 ohm", 0.1, "below"),
        ("below -0.1 ohm", -0.1, "below"),
    ],
)
def test_bounds(text: str, value: float, bound: str) -> None:
    found = parse(text, "resistance")
    assert found.value == pytest.approx(value)
    assert found.bound == bound


@pytest.mark.parametrize(
    "text",
    [
        "OL",
        "ol",
        "O.L.",
        "O.L",
        "OFL",
        "open",
        "open line",
        "Open Line",
        "overload",
        "∞",
        "OL ohm",
        "OL MΩ",
        " OL ",
    ],
)
def test_an_open_line(text: str) -> None:
    for asked in (None, "resistance"):
        found = parse(text, asked)
        assert (found.value, found.dimension, found.bound) == (math.inf, "resistance", "above")
        assert found.unit == text.strip()


def test_no_litres_are_not_an_open_line() -> None:
    assert parse("0 L").value == parse("0L").value == 0.0
    assert parse("0L").dimension == "volume"


@pytest.mark.parametrize(
    ("text", "asked", "value"),
    [
        ("5 K", "temperature difference", 5.0),
        ("9 °F", "temperature difference", 5.0),
        ("12 °C", "temperature difference", 12.0),
        ("5 delta K", "temperature difference", 5.0),
        ("0.3", "fraction", 0.3),
        ("0.3 -", "fraction", 0.3),
        ("30 %", "fraction", 0.3),
        ("30 %", "number", 0.3),
        ("450", "number", 450.0),
        ("> 3", "number", 3.0),
        ("9 °F in 5 min", "heating rate", 5 / 300),
    ],
)
def test_the_question_decides(text: str, asked: str, value: float) -> None:
    found = parse(text, asked)
    assert found.dimension == asked
    assert found.value == pytest.approx(value, rel=1e-12)


@pytest.mark.parametrize("name", DIMENSIONS)
def test_every_example_offered_can_be_typed(name: str) -> None:
    assert parse(DIMENSIONS[name].example, name).dimension == name
    assert parse(f"> {DIMENSIONS[name].example}", name).bound == "above"


def test_every_rate_leads_from_a_dimension_to_a_dimension() -> None:
    assert set(RATES) | set(RATES.values()) <= set(DIMENSIONS)


@given(
    st.sampled_from(list(UNITS)), st.floats(-1e5, 1e5), st.sampled_from(["", " ", "  ", "\N{NO-BREAK SPACE}"])
)
def test_any_number_with_any_spelling(symbol: str, number: float, space: str) -> None:
    for spelling in (symbol, *UNITS[symbol].spellings):
        # Without a space the exponent or the digits of a unit would run into the number.
        gap = space or (" " if spelling[0] in "0123456789" else "")
        found = parse(f"{number!r}{gap}{spelling}")
        assert found == Quantity(to_si(number, symbol), dimension_of(symbol), "exact", spelling)


@given(st.integers(0, 10**9), st.integers(0, 999))
def test_grouped_numbers_are_the_plain_ones(whole: int, thousandths: int) -> None:
    written = f"{whole:,}.{thousandths:03d}"
    assert parse(f"{written} V").value == pytest.approx(whole + thousandths / 1000, rel=1e-12)
    swapped = written.translate(str.maketrans(",.", ".,"))
    # With one comma and three digits behind it nobody can tell, except after a 0 or many digits.
    if 1 <= whole < 1000:
        with pytest.raises(QuantityError, match="can be read in one way"):
            parse(f"{swapped} V")
    else:
        assert parse(f"{swapped} V").value == pytest.approx(whole + thousandths / 1000, rel=1e-12)


@given(st.integers(0, 200), st.integers(0, 59), st.integers(0, 59))
def test_clock(hours: int, minutes: int, seconds: int) -> None:
    total = 3600 * hours + 60 * minutes + seconds
    assert parse(f"{hours}:{minutes:02d}:{seconds:02d} h").value == total
    assert parse(f"{hours * 60 + minutes}:{seconds:02d} min").value == total
    assert parse(f"{hours}:{minutes:02d} h").value == total - seconds


@given(
    st.text(max_size=30)
    | st.from_regex(re.compile(r"[<>]?\s?[-+]?[0-9.,:eE]{1,8}\s?[a-zA-Z°%Ω/0-9 ]{0,10}"), fullmatch=True)
)
def test_any_text_is_a_number_or_a_refusal_in_three_parts(text: str) -> None:
    try:
        found = parse(text)
    except QuantityError as refusal:
        assert refusal.seen and refusal.allowed and refusal.do
        assert str(refusal) == f"saw {refusal.seen}; allowed: {refusal.allowed}; {refusal.do}"
    else:
        assert math.isfinite(found.value) or (found.dimension, found.bound) == ("resistance", "above")


@pytest.mark.parametrize(
    "text", ["9" * 5000 + " V", "1:" + "0" * 5000 + " min", "9" * 400 + ":00 min", "9" * 400 + " h 5 min"]
)
def test_endless_digits_are_refused(text: str) -> None:
    with pytest.raises(QuantityError):
        parse(text)


def test_a_record_is_checked_when_built() -> None:
    with pytest.raises(QuantityError, match="nan as pressure"):
        Quantity(math.nan, "pressure", "exact", "kPa")
    with pytest.raises(QuantityError, match="inf as flow"):
        Quantity(math.inf, "flow", "above", "L/min")
    with pytest.raises(QuantityError, match="inf as resistance"):
        Quantity(math.inf, "resistance", "exact", "ohm")
    with pytest.raises(QuantityError, match="'about' as a bound"):
        Quantity(1.0, "flow", "about", "L/min")  # type: ignore[arg-type]
    with pytest.raises(QuantityError, match="'smell' as a dimension"):
        Quantity(1.0, "smell", "exact", "L/min")
    with pytest.raises(QuantityError, match="'smell' as a dimension"):
        parse("1 V", "smell")
