"""A reading beside its healthy band, as places on a scale on which every healthy band is the middle third."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

# The band takes the middle third, so that one look down a column tells which readings lie outside. Our choice.
_FROM, _TO = 1 / 3, 2 / 3


def gauge(row: Mapping[str, Any]) -> dict[str, Any] | None:
    """Places of the readings before and after, from 0 to 1; None where there is no band or no number to place.

    row : a `Compared` as plain facts. "off" is -1 or 1 for a reading beyond the drawn scale, else 0.

    >>> band = {"says": "", "low": 2.0, "high": 4.0}
    >>> gauge({"healthy": band, "before": {"value": 3.0}, "after": {"value": 9.0}})
    {'before': {'at': 0.5, 'off': 0}, 'after': {'at': 1.0, 'off': 1}}
    """
    band = row.get("healthy") or {}
    low, high = band.get("low"), band.get("high")
    if low is None or high is None or not low < high:
        return None
    places = {name: _place(row.get(name), low, high) for name in ("before", "after")}
    return places if any(places.values()) else None


def _place(shown: Mapping[str, Any] | None, low: float, high: float) -> dict[str, Any] | None:
    if shown is None or (shown.get("value") is None and not shown.get("over_range")):
        return None
    value = shown["value"] if shown.get("value") is not None else float("inf")
    at = _FROM + (_TO - _FROM) * (value - low) / (high - low)
    return {"at": round(min(max(at, 0.0), 1.0), 4), "off": (at > 1) - (at < 0)}
