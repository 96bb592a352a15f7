"""Which parameters a set of quantities depends on, so that nothing else need be drawn."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from tundish.appliance.records import Binding, Clause, Description, Quantity
from tundish.population.layout import parents


def needed_parameters(description: Description, names: Iterable[str]) -> frozenset[str]:
    """Every parameter that quantities or parameters of these names depend on, through setups, draws and swaps of faults."""
    found: set[str] = set()
    waiting = list(names)
    while waiting:
        name = waiting.pop()
        # Names are met again through other setups; each is followed once.
        if name not in found:
            found.add(name)
            waiting += _next(description, name)
    return frozenset(found & description.parameters.keys())


def asked_by(clauses: Iterable[Clause]) -> Iterator[str]:
    """Names that conditions ask for."""
    for clause in clauses:
        yield from asked_by(clause.any) if clause.any else (clause.quantity,)


def _next(description: Description, name: str) -> list[str]:
    if name in description.parameters:
        return [*parents(description, name), *_swapped(description, name)]
    return list(dict.fromkeys(_of_quantity(description, description.quantities[name])))


def _swapped(description: Description, name: str) -> Iterator[str]:
    """A fault that swaps two parameters makes each depend on the other."""
    for fault in description.faults.values():
        for effect in (e for m in fault.modes for e in m.effects if e.kind == "swap"):
            if name in (effect.parameter, effect.other):
                yield effect.parameter
                yield effect.other or ""


def _of_quantity(description: Description, quantity: Quantity) -> Iterator[str]:
    if not quantity.take:
        # A closed form needs its inputs only; a solved one needs its whole network.
        yield from _named([*quantity.inputs.values(), *quantity.of])
        return
    setup = description.setups[quantity.setup]
    network = description.networks[setup.network]
    for held in (network.hold, network.angles, setup.hold, setup.angles):
        yield from _named(held.values())
    yield from _named(c.value for c in setup.set.values())
    for link in network.links:
        yield from _named([*link.inputs.values(), link.lift])


def _named(bindings: Iterable[Binding]) -> Iterator[str]:
    return (b for b in bindings if isinstance(b, str))
