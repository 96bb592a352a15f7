"""Sections `parameters` and `markets`: what differs from machine to machine, and where."""

from __future__ import annotations

from collections.abc import Mapping

from tundish.appliance.distributions import NOTHING, Target, choice, distribution
from tundish.appliance.fields import entries_of, keys, mapping, text, word
from tundish.appliance.lines import Fields, Node, Text
from tundish.appliance.measures import PLAIN, Scale, agree, in_unit, unit
from tundish.appliance.owners import Owner, Owners, numeric, refuse_name
from tundish.appliance.records import Distribution, Market, Parameter

UNIT_SYSTEMS = ("metric", "US")
# Keys of a parameter that are not part of its distribution.
_OWN = ("unit", "times", "plus", "note")


def parameters(node: Node | None, known: Owners) -> dict[str, Parameter]:
    """Every parameter by name."""
    return {name: _parameter(known[name], entry, known) for name, entry in mapping(node).items()}


def markets(node: Node | None, known: Owners, made: Mapping[str, Parameter]) -> dict[str, Market]:
    """Every market by name."""
    return {name: _market(name, entry, known, made=made) for name, entry in mapping(node).items()}


def target(parameter: Parameter) -> Target:
    """On which scale a parameter's own distribution draws: `times` draws a factor, `plus` a difference."""
    if parameter.names:
        return Target(names=parameter.names)
    return Target(PLAIN if parameter.times else Scale(parameter.unit, difference=bool(parameter.plus)))


def _parameter(owner: Owner, node: Node, known: Owners) -> Parameter:
    refuse_name(owner.name, node)
    if isinstance(node, Fields):
        return _choice(owner, node) if owner.names else _number(owner, node, known)
    if isinstance(node, Text):
        # A single number or text with unit: the same on every machine.
        return Parameter(
            owner.name, owner.unit, Distribution("constant", (in_unit(node, Scale(owner.unit)),))
        )
    node.refuse("a mapping with unit and distribution", "write for example {unit: kPa, normal: [350, 80]}")
    return Parameter(owner.name, "", NOTHING)


def _choice(owner: Owner, node: Fields) -> Parameter:
    given = keys(node, ("choice",), ("note",))
    return Parameter(owner.name, "", choice(given["choice"], owner.names), note=text(given.get("note")))


def _number(owner: Owner, node: Fields, known: Owners) -> Parameter:
    own, drawn = node.split(*_OWN)
    # The rest of the keys is the distribution's business, so only the unit is asked here.
    if "unit" not in own:
        keys(node.split("unit", *node.entries)[1], ("unit",))
    if "times" in own and "plus" in own:
        own["plus"].refuse("times or plus, not both", "use a second parameter", seen="plus beside times")
    bare = Parameter(
        owner.name,
        unit(own.get("unit")),
        NOTHING,
        _partner(own.get("times"), owner, known),
        _partner(own.get("plus"), owner, known),
        text(own.get("note")),
    )
    # Partners first: they say whether a value, a factor or a difference is drawn.
    made = distribution(drawn, target(bare), known)
    return Parameter(bare.name, bare.unit, made, bare.times, bare.plus, bare.note)


def _partner(node: Node | None, owner: Owner, known: Owners) -> str | None:
    """The parameter that is multiplied or added to."""
    # Quantities are worked out from parameters, so no parameter may be drawn from one.
    allowed = [name for name in numeric(known) if known[name].parameter]
    name = word(node, allowed, "parameter that is a number")
    if node and name and not agree(owner.dimension, known[name].dimension):
        node.refuse(
            f"a {owner.dimension}", f"name one in {owner.unit} or a unit like it", seen=known[name].shown
        )
    return name or None


def _market(name: str, node: Node, known: Owners, *, made: Mapping[str, Parameter]) -> Market:
    given = keys(node, ("title", "currency", "units"), ("parameters",))
    replaced = entries_of(given.get("parameters"), made, "parameter")
    return Market(
        name,
        text(given.get("title")),
        text(given.get("currency")),
        word(given.get("units"), UNIT_SYSTEMS, "system of units"),
        {each: distribution(entry, target(made[each]), known) for each, entry in replaced.items()},
    )
