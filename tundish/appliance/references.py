"""Cross checks of the whole: nothing may depend on itself."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from graphlib import CycleError, TopologicalSorter

from tundish.appliance.lines import Fields
from tundish.appliance.owners import section
from tundish.appliance.records import Binding, Description, Distribution, Parameter, Quantity


def refuse_cycles(root: Fields, made: Description) -> None:
    """Refuse parameters drawn from each other and quantities computed from each other, each ring once."""
    for name, graph in (("parameters", _parents(made)), ("quantities", _sources(made))):
        entries = section(root, name)
        for ring in rings(graph):
            seen = " from ".join((*ring, ring[0]))
            advice = "let one of them depend on something else"
            entries[ring[0]].refuse(f"{name} that do not depend on themselves", advice, seen=seen)


def rings(graph: Mapping[str, Iterable[str]]) -> Iterator[tuple[str, ...]]:
    """Rings of a graph (name -> names it depends on), each starting with its first name in the graph's order.

    >>> list(rings({"a": ["b"], "b": ["a"], "c": ["a"]}))
    [('a', 'b')]
    """
    left = {name: list(dict.fromkeys(others)) for name, others in graph.items()}
    order = {name: place for place, name in enumerate(graph)}
    while ring := _ring(left):
        first = min(range(len(ring)), key=lambda place: order[ring[place]])
        yield tuple(ring[first:] + ring[:first])
        # Opening the ring there lets the next one be found.
        left[ring[first]] = []


def _ring(graph: Mapping[str, Iterable[str]]) -> list[str]:
    try:
        TopologicalSorter(graph).prepare()
    except CycleError as error:
        # The error gives a, b, a where each is needed by the next; turned round each depends on the next.
        return list(reversed(error.args[1][1:]))
    return []


def _parents(made: Description) -> dict[str, list[str]]:
    """Parameters from which each is drawn: its partner, its keys, those of markets and of effects on it."""
    graph = {name: [*_partners(each), *_keys(each.distribution)] for name, each in made.parameters.items()}
    for market in made.markets.values():
        for name, distribution in market.parameters.items():
            graph[name] += _keys(distribution)
    for effect in (e for fault in made.faults.values() for mode in fault.modes for e in mode.effects):
        if effect.distribution:
            graph[effect.parameter] += _keys(effect.distribution)
    return graph


def _partners(parameter: Parameter) -> list[str]:
    return [name for name in (parameter.times, parameter.plus) if name]


def _keys(distribution: Distribution) -> list[str]:
    nested = [key for case in distribution.cases for key in _keys(case)]
    return [distribution.key, *nested] if distribution.key else nested


def _sources(made: Description) -> dict[str, list[str]]:
    """Quantities from which each is worked out."""
    every = {name: _direct(each) + _solved(each, made) for name, each in made.quantities.items()}
    return {name: [source for source in sources if source in every] for name, sources in every.items()}


def _direct(quantity: Quantity) -> list[str]:
    return _names((*quantity.inputs.values(), *quantity.of))


def _solved(quantity: Quantity, made: Description) -> list[str]:
    """Names that feed the setup a quantity is taken from, as the setup changes them."""
    setup = made.setups.get(quantity.setup)
    network = made.networks.get(setup.network) if setup else None
    if setup is None or network is None:
        return []
    # As the machine is solved: the setup's own holds come before the network's.
    held = [
        bound
        for own, more in ((network.hold, setup.hold), (network.angles, setup.angles))
        for node, bound in {**own, **more}.items()
        if node not in setup.free
    ]
    links = [bound for link in network.links for bound in (*link.inputs.values(), link.lift)]
    # A resistance is measured on the links alone, with every held node freed.
    fed = _names(links if quantity.take == "resistance" else [*links, *held])
    # A binding that the setup replaces is not worked out in it.
    kept = [name for name in fed if name not in setup.set or setup.set[name].kind != "to"]
    return kept + _names(setup.set[name].value for name in fed if name in setup.set)


def _names(bindings: Iterable[Binding]) -> list[str]:
    return [binding for binding in bindings if isinstance(binding, str)]
