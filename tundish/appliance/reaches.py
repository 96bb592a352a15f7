"""Whether every value a parameter can take fits every law and form it feeds, as far as bounds are given."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from tundish.appliance.bindings import span
from tundish.appliance.lines import Fields, Node
from tundish.appliance.measures import agree, dimension
from tundish.appliance.records import Binding, Description, Distribution
from tundish.appliance.sections_parameters import target
from tundish.physics.formulas import FORMULAS
from tundish.physics.law import Input
from tundish.physics.laws import LAWS

# Ends turned into SI may miss a limit by a last digit.
_SLACK = 1e-9
_BOUNDED = ("constant", "uniform", "loguniform")
_POSITIVE = ("lognormal", "loguniform", "beta")


@dataclass(frozen=True)
class _Fed:
    """An input that a parameter feeds; `where` names the link or quantity."""

    where: str
    into: Input


def refuse_reaches(root: Fields, made: Description) -> None:
    """Refuse bounded distributions that reach outside the range of an input they feed."""
    feeds = _feeds(made)
    for name, distribution, keys in _drawn(made):
        parameter = made.parameters[name]
        # A factor or a sum says nothing of the value until its partner is drawn.
        if not (parameter.times or parameter.plus or parameter.names):
            ends = [target(parameter).scale.to_si(end) for end in _ends(distribution)]
            for fed in feeds.get(name, ()) if ends else ():
                # Where the dimension is wrong that was said already.
                if agree(dimension(parameter.unit), dimension(fed.into.unit)):
                    _compare(_at(root, keys), name, ends, fed=fed)


def allowed_range(made: Description, name: str) -> tuple[float, float]:
    """The lowest and highest value, [SI], that a parameter may have; infinite where nothing says.

    Every input that it feeds directly must take it, and what is never drawn below 0 cannot be below it.
    """
    fed = _feeds(made).get(name, ())
    low = max((each.into.low for each in fed), default=-math.inf)
    high = min((each.into.high for each in fed), default=math.inf)
    if all(_positive(distribution) for known, distribution, _ in _drawn(made) if known == name):
        low = max(low, 0.0)
    return low, high


def _positive(distribution: Distribution) -> bool:
    """Whether a distribution draws nothing below 0; a bell counts as far as four sigma."""
    if distribution.kind in _POSITIVE:
        return True
    if distribution.kind == "by":
        return all(_positive(case) for case in distribution.cases)
    if distribution.kind == "normal" and not distribution.clip:
        middle, sigma = distribution.numbers
        return middle >= 4 * sigma
    ends = _ends(distribution)
    return bool(ends) and min(ends) >= 0


def described_range(made: Description, name: str) -> tuple[float, float] | None:
    """The ends of all that a description draws for a parameter, [SI]; None where a distribution has none, or is a factor."""
    parameter = made.parameters[name]
    spans = [_ends(distribution) for known, distribution, _ in _drawn(made) if known == name]
    if parameter.times or parameter.plus or parameter.names or not all(spans):
        return None
    ends = [target(parameter).scale.to_si(end) for each in spans for end in each]
    return min(ends), max(ends)


def _compare(node: Node | None, name: str, ends: list[float], *, fed: _Fed) -> None:
    low, high = min(ends), max(ends)
    slack = _SLACK * max(abs(low), abs(high))
    if node and (low < fed.into.low - slack or high > fed.into.high + slack):
        allowed = f"{span(fed.into).words}, as it is {fed.into.name} of {fed.where}"
        node.refuse(
            allowed, "correct its numbers or unit, or clip it", seen=f"{name} from {low:g} to {high:g} in SI"
        )


def _feeds(made: Description) -> dict[str, list[_Fed]]:
    """The inputs that each name feeds directly."""
    found: dict[str, list[_Fed]] = {}
    for where, inputs, bound in _fed_inputs(made):
        for into in inputs:
            name = bound.get(into.name)
            if isinstance(name, str):
                found.setdefault(name, []).append(_Fed(where, into))
    return found


def _fed_inputs(made: Description) -> Iterator[tuple[str, tuple[Input, ...], Mapping[str, Binding]]]:
    # A link whose law was refused has no inputs.
    for network in made.networks.values():
        for link in network.links:
            if link.law:
                yield f"link {link.name}", LAWS[link.law].inputs, link.inputs
    for quantity in made.quantities.values():
        if quantity.form:
            yield f"quantity {quantity.name}", FORMULAS[quantity.form].inputs, quantity.inputs


def _drawn(made: Description) -> Iterator[tuple[str, Distribution, tuple[str, ...]]]:
    """Every distribution of a parameter's own value, and the keys to where it stands."""
    for name, parameter in made.parameters.items():
        yield name, parameter.distribution, ("parameters", name)
    for market in made.markets.values():
        for name, distribution in market.parameters.items():
            yield name, distribution, ("markets", market.name, "parameters", name)
    for fault in made.faults.values():
        for effect in (each for mode in fault.modes for each in mode.effects):
            # `times` and `plus` act on a value that is not known here.
            if effect.kind == "set" and effect.distribution:
                yield effect.parameter, effect.distribution, ("faults", fault.id)


def _at(root: Fields, keys: tuple[str, ...]) -> Node | None:
    """The node at a path of keys."""
    node: Node | None = root
    for key in keys:
        node = node.entries.get(key) if isinstance(node, Fields) else None
    return node


def _ends(distribution: Distribution) -> list[float]:
    """Lowest and highest value, in the owner's unit; empty where the form has no bounds."""
    # A clip bounds any form.
    if distribution.clip:
        return list(distribution.clip)
    if distribution.kind == "by":
        return [end for case in distribution.cases for end in _ends(case)]
    numbers = distribution.numbers if distribution.kind in _BOUNDED else ()
    return [number for number in numbers if not math.isnan(number)]
