"""An amount in a time: "10 L in 28 s" is a flow."""

from __future__ import annotations

import re
from collections.abc import Mapping
from types import MappingProxyType

# The time starts with a digit, so "5 in w.g." and "5 in" keep their inches.
_RATE = re.compile(r"(.+?)\s+in\s+([0-9.,].*)")

RATES: Mapping[str, str] = MappingProxyType(
    {
        "volume": "flow",
        "energy": "power",
        "length": "velocity",
        "temperature": "heating rate",
        "temperature difference": "heating rate",
        "number": "frequency",
    }
)
"""Dimension of an amount -> dimension of the amount over a time. A temperature is taken as a rise."""


def split_rate(text: str) -> tuple[str, str] | None:
    """The amount and the time of a text, None when it is not of this form.

    Examples
    --------
    >>> split_rate("10 L in 28 s"), split_rate("5 in w.g.")
    (('10 L', '28 s'), None)
    """
    match = _RATE.fullmatch(text)
    return (match[1], match[2]) if match else None
