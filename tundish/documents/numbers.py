"""Numbers as a technician reads them."""

from __future__ import annotations

import math

from tundish.appliance.records import Check
from tundish.diagnosis.expect import Expected
from tundish.diagnosis.reading import Reading
from tundish.quantity.show import show, show_in
from tundish.quantity.units import dimension_of

# Both systems show these in the check's own unit: a spin speed is in rpm, a sensor's signal in kHz.
OWN_UNIT = ("frequency", "number", "fraction")


def percent(chance: float) -> str:
    """A chance in words and figures that do not pretend to be certain.

    >>> [percent(p) for p in (0.873, 0.034, 0.0004, 0.9996, 0.0)]
    ['87 %', '3.4 %', 'under 0.1 %', 'over 99.9 %', 'under 0.1 %']
    """
    # A simulation of some hundred thousand machines knows no more decimals than this.
    if chance < 0.001:
        return "under 0.1 %"
    if chance > 0.999:
        return "over 99.9 %"
    return f"{100 * chance:.0f} %" if 0.0995 < chance <= 0.99 else f"{100 * chance:.1f} %"


def shown(check: Check, value: float, system: str) -> str:
    """A check's value in the units of a system (metric or US)."""
    if is_share(check):
        return f"{100 * min(value, 1.0):.0f} %"
    if math.isinf(value) or (check.instrument is not None and value >= check.instrument.high):
        return "OL" if dimension_of(check.unit) == "resistance" else "over range"
    if dimension_of(check.unit) in OWN_UNIT:
        return show(value, check.unit)
    return show_in(value, dimension_of(check.unit), system)


def is_share(check: Check) -> bool:
    """True for a reading without unit that ends at 1: a share, shown in percent."""
    return check.unit == "-" and check.instrument is not None and check.instrument.high == 1.0


def reading_text(check: Check, reading: Reading, system: str) -> str:
    """What a reading showed."""
    if reading.value is None:
        return reading.answer or ""
    # A bound is told as a bound: "above 20 Mohm" is not 20 Mohm.
    sign = {"above": "above ", "below": "below "}.get(reading.bound, "")
    text = shown(check, reading.value, system)
    return text if math.isinf(reading.value) else sign + text


def expected_text(check: Check, expected: Expected, system: str) -> str:
    """A predicted reading in one phrase: the middle with its 90 % band, or the likely answers of a look."""
    if check.is_look:
        likely = sorted(expected.answers.items(), key=lambda item: -item[1])
        return ", ".join(f"{name} {percent(p)}" for name, p in likely if p >= 0.02)
    if expected.low is None or expected.middle is None or expected.high is None:
        return "not known"
    low, middle, high = (shown(check, v, system) for v in (expected.low, expected.middle, expected.high))
    return middle if low == high else f"{middle} ({low} to {high})"
