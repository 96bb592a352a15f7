"""Readings that cannot be: each refusal says what was seen, what is allowed and what to do, word for word."""

from __future__ import annotations

import pytest

from tundish.quantity.errors import QuantityError
from tundish.quantity.limits import check
from tundish.quantity.parse import parse

GAUGE = "check the gauge's unit and zero, and read again"
BUCKET = "check the volume, the time and the unit, and measure again"
THERMOMETER = "check whether the thermometer shows °C or °F, and read again"
CLAMP = "swap the leads or the arrow of the meter and enter the size; check the range of the clamp"
CAPACITOR = "check µF against nF; discharge before measuring"
SCALE = "zero the scale; check kg against lb"
ONE_BY_ONE = "write one decimal number; enter the readings of a range one by one"
PRESSURES = "pressure in kPa, bar, psi, mbar, MPa, Pa, inH2O, mmH2O, m water, ft water, kgf/cm2"
FLOWS = "flow in L/min, gpm, L/s, L/h, mL/min, m3/h, m3/s, cfm, gal/h"
OHMS = "resistance in ohm, kohm, Mohm, mohm, Gohm"

# Text, dimension asked (None: any), place (None: the dimension's own limits), seen, allowed, do.
# 2 MPa = 290.075 psi and 101.325 kPa = 14.6959 psi, 1800 m3/h = 30000 L/min, by the exact definitions.
OUT_OF_SENSE = [
    ("900 psi", "pressure", "pressure at a tap", "pressure at a tap of 900 psi", "0 to 290.08 psi", GAUGE),
    ("900 psi", "pressure", None, "pressure of 900 psi", "-14.696 to 290.08 psi", GAUGE),
    ("> 900 psi", "pressure", None, "pressure of > 900 psi", "-14.696 to 290.08 psi", GAUGE),
    ("-5 psi", "pressure", "pressure at a tap", "pressure at a tap of -5 psi", "0 to 290.08 psi", GAUGE),
    ("62 bar", "pressure", "pressure at a tap", "pressure at a tap of 62 bar", "0 to 20 bar", GAUGE),
    ("-20 psi", None, None, "pressure of -20 psi", "-14.696 to 290.08 psi", GAUGE),
    (
        "5 bar",
        None,
        "pressure in a tub",
        "pressure in a tub of 5 bar",
        "0 to 0.2 bar",
        "check the unit: a metre of water is 9.8 kPa",
    ),
    (
        "2 psi",
        None,
        "pressure in a duct",
        "pressure in a duct of 2 psi",
        "-0.72519 to 0.72519 psi",
        "check the unit: an inch of water is 249 Pa",
    ),
    ("-5 L/min", "flow", None, "flow of -5 L/min", "0 to 30000 L/min", BUCKET),
    ("-10 L in 28 s", "flow", None, "flow of -1.285714 m3/h", "0 to 1800 m3/h", BUCKET),
    ("10 gal in 1 s", "flow", "flow at a tap", "flow at a tap of 2271.247 L/min", "0 to 150 L/min", BUCKET),
    (
        "200 L",
        None,
        "volume in a bucket",
        "volume in a bucket of 200 L",
        "0 to 30 L",
        "check the mark on the bucket and its unit",
    ),
    (
        "-5 ohm",
        "resistance",
        None,
        "resistance of -5 ohm",
        "0 ohm or more",
        "zero the leads, make sure the part is dead and apart, and read again",
    ),
    (
        "< -0.1 ohm",
        None,
        None,
        "resistance of < -0.1 ohm",
        "0 ohm or more",
        "zero the leads, make sure the part is dead and apart, and read again",
    ),
    (
        "700 V",
        "voltage",
        "mains voltage",
        "mains voltage of 700 V",
        "0 to 480 V",
        "set the meter to AC; if it is true, isolate and hand over",
    ),
    (
        "2100 V",
        None,
        None,
        "voltage of 2100 V",
        "-1000 to 1000 V",
        "check the range of the meter; above 1000 V stop and hand over",
    ),
    (
        "230 V",
        None,
        "voltage at a sensor",
        "voltage at a sensor of 230 V",
        "-30 to 30 V",
        "check the terminals and the range of the meter",
    ),
    ("500 A", None, "mains current", "mains current of 500 A", "0 to 100 A", CLAMP),
    ("-3 mA", None, "leakage current", "leakage current of -3 mA", "0 to 1000 mA", CLAMP),
    (
        "2100 kW",
        None,
        None,
        "power of 2100 kW",
        "0 to 20 kW",
        "swap the leads or the arrow of the meter and enter the size; check W or kW",
    ),
    (
        "500 °C",
        "temperature",
        "water temperature",
        "water temperature of 500 °C",
        "-2 to 102 °C",
        THERMOMETER,
    ),
    ("-40 F", None, "water temperature", "water temperature of -40 °F", "28.4 to 215.6 °F", THERMOMETER),
    ("54 K", None, "water temperature", "water temperature of 54 K", "271.15 to 375.15 K", THERMOMETER),
    ("-300 °C", None, None, "temperature of -300 °C", "-273.15 to 1500 °C", THERMOMETER),
    ("120 °C", None, "room temperature", "room temperature of 120 °C", "-40 to 60 °C", THERMOMETER),
    ("-3 s", None, None, "time of -3 s", "0 to 3155760000 s", "check the time and its unit"),
    (
        "3:40 h",
        None,
        "time of a fill",
        "time of a fill of 3.666667 h",
        "0 to 2 h",
        "check minutes against seconds",
    ),
    (
        "150 years",
        None,
        "age of a machine",
        "age of a machine of 150 yr",
        "0 to 70 yr",
        "give the age in years",
    ),
    ("14 in", None, "bore", "bore of 14 in", "0 to 11.811 in", "check mm against inches"),
    (
        "50 kHz",
        None,
        "mains frequency",
        "mains frequency of 50 kHz",
        "0.04 to 0.07 kHz",
        "check the range of the meter",
    ),
    ("14000 rpm", None, "drum speed", "drum speed of 14000 rpm", "0 to 3000 rpm", "check rpm against Hz"),
    ("30", "fraction", None, "fraction of 3000 %", "0 to 100 %", "write a share from 0 to 1 or with %"),
    ("130 %", None, None, "fraction of 130 %", "0 to 100 %", "write a share from 0 to 1 or with %"),
    ("12 farad", None, None, "capacitance of 12 farad", "0 to 1 farad", CAPACITOR),
    ("35000 µF", None, "motor capacitor", "motor capacitor of 35000 µF", "0 to 500 µF", CAPACITOR),
    ("-4 kg", None, None, "mass of -4 kg", "0 to 1000 kg", SCALE),
    (
        "90 °C in 5 s",
        None,
        "heating rate of water",
        "heating rate of water of 1080 K/min",
        "-30 to 30 K/min",
        "check both temperatures and the time",
    ),
    ("720 deg", None, None, "angle of 720 deg", "-360 to 360 deg", "give the angle within one turn"),
    ("20 kg/m3", None, None, "hardness of 20 kg/m3", "0 to 5 kg/m3", "check the strip or kit and its unit"),
]

