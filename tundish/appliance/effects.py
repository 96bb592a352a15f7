"""What a fault does to parameters: set, times, plus or swap."""

from __future__ import annotations

from collections.abc import Mapping

from tundish.appliance.distributions import Target, distribution, named
from tundish.appliance.fields import items, keys, mapping, two, word
from tundish.appliance.lines import Node, Text
from tundish.appliance.measures import PLAIN, Scale, agree, dimension
from tundish.appliance.owners import Owners
from tundish.appliance.records import Distribution, Effect, Parameter
from tundish.appliance.refusals import listed

# Kind of effect -> the key that holds its distribution.
_AMOUNT = {"set": "to", "times": "by", "plus": "by"}
KINDS = (*_AMOUNT, "swap")


def effects(node: Node | None, known: Owners, parameters: Mapping[str, Parameter]) -> tuple[Effect, ...]:
    """Effects in the file's order; those refused are left out."""
    made = (_effect(item, known, parameters) for item in items(node))
    return tuple(effect for effect in made if effect)


def _effect(node: Node, known: Owners, parameters: Mapping[str, Parameter]) -> Effect | None:
    kinds = [kind for kind in KINDS if kind in mapping(node)]
    if len(kinds) != 1:
        seen = listed(mapping(node)) or node.shown
        node.refuse(f"one of {listed(KINDS)}", "write for example {set: PARAMETER, to: 0.5}", seen=seen)
        return None
    # A swap has no amount.
    if kinds == ["swap"]:
        return _swap(keys(node, ("swap",))["swap"], parameters)
    kind, amount = kinds[0], _AMOUNT[kinds[0]]
    given = keys(node, (kind, amount))
    name = word(given[kind], parameters, "parameter")
    if not name or amount not in given:
        return None
    return Effect(kind, name, _amount(kind, given[amount], parameters[name], known=known))


def _amount(kind: str, node: Node, parameter: Parameter, *, known: Owners) -> Distribution:
    target = Target(names=parameter.names)
    if parameter.names and kind != "set":
        allowed = f"set: {parameter.name}, to: one of {listed(parameter.names)}"
        node.refuse(allowed, "a choice can only be set", seen=f"{kind} on a choice")
        return Distribution("name", names=parameter.names[:1])
    # A bare name is that name for certain; a mapping gives weights.
    if parameter.names:
        return named(node, target) if isinstance(node, Text) else distribution(node, target, known)
    # A factor has no unit, what is added has no offset.
    scale = PLAIN if kind == "times" else Scale(parameter.unit, difference=kind == "plus")
    return distribution(node, Target(scale), known)


def _swap(node: Node, parameters: Mapping[str, Parameter]) -> Effect | None:
    both = two(node, "[parameter, parameter]")
    if both is None:
        return None
    one, other = (word(item, parameters, "parameter") for item in both)
    if not one or not other:
        return None
    if one == other or not _alike(parameters[one], parameters[other]):
        node.refuse("two parameters of one kind", "swap only like with like")
    return Effect("swap", one, other=other)


def _alike(one: Parameter, other: Parameter) -> bool:
    return one.names == other.names and agree(dimension(one.unit), dimension(other.unit))
