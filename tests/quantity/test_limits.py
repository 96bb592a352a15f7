"""What makes sense where."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tundish.quantity.dimensions import DIMENSIONS, serves
from tundish.quantity.errors import QuantityError
from tundish.quantity.exact import TRADE
from tundish.quantity.limits import LIMITS, check
from tundish.quantity.parse import Quantity, parse
from tundish.quantity.units import UNITS, dimension_of, from_si, to_si


def dimension_at(place: str) -> str:
    """The dimension of a place: its own name for a default one."""
    return place if place in DIMENSIONS else dimension_of(LIMITS[place].unit)


def test_every_dimension_has_default_limits() -> None:
    assert set(DIMENSIONS) <= set(LIMITS)
    for place, limit in LIMITS.items():
        assert limit.place == place
        assert limit.unit in UNITS
        assert limit.low < limit.high
        assert serves(dimension_of(limit.unit), dimension_at(place))


def test_every_limit_has_a_source_and_advice() -> None:
    for limit in LIMITS.values():
        assert limit.source
        assert len(limit.advice) > 10
        # A finite upper end that is not the trade's must say whose it is.
        if math.isfinite(limit.high) and TRADE not in limit.source:
            assert limit.source in ("parts of a whole", "a full turn")


@pytest.mark.parametrize("place", LIMITS)
def test_the_ends_are_inside_and_a_step_beyond_is_outside(place: str) -> None:
    limit, dimension = LIMITS[place], dimension_at(place)
    for end, beyond in ((limit.low, -1e-3), (limit.high, 1e-3)):
        if math.isfinite(end):
            inside = Quantity(to_si(end, limit.unit), dimension, "exact", limit.unit)
            assert check(inside, place) is inside
            step = beyond * (limit.high - limit.low if math.isfinite(limit.high) else 1.0)
            outside = Quantity(to_si(end + step, limit.unit), dimension, "exact", limit.unit)
            with pytest.raises(QuantityError) as refused:
                check(outside, place)
            assert refused.value.seen.startswith(f"{place} of ")
            assert refused.value.do == limit.advice


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("45 psi", "pressure at a tap"),
        ("120 psi", "pressure at a tap"),
        ("0.05 MPa", "pressure at a tap"),
        ("657 psi", "surge in a pipe"),
        ("5 gpm", "flow at a tap"),
        ("10 L in 28 s", "flow at a tap"),
        ("-0.3 inH2O", "pressure in a duct"),
        ("150 cfm", "air flow in a duct"),
        ("140 F", "water temperature"),
        ("0 °C", "water temperature"),
        ("100 °C", "water temperature"),
        ("OL", None),
        ("> 20 Mohm", None),
        ("0 ohm", None),
        ("240 V", "mains voltage"),
        ("-12 V", "voltage at a sensor"),
        ("0.75 mA", "leakage current"),
        ("60 Hz", "mains frequency"),
        ("1600 rpm", "drum speed"),
        ("35 MFD", "motor capacitor"),
        ("-18 °C", "cold storage temperature"),
        ("15 year", "age of a machine"),
    ],
)
def test_what_a_technician_meets_is_accepted(text: str, place: str | None) -> None:
    quantity = parse(text)
    assert check(quantity, place) is quantity


@given(st.sampled_from([u for u in UNITS.values() if u.dimension == "pressure"]), st.floats(0.0, 1e8))
def test_the_unit_typed_changes_nothing(unit: object, pascal: float) -> None:
    symbol = getattr(unit, "symbol", "")
    quantity = Quantity(to_si(from_si(pascal, symbol), symbol), "pressure", "exact", symbol)
    try:
        check(quantity, "pressure at a tap")
    except QuantityError as refused:
        assert pascal >= 2e6 * (1 - 1e-9)
        assert f" {symbol}" in refused.seen and refused.allowed.endswith(symbol)
    else:
        assert pascal <= 2e6 * (1 + 1e-9)


def test_places_of_another_dimension_are_refused() -> None:
    with pytest.raises(QuantityError) as refused:
        check(parse("20 psi"), "mains voltage")
    assert refused.value.seen == "'mains voltage' as a place for pressure"
    assert refused.value.allowed.startswith("pressure, pressure at a tap")
    with pytest.raises(QuantityError, match="did you mean pressure at a tap"):
        check(parse("20 psi"), "presure at a tap")
