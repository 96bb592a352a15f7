"""How numbers are shown."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tundish.quantity.dimensions import DIMENSIONS, serves
from tundish.quantity.errors import QuantityError
from tundish.quantity.parse import parse
from tundish.quantity.show import rounded, show, show_in, show_quantity
from tundish.quantity.systems import UNIT_SYSTEMS, unit_for
from tundish.quantity.table import UNITS
from tundish.quantity.units import dimension_of, si_unit, to_si


@pytest.mark.parametrize(
    ("value", "unit", "digits", "text"),
    [
        (301234.0, "kPa", None, "301 kPa"),
        (301234.0, "kPa", 2, "300 kPa"),
        (301234.0, "kPa", 5, "301.23 kPa"),
        (1.4e-4, "L/min", None, "8.4 L/min"),
        (1.4e-4, "L/min", 3, "8.40 L/min"),
        (3900.0, "kohm", None, "3.9 kohm"),
        (3900.0, "kΩ", None, "3.9 kohm"),
        (math.inf, "kohm", None, "OL"),
        (math.inf, "s", None, "never"),
        (math.inf, "kPa", None, "∞ kPa"),
        (-math.inf, "ohm", None, "-∞ ohm"),
        (math.nan, "kPa", None, "unknown"),
        (0.0, "psi", None, "0 psi"),
        (-0.0, "psi", None, "0 psi"),
        (-1e-9, "°C", None, "-273 °C"),
        (273.15, "°C", None, "0 °C"),
        (285.35, "°C", None, "12.2 °C"),
        (285.35, "°F", None, "54 °F"),
        (5.0, "delta °F", None, "9 °F"),
        (0.3, "%", None, "30 %"),
        (0.36, "-", None, "0.36"),
        (9.999e3, "kPa", None, "10 kPa"),
        (1234567.0, "ohm", None, "1234567 ohm"),
        (1e12, "ohm", None, "1e+12 ohm"),
        (12e-6, "µF", None, "12 µF"),
    ],
)
def test_in_a_unit(value: float, unit: str, digits: int | None, text: str) -> None:
    assert show(value, unit, digits) == text


@pytest.mark.parametrize(
    ("value", "dimension", "metric", "us"),
    [
        (301234.0, "pressure", "301 kPa", "43.7 psi"),
        (0.0, "pressure", "0 kPa", "0 psi"),
        (60.0, "pressure", "60 Pa", "0.241 inH2O"),
        (1.4e-4, "flow", "8.4 L/min", "2.22 gpm"),
        (0.05, "flow", "180 m3/h", "106 cfm"),
        (0.01, "volume", "10 L", "2.64 gal"),
        (285.35, "temperature", "12.2 °C", "54 °F"),
        (5.0, "temperature difference", "5 K", "9 °F"),
        (0.0095, "length", "9.5 mm", "0.374 in"),
        (2.5, "length", "2.5 m", "8.2 ft"),
        (0.25, "resistance", "0.25 ohm", "0.25 ohm"),
        (0.05, "resistance", "50 mohm", "50 mohm"),
        (68.0, "resistance", "68 ohm", "68 ohm"),
        (4700.0, "resistance", "4.7 kohm", "4.7 kohm"),
        (2e6, "resistance", "2 Mohm", "2 Mohm"),
        (3e9, "resistance", "3 Gohm", "3 Gohm"),
        (math.inf, "resistance", "OL", "OL"),
        (0.75e-3, "current", "0.75 mA", "0.75 mA"),
        (2100.0, "power", "2.1 kW", "2.1 kW"),
        (28.0, "time", "28 s", "28 s"),
        (220.0, "time", "3:40 min", "3:40 min"),
        (7199.8, "time", "120:00 min", "120:00 min"),
        (7500.0, "time", "2:05 h", "2:05 h"),
        (math.inf, "time", "never", "never"),
        (864000.0, "time", "10 d", "10 d"),
        (1.4 / 60, "heating rate", "1.4 K/min", "2.52 °F/min"),
        (0.3, "fraction", "30 %", "30 %"),
        (4.0, "mass", "4 kg", "8.82 lb"),
        (0.25, "hardness", "250 mg/L", "14.6 gpg"),
    ],
)
def test_in_a_system(value: float, dimension: str, metric: str, us: str) -> None:
    assert (show_in(value, dimension, "metric"), show_in(value, dimension, "US")) == (metric, us)


def test_digits_turn_the_clock_off() -> None:
    assert show_in(220.0, "time", "metric", digits=2) == "3.7 min"


@pytest.mark.parametrize("system", UNIT_SYSTEMS)
def test_every_dimension_has_its_units_in_every_system(system: str) -> None:
    assert set(UNIT_SYSTEMS[system]) == set(DIMENSIONS)
    for name, choice in UNIT_SYSTEMS[system].items():
        sizes = [least for least, _ in choice.steps]
        assert sizes[0] == 0.0
        assert sizes == sorted(set(sizes))
        assert choice.usual in [unit for _, unit in choice.steps]
        for _, unit in choice.steps:
            assert serves(dimension_of(unit), name)
            assert unit in UNITS


def test_the_two_systems_differ_where_the_trades_differ() -> None:
    differ = {name for name in DIMENSIONS if UNIT_SYSTEMS["metric"][name] != UNIT_SYSTEMS["US"][name]}
    assert differ >= {"pressure", "flow", "volume", "temperature", "length", "mass"}
    assert not differ & {"resistance", "voltage", "current", "power", "time", "fraction"}


@given(
    st.sampled_from(list(DIMENSIONS)), st.sampled_from(["metric", "US"]), st.floats(1e-6, 1e9), st.booleans()
)
def test_what_is_shown_can_be_typed(name: str, system: str, value: float, negative: bool) -> None:
    signed = -value if negative and name != "time" else value
    again = parse(show_in(signed, name, system), name)
    unit = unit_for(signed, name, system)
    # Three digits of the number in its unit; a clock is good to its last field, half a minute in two hours.
    offset = abs(to_si(0.0, unit)) if name == "temperature" else 0.0
    assert again.value == pytest.approx(signed, rel=5.1e-3, abs=5.1e-3 * offset)
    assert again.dimension == name


@given(st.floats(-1e9, 1e9), st.integers(1, 9))
def test_rounding_keeps_the_digits_asked(value: float, digits: int) -> None:
    assert float(rounded(value, digits)) == pytest.approx(value, rel=0.5 * 10.0 ** (1 - digits) * (1 + 1e-9))


@given(st.floats(-1e9, 1e9))
def test_rounding_never_loses_a_digit_before_the_point(value: float) -> None:
    assert abs(float(rounded(value)) - value) <= max(0.5, 0.005 * abs(value) if abs(value) < 100 else 0.5) * (
        1 + 1e-9
    )


def test_bounds_are_shown() -> None:
    assert show_quantity(parse("> 20 Mohm"), "metric") == "> 20 Mohm"
    assert show_quantity(parse("<0.1 ohm"), "US") == "< 0.1 ohm"
    assert show_quantity(parse("OL"), "US") == "OL"
    assert show_quantity(parse("68 psi"), "metric") == "469 kPa"


def test_si_units_can_be_shown() -> None:
    for name in DIMENSIONS:
        assert show(2.0, si_unit(name)).startswith("2")


def test_refusals() -> None:
    with pytest.raises(QuantityError) as refused:
        show_in(1.0, "pressure", "imperial")
    assert (refused.value.seen, refused.value.allowed) == ("'imperial' as a system of units", "metric, US")
    with pytest.raises(QuantityError, match="0 digits; allowed: 1 or more"):
        show(1.0, "kPa", 0)
    with pytest.raises(QuantityError, match="'smell' as a dimension"):
        show_in(1.0, "smell", "US")
    with pytest.raises(QuantityError, match="'psy' as a unit"):
        show(1.0, "psy")
