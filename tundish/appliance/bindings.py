"""What feeds an input: a number, a text with unit, or the name of a parameter or quantity."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from tundish.appliance.fields import Range, entries_of, is_number, word
from tundish.appliance.lines import Node, Text
from tundish.appliance.measures import Scale, agree, dimension, in_si, starts_like_number
from tundish.appliance.owners import Owner, Owners, choices, numeric
from tundish.appliance.records import Binding
from tundish.appliance.refusals import listed, near, one
from tundish.physics.law import Input


def free(name: str, unit: str = "any") -> Input:
    """An input that takes any number; plain ones are in `unit`."""
    return Input(name, unit, None, -math.inf, math.inf)


def required(inputs: Sequence[Input]) -> tuple[str, ...]:
    """Names of inputs that must be given."""
    return tuple(each.name for each in inputs if each.default is None)


def optional(inputs: Sequence[Input]) -> tuple[str, ...]:
    """Names of inputs that may be left out."""
    return tuple(each.name for each in inputs if each.default is not None)


def bindings(entries: Mapping[str, Node], inputs: Sequence[Input], known: Owners) -> dict[str, Binding]:
    """The bindings of those inputs of a law or form that are given."""
    return {each.name: binding(entries[each.name], each, known) for each in inputs if each.name in entries}


def binding(node: Node | None, into: Input, known: Owners) -> Binding:
    """The binding of an input; plain numbers are in the input's unit."""
    if node is None:
        return 0.0
    written = node.text if isinstance(node, Text) else ""
    # A name comes first, so that no unit can hide a parameter.
    if written in known:
        return _named(node, known[written], into)
    if into.kinds:
        return _kind(node, into)
    # Neither a number nor a kind: it can only be a name that nobody described.
    if written and not is_number(node) and not starts_like_number(written):
        return _unknown(node, written, known)
    return in_si(node, Scale(into.unit), span(into))


def span(into: Input) -> Range:
    """The allowed range of an input, in its unit and in words.

    >>> span(Input("open", "-", None, 0.0, 1.0)).words
    'a number from 0 to 1'
    """
    unit = "" if dimension(into.unit) is None or into.unit == "-" else f" {into.unit}"
    if math.isinf(into.low):
        return Range("a number")
    if math.isinf(into.high):
        return Range(f"a number of {into.low:g}{unit} or more", into.low)
    return Range(f"a number from {into.low:g} to {into.high:g}{unit}", into.low, into.high)


def choice_code(node: Node | None, owner: Owner) -> str:
    """One of the names of a choice parameter; the first when it was refused."""
    return word(node, owner.names, f"name of {owner.name}", owner.names[0])


def requires(node: Node | None, known: Owners) -> dict[str, str]:
    """Choice parameters and the name each must have, for a complaint or check that makes no sense on other machines."""
    named = entries_of(node, choices(known), "choice parameter")
    return {name: choice_code(entry, known[name]) for name, entry in named.items()}


def choice_name(node: Node | None, known: Owners) -> str:
    """The name of a choice parameter; "" when refused."""
    return word(node, choices(known), "choice parameter")


def numeric_name(node: Node | None, known: Owners) -> str:
    """The name of a quantity, or of a parameter that is a number; "" when refused."""
    return word(node, numeric(known), "quantity")


def _named(node: Node, owner: Owner, into: Input) -> Binding:
    """A name, refused when what it stands for does not fit the input."""
    # The law counts its kinds in its own order.
    if into.kinds:
        if owner.names != into.kinds:
            allowed = f"a choice of exactly {listed(into.kinds)}"
            node.refuse(allowed, "give the parameter these names in this order", seen=owner.shown)
    elif owner.names:
        if not _codes_fit(owner, into):
            node.refuse(span(into).words, "name a parameter that is a number", seen=owner.shown)
    elif not agree(owner.dimension, dimension(into.unit)):
        node.refuse(
            one(str(dimension(into.unit))), f"name one in {into.unit} or a unit like it", seen=owner.shown
        )
    return owner.name


def _codes_fit(owner: Owner, into: Input) -> bool:
    """A choice may feed a plain input with its codes 0, 1, 2 ... if they all lie in the input's range."""
    plain = dimension(into.unit) in (None, "number", "fraction")
    return plain and into.low <= 0 and len(owner.names) - 1 <= into.high


def _kind(node: Node, into: Input) -> Binding:
    written = node.text if isinstance(node, Text) else ""
    if written in into.kinds:
        return float(into.kinds.index(written))
    allowed = f"{listed(into.kinds)}, or a choice parameter of these names"
    node.refuse(allowed, near(written, into.kinds) or f"name a {into.name}")
    return math.nan


def _unknown(node: Node, written: str, known: Owners) -> Binding:
    node.refuse(
        "a number, a text with unit, or the name of a parameter or quantity",
        near(written, known) or "write a number, or describe it under parameters or quantities",
    )
    return math.nan
