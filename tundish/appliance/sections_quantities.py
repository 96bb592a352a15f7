"""Section `quantities`: named results, taken from a solved setup or computed by a closed form."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from tundish.appliance.bindings import binding, bindings, optional, required
from tundish.appliance.fields import POSITIVE, keys, mapping, some, word
from tundish.appliance.lines import Fields, Node
from tundish.appliance.measures import Scale, agree, dimension, in_si, unit
from tundish.appliance.owners import Owner, Owners, refuse_name
from tundish.appliance.records import Binding, NetworkRecord, Quantity, Setup
from tundish.appliance.refusals import listed
from tundish.appliance.sections_networks import nodes_of
from tundish.physics.formulas import FORMULAS, Formula
from tundish.physics.law import Input

# Dimension of the potential -> dimension of the flow it drives.
FLOWS: Mapping[str, str] = {"pressure": "flow", "voltage": "current", "temperature": "power"}
# What is taken -> the keys that say where.
PLACES: Mapping[str, tuple[str, ...]] = {
    "flow": ("link",),
    "potential": ("node",),
    "drop": ("from", "to"),
    "voltage": ("from", "to"),
    "resistance": ("from", "to"),
}
_Networks = Mapping[str, NetworkRecord | None]


def quantities(
    node: Node | None, known: Owners, states: Mapping[str, Setup], *, described: Mapping[str, NetworkRecord]
) -> dict[str, Quantity]:
    """Every quantity by name."""
    # A setup whose network was refused is still known by name.
    networks = {name: described.get(setup.network) for name, setup in states.items()}
    return {name: _quantity(name, entry, known, networks=networks) for name, entry in mapping(node).items()}


def _quantity(name: str, node: Node, known: Owners, *, networks: _Networks) -> Quantity:
    refuse_name(name, node)
    given = mapping(node)
    bare = Quantity(name, unit(given.get("unit")))
    if isinstance(node, Fields) and ("take" in given) == ("form" in given):
        node.refuse("either take or form", f"take one of {listed(PLACES)}, or name a form", seen=_both(given))
    elif "take" in given:
        return _taken(node, bare, known, networks=networks)
    elif "form" in given:
        return _formed(node, bare, known[name], known=known)
    return bare


def _both(given: Mapping[str, Node]) -> str:
    return "both" if "take" in given else "neither"


def _taken(node: Node, bare: Quantity, known: Owners, *, networks: _Networks) -> Quantity:
    take = word(mapping(node)["take"], PLACES, "result")
    if not take:
        return bare
    given = keys(node, ("take", "setup", "unit", *PLACES[take], *(("meter",) if take == "voltage" else ())))
    setup = word(given.get("setup"), networks, "setup")
    network = networks.get(setup)
    _expect(given.get("unit"), bare, _dimensions(take, network, known))
    # Left out where no meter is added; then it is 0 and not used.
    ohms = in_si(given.get("meter"), Scale("ohm"), POSITIVE)
    return replace(bare, take=take, setup=setup, where=_where(take, given, network), meter=ohms)


def _where(take: str, given: Mapping[str, Node], network: NetworkRecord | None) -> tuple[str, ...]:
    if network is None:
        return ()
    allowed = [link.name for link in network.links] if take == "flow" else nodes_of(network)
    what = f"{'link' if take == 'flow' else 'node'} of {network.name}"
    where = tuple(word(given.get(place), allowed, what) for place in PLACES[take])
    # Between a node and itself there is nothing to measure.
    if where[0] and where[0] in where[1:]:
        given["to"].refuse("another node than from", "correct one of the two")
    return where


def _dimensions(take: str, network: NetworkRecord | None, known: Owners) -> tuple[str, ...]:
    """What the unit of a result may measure."""
    # A meter shows what it shows in any network; the rest follows from what the network carries.
    if take in ("voltage", "resistance"):
        return (take,)
    driven = _potential(network, known)
    potentials = (driven,) if driven else tuple(FLOWS)
    return tuple(FLOWS[each] for each in potentials) if take == "flow" else potentials


def _potential(network: NetworkRecord | None, known: Owners) -> str | None:
    """What the nodes of a network measure, as far as a held node that is bound to a name tells."""
    # Only voltages alternate.
    if network and network.is_complex:
        return "voltage"
    names = [bound for bound in (network.hold.values() if network else ()) if isinstance(bound, str)]
    found = [known[name].dimension for name in names]
    return next((each for each in found if each in FLOWS), None)


def _expect(node: Node | None, bare: Quantity, allowed: tuple[str | None, ...]) -> None:
    """Refuse a unit of another dimension."""
    if node and not any(agree(dimension(bare.unit), each) for each in allowed):
        what = " or ".join(str(each) for each in allowed)
        node.refuse(f"a unit of {what}", f"it is a unit of {dimension(bare.unit)}: use one of {what}")


def _formed(node: Node, bare: Quantity, owner: Owner, *, known: Owners) -> Quantity:
    form = FORMULAS.get(word(mapping(node)["form"], FORMULAS, "form"))
    if form is None:
        return bare
    inputs = _inputs(form, owner)
    given = keys(node, ("form", "unit", *required(inputs)), optional(inputs))
    _expect(given.get("unit"), bare, (dimension(form.unit),))
    # A form of any number of terms takes them as a list.
    if form.variadic:
        return replace(bare, form=form.name, of=_each(given.get("of"), inputs[0], known))
    return replace(bare, form=form.name, inputs=bindings(given, inputs, known))


def _inputs(form: Formula, owner: Owner) -> tuple[Input, ...]:
    """The form's inputs; those that share the result's unit are asked in the quantity's own unit."""
    if form.unit != "same":
        return form.inputs
    # The rate of `linear change` is per time, so it cannot share the unit of start and result.
    own = [each.unit == "any" and each.name != "rate" for each in form.inputs]
    return tuple(
        replace(each, unit=owner.unit) if shared else each
        for each, shared in zip(form.inputs, own, strict=True)
    )


def _each(node: Node | None, into: Input, known: Owners) -> tuple[Binding, ...]:
    return tuple(binding(item, into, known) for item in some(node, "binding"))