# Text, dimension asked, seen, allowed, do.
NOT_A_READING = [
    (
        "68",
        "pressure",
        "'68' without a unit",
        PRESSURES,
        "add the unit that stands on the instrument, for example 68 psi",
    ),
    (
        "68",
        None,
        "'68' without a unit",
        "a number and its unit",
        "add the unit that stands on the instrument, for example 68 psi",
    ),
    (
        "28 in 60 s",
        "flow",
        "'28' without a unit",
        "a number and its unit",
        "add the unit that stands on the instrument, for example 68 psi",
    ),
    ("", "flow", "''", FLOWS, "write for example 10 L in 28 s"),
    ("psi", "pressure", "'psi'", PRESSURES, "write for example 68 psi"),
    ("nan psi", "pressure", "'nan psi'", PRESSURES, "write for example 68 psi"),
    ("inf ohm", "resistance", "'inf ohm'", OHMS, "write for example 1.2 kohm"),
    ("about 5 psi", "pressure", "'about 5 psi'", PRESSURES, "write for example 68 psi"),
    ("1e999 ohm", "resistance", "'1e999'", "a finite number", "write the number the instrument shows"),
    (
        "68 psi",
        "flow",
        "'68 psi', which is pressure",
        FLOWS,
        "give flow, for example 10 L in 28 s, or pick the check that asks for pressure",
    ),
    (
        "10 L",
        "flow",
        "'10 L', which is volume",
        FLOWS,
        "give flow, for example 10 L in 28 s, or pick the check that asks for volume",
    ),
    (
        "10 L in 28 s",
        "volume",
        "'10 L in 28 s', which is flow",
        "volume in L, gal, mL, m3, qt, fl oz, ft3, in3",
        "give volume, for example 10 L, or pick the check that asks for flow",
    ),
    (
        "3 m",
        "time",
        "'3 m', which is length",
        "time in s, min, h, d, yr, ms",
        "give time, for example 3:40 min, or pick the check that asks for length",
    ),
    (
        "5 delta K",
        "temperature",
        "'5 delta K', which is temperature difference",
        "temperature in °C, °F, K",
        "give temperature, for example 54 °F, or pick the check that asks for temperature difference",
    ),
    ("68 psy", "pressure", "'68 psy' with the unit 'psy'", PRESSURES, "did you mean psi?"),
    ("5 Mbar", "pressure", "'5 Mbar' with the unit 'Mbar'", PRESSURES, "did you mean mbar?"),
    (
        "20 psia",
        "pressure",
        "'20 psia' with the unit 'psia'",
        PRESSURES,
        "this is absolute: take off the air pressure of the day, about 14.7 psi, and give psi",
    ),
    (
        "4.7 k",
        "resistance",
        "'4.7 k' with the unit 'k'",
        OHMS,
        "a prefix alone: write kohm, kPa, kW or what is meant",
    ),
    ("1,200 ohm", "resistance", "'1,200'", "a number that can be read in one way", "write 1200 or 1.2"),
    (
        "1,20,000 ohm",
        "resistance",
        "'1,20,000'",
        "thousands in groups of three, or no groups at all",
        "write the number with one point and no commas",
    ),
    (
        "1 200 ohm",
        "resistance",
        "'1 200 ohm' with the unit '200 ohm'",
        OHMS,
        "write the number without spaces and as a decimal, for example 1200 or 0.75",
    ),
    (
        "1k2",
        "resistance",
        "'1k2' with the unit 'k2'",
        OHMS,
        "write the point where the letter stands, for example 1.2 kohm for 1k2, 4.7 ohm for 4R7",
    ),
    ("60-70 psi", "pressure", "'60-70 psi' with the unit '-70 psi'", PRESSURES, ONE_BY_ONE),
    ("5 ± 1 bar", "pressure", "'5 ± 1 bar' with the unit '± 1 bar'", PRESSURES, ONE_BY_ONE),
    (
        "1½ gal",
        "volume",
        "'1½ gal' with the unit '½ gal'",
        "volume in L, gal, mL, m3, qt, fl oz, ft3, in3",
        ONE_BY_ONE,
    ),
    (
        "3:40",
        "time",
        "'3:40'",
        "3:40 min, 1:05 h or 1:05:00 h",
        "add min for minutes:seconds, or h for hours:minutes",
    ),
    (
        "3:75 min",
        "time",
        "'3:75 min'",
        "3:40 min, 1:05 h or 1:05:00 h",
        "write two digits from 00 to 59 behind each colon",
    ),
    (
        "3 min 90 s",
        "time",
        "'3 min 90 s'",
        "falling units, each part less than one of the unit before it",
        "write it in one unit, as a decimal number",
    ),
    (
        "10 L in 0 s",
        "flow",
        "'10 L in 0 s'",
        "an amount (volume, energy, length, temperature, temperature difference, number) in a time above 0 s",
        "write for example 10 L in 28 s",
    ),
    (
        "OL",
        "voltage",
        "'OL', which says above the range of an ohmmeter",
        "voltage in V, mV, kV",
        "for a reading above the range write the range's end, as in > 230 V",
    ),
]


@pytest.mark.parametrize(("text", "asked", "place", "seen", "allowed", "do"), OUT_OF_SENSE)
def test_a_reading_that_cannot_be(
    text: str, asked: str | None, place: str | None, seen: str, allowed: str, do: str
) -> None:
    quantity = parse(text, asked)
    with pytest.raises(QuantityError) as refused:
        check(quantity, place)
    assert (refused.value.seen, refused.value.allowed, refused.value.do) == (seen, allowed, do)
    assert str(refused.value) == f"saw {seen}; allowed: {allowed}; {do}"


@pytest.mark.parametrize(("text", "asked", "seen", "allowed", "do"), NOT_A_READING)
def test_a_text_that_is_no_reading(text: str, asked: str | None, seen: str, allowed: str, do: str) -> None:
    with pytest.raises(QuantityError) as refused:
        parse(text, asked)
    assert (refused.value.seen, refused.value.allowed, refused.value.do) == (seen, allowed, do)
    assert str(refused.value) == f"saw {seen}; allowed: {allowed}; {do}"


def test_there_are_at_least_thirty_of_each() -> None:
    assert len(OUT_OF_SENSE) >= 30
    assert len(NOT_A_READING) >= 30
