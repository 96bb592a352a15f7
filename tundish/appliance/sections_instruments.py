"""Section `instruments`: how wrong a reading may be, one sigma."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from tundish.appliance.fields import NOT_NEGATIVE, SHARE, keys, mapping, number, ordered, two, word
from tundish.appliance.lines import Fields, Node
from tundish.appliance.measures import Scale, agree, dimension, in_si, unit
from tundish.appliance.records import Instrument
from tundish.appliance.refusals import listed
from tundish.quantity.dimensions import DIMENSIONS
from tundish.quantity.units import si_unit

_ERRORS = ("absolute", "relative", "resolution", "persistent", "range", "scale")
# In the order of the record's `log`: False, True.
_SCALES = ("linear", "log")


def instruments(node: Node | None) -> dict[str, Instrument]:
    """Every instrument by name."""
    return {name: _instrument(name, entry) for name, entry in mapping(node).items()}


def adjusted(node: Node, base: Instrument, symbol: str) -> Instrument:
    """An instrument with the errors a check gives under `error`; plain numbers are in `symbol`."""
    given = keys(node, (), _ERRORS)
    if isinstance(node, Fields) and not node.entries:
        node.refuse(f"one of {listed(_ERRORS)}", "say which error differs, or take error out")
    return _sound(node, _errors(given, base, symbol))


def _instrument(name: str, node: Node) -> Instrument:
    given = keys(
        node, ("quantity", "persistent", "range"), ("unit", "absolute", "relative", "resolution", "scale")
    )
    # Without the quantity no other number can be understood.
    kind = word(given.get("quantity"), DIMENSIONS, "kind of quantity")
    if not kind:
        return Instrument(name, "", 0.0, 0.0, 0.0, 0.0, 0.0, 0.0)
    symbol = unit(given.get("unit"), si_unit(kind))
    if "unit" in given and not agree(dimension(symbol), kind):
        given["unit"].refuse(f"a unit of {kind}", f"it is a unit of {dimension(symbol)}: use one of {kind}")
        # Go on in SI, so that the numbers are still read.
        symbol = si_unit(kind)
    return _sound(node, _errors(given, Instrument(name, kind, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0), symbol))


def _errors(given: Mapping[str, Node], base: Instrument, symbol: str) -> Instrument:
    spread = Scale(symbol, difference=True)
    # The ends of a range have an offset, errors have none.
    low, high = _range(given.get("range"), Scale(symbol), (base.low, base.high))
    return replace(
        base,
        absolute=in_si(given.get("absolute"), spread, NOT_NEGATIVE, base.absolute),
        relative=number(given.get("relative"), NOT_NEGATIVE, base.relative),
        resolution=in_si(given.get("resolution"), spread, NOT_NEGATIVE, base.resolution),
        persistent=number(given.get("persistent"), SHARE, base.persistent),
        low=low,
        high=high,
        log=word(given.get("scale"), _SCALES, "scale", _SCALES[base.log]) == "log",
    )


def _range(node: Node | None, scale: Scale, default: tuple[float, float]) -> tuple[float, float]:
    both = two(node, "[lowest, highest]") if node else None
    if node is None or both is None:
        return default
    low, high = (in_si(item, scale) for item in both)
    if low == high:
        node.refuse("lowest below highest", "widen the range", seen="an empty range")
    return ordered(node, low, high)


def _sound(node: Node, made: Instrument) -> Instrument:
    """Refuse errors that would make a reading a certainty, or that a logarithm cannot carry."""
    if made.log and (made.relative <= 0 or made.absolute > 0 or made.resolution > 0 or made.low < 0):
        node.refuse(
            "on a log scale a relative error alone, above 0, and a range from 0 up",
            "give only the relative error",
            seen=f"relative {made.relative:g}, absolute {made.absolute:g}, resolution {made.resolution:g}",
        )
    elif not made.log and made.absolute <= 0 and made.resolution <= 0:
        # A relative error alone is none at a reading of 0.
        node.refuse(
            "an absolute error or a resolution above 0", "add absolute: or resolution:", seen="neither"
        )
    return made
