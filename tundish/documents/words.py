"""Sentences of a description as they are shown to somebody at the machine: without marks of sources, in his units."""

from __future__ import annotations

import re
from collections.abc import Mapping

# Marks of sources in a description, such as [S12] or (CP).
SOURCE = re.compile(r"\s*(?:\[[A-Z]+\d*\]|\(CP\))")
# Metric unit -> US unit, factor, what is added. Exact definitions: inch, pound and gallon by NIST SP 811 (2008), appendix B.
US: Mapping[str, tuple[str, float, float]] = {
    "°C": ("°F", 1.8, 32.0),
    "kg": ("lb", 1 / 0.45359237, 0.0),
    "L/min": ("gpm", 1 / 3.785411784, 0.0),
    "L": ("gal", 1 / 3.785411784, 0.0),
    "mm": ("in", 1 / 25.4, 0.0),
}
AMOUNT = re.compile(r"(?<![\w.])(-?\d+(?:\.\d+)?) (°C|kg|L/min|L|mm)(?![\w/])")
BOTH = re.compile(r"\d (?:°F|lb|gpm|gal|in)(?!\w)")
# From here on no decimals are told: a sentence is no measurement. Our choice.
WHOLE = 10.0


def plain(line: str) -> str:
    """A line without the marks of its sources, which mean nothing at the machine.

    >>> plain("Fitted alone it cures half (CP). Judge it under -7 °C [S22].")
    'Fitted alone it cures half. Judge it under -7 °C.'
    """
    return SOURCE.sub("", line)


def said_in(text: str, system: str) -> str:
    """A sentence with its amounts in the units of a system, metric or US; as it stands where it tells both.

    >>> said_in("let it cool; at most 40 °C to the hand's back; pour 2 L in", "US")
    "let it cool; at most 104 °F to the hand's back; pour 0.5 gal in"
    >>> said_in("177 °C (350 °F)", "US"), said_in("over 70 kg", "metric")
    ('177 °C (350 °F)', 'over 70 kg')
    """
    if system != "US" or BOTH.search(text):
        return text
    return AMOUNT.sub(lambda found: _told(float(found[1]), *US[found[2]]), text)


def _told(value: float, unit: str, factor: float, plus: float) -> str:
    amount = value * factor + plus
    return f"{amount:.0f} {unit}" if abs(amount) >= WHOLE else f"{amount:.1f} {unit}"
