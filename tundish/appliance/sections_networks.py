"""Sections `networks` and `setups`: what flows where, and the states in which readings are taken."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace

from tundish.appliance.bindings import binding, bindings, choice_code, free, optional, required
from tundish.appliance.fields import entries_of, keys, mapping, number, text, word, words
from tundish.appliance.lines import Fields, Items, Node, Text
from tundish.appliance.measures import Scale, in_si
from tundish.appliance.owners import Owner, Owners
from tundish.appliance.records import Binding, Change, LinkRecord, NetworkRecord, Setup
from tundish.appliance.refusals import listed
from tundish.physics.law import Law
from tundish.physics.laws import ALTERNATING, LAWS
from tundish.physics.meters import METER

# What kind of number a network's potentials are.
POTENTIALS = ("real", "complex")
# What every link has besides its law's inputs.
_OWN = ("law", "from", "to")
# What a setup may do to a parameter's own value, instead of replacing it.
_CHANGES = ("at_least", "at_most", "times")


def networks(node: Node | None, known: Owners) -> dict[str, NetworkRecord]:
    """Every network by name."""
    return {name: _network(name, entry, known) for name, entry in mapping(node).items()}


def setups(node: Node | None, known: Owners, described: Mapping[str, NetworkRecord]) -> dict[str, Setup]:
    """Every setup by name."""
    return {name: _setup(name, entry, known, described=described) for name, entry in mapping(node).items()}


def nodes_of(network: NetworkRecord) -> list[str]:
    """Nodes that some link touches, in order of first use."""
    return list(dict.fromkeys(end for link in network.links for end in (link.start, link.end) if end))


def fed(network: NetworkRecord) -> list[Binding]:
    """Every binding of a network: inputs, lifts, held nodes and their angles."""
    links = [each for link in network.links for each in (*link.inputs.values(), link.lift)]
    return [*links, *network.hold.values(), *network.angles.values()]


def _network(name: str, node: Node, known: Owners) -> NetworkRecord:
    given = keys(node, ("links",), ("hold", "potentials"))
    # A refused word leaves the kind open, so that nothing else is refused for its sake.
    potentials = word(given["potentials"], POTENTIALS, "kind") if "potentials" in given else "real"
    # Links first: they make the nodes that may be held.
    ways = mapping(given.get("links")).items()
    links = tuple(_link(link, entry, known, potentials=potentials) for link, entry in ways)
    if isinstance(given.get("links"), Fields) and not links:
        given["links"].refuse("at least one link", "describe a link, or take the network out")
    bare = NetworkRecord(name, links, {}, potentials)
    hold, angles = _hold(given.get("hold"), known, bare)
    return replace(bare, hold=hold, angles=angles)


def _hold(
    node: Node | None, known: Owners, network: NetworkRecord
) -> tuple[dict[str, Binding], dict[str, Binding]]:
    """Bindings of held nodes and, in a complex network, of their angles; each must be the end of a link."""
    held = entries_of(node, nodes_of(network), f"node of {network.name}")
    if network.potentials == "real":
        return {name: _level(name, entry, known) for name, entry in held.items()}, {}
    turned = {name: _phasor(entry, known) for name, entry in held.items()}
    return {name: volts for name, (volts, _) in turned.items()}, {n: lead for n, (_, lead) in turned.items()}


def _level(name: str, node: Node, known: Owners) -> Binding:
    """The potential of a held node of a real network."""
    if isinstance(node, Fields):
        node.refuse("one binding", "give one, or write potentials: complex in this network")
        return math.nan
    return binding(node, free(name), known)


def _phasor(node: Node, known: Owners) -> tuple[Binding, Binding]:
    """Root mean square [V] and lead [rad] of a held node; the lead is 0 where only one binding is given."""
    if isinstance(node, Items):
        node.refuse("one binding, or volts and degrees", "write for example {volts: 120, degrees: 180}")
        return math.nan, math.nan
    if not isinstance(node, Fields):
        return binding(node, free("volts", "V"), known), 0.0
    given = keys(node, ("volts",), ("degrees",))
    volts = binding(given.get("volts"), free("volts", "V"), known)
    lead = binding(given.get("degrees"), free("degrees", "deg"), known)
    # An unknown key may have been meant for either.
    return (volts, lead) if len(given) == len(node.entries) else (math.nan, math.nan)


def _law(node: Node | None, potentials: str) -> Law | None:
    """The law of a link, refused where it is unknown or its network is of the other kind."""
    fits = [name for name, law in LAWS.items() if _serves(law, potentials)]
    if not isinstance(node, Text) or node.text not in LAWS or node.text in fits:
        return LAWS.get(word(node, fits, "law"))
    # The law is known, so it is the network that may be of the wrong kind.
    other = POTENTIALS[1 - POTENTIALS.index(potentials)]
    node.refuse(
        f"where potentials are {potentials}, {listed(fits)}",
        f"use one of these, or write potentials: {other} in this network",
    )
    return None


def _serves(law: Law, potentials: str) -> bool:
    if potentials == "real":
        return law.name not in ALTERNATING
    return law.admittance is not None or not potentials


def _link(name: str, node: Node, known: Owners, *, potentials: str) -> LinkRecord:
    if name == METER:
        node.refuse(
            "another name", "rename the link: a voltmeter is added under this name", seen=f'"{METER}"'
        )
    law = _law(mapping(node).get("law"), potentials)
    if law is None:
        # Without a law nothing is known of the inputs, but the ends still make nodes.
        fixed = keys(node, _OWN, tuple(mapping(node)))
        return LinkRecord(name, "", text(fixed.get("from")), text(fixed.get("to")), {})
    # A lift has no angle, so where potentials are complex a source is a held node.
    lifted = () if potentials == "complex" else ("lift",)
    given = keys(node, (*_OWN, *required(law.inputs)), (*lifted, *optional(law.inputs)))
    start, end = text(given.get("from")), text(given.get("to"))
    if start and start == end:
        given["to"].refuse("another node than from", "correct one of the two")
    # A lift is in the unit of the network's potential, which only its bindings tell.
    lift = binding(given.get("lift"), free("lift"), known)
    return LinkRecord(name, law.name, start, end, bindings(given, law.inputs, known), lift)


def _setup(name: str, node: Node, known: Owners, *, described: Mapping[str, NetworkRecord]) -> Setup:
    given = keys(node, ("network",), ("title", "set", "hold", "free"))
    network = described.get(word(given.get("network"), described, "network"))
    title = text(given.get("title"), name)
    # The title is kept, so that what names this setup is not refused for its sake.
    if network is None:
        return Setup(name, "", title)
    hold, angles = _hold(given.get("hold"), known, network)
    reached = _reached(network, [*hold.values(), *angles.values()], known)
    changed = entries_of(given.get("set"), reached, "name bound in this network")
    changes = {each: _change(entry, known[each], known) for each, entry in changed.items()}
    loose = words(given.get("free"), network.hold, "held node")
    return Setup(name, network.name, title, changes, hold, loose, angles)


def _reached(network: NetworkRecord, own: Sequence[Binding], known: Owners) -> list[str]:
    """Names bound directly to a link or a held node: what `set` can reach."""
    bound = [*fed(network), *own]
    # Where a law or a binding was refused nothing can be said of what is bound.
    if not all(link.law for link in network.links) or any(
        isinstance(each, float) and math.isnan(each) for each in bound
    ):
        return list(known)
    return list(dict.fromkeys(each for each in bound if isinstance(each, str)))


def _change(node: Node, owner: Owner, known: Owners) -> Change:
    """What a setup does to a parameter; plain numbers are in its unit."""
    if owner.names:
        return Change("to", float(owner.names.index(choice_code(node, owner))))
    if not isinstance(node, Fields):
        return Change("to", binding(node, free(owner.name, owner.unit), known))
    # A mapping changes the value a machine has; anything else puts another in its place.
    given = keys(node, (), _CHANGES)
    if len(given) != 1:
        # Where the only key is unknown that was said already.
        if given or not node.entries:
            node.refuse("a binding, or one of at_least, at_most, times", "give one of them")
        return Change("times", 1.0)
    (kind, entry), *_ = given.items()
    return Change(kind, number(entry) if kind == "times" else in_si(entry, Scale(owner.unit)))
