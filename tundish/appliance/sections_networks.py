"""Sections `networks` and `setups`: what flows where, and the states in which readings are taken."""

from __future__ import annotations

import math
from collections.abc import Mapping

from tundish.appliance.bindings import binding, bindings, choice_code, free, optional, required
from tundish.appliance.fields import entries_of, keys, mapping, number, text, word, words
from tundish.appliance.lines import Fields, Node
from tundish.appliance.measures import Scale, in_si
from tundish.appliance.owners import Owner, Owners
from tundish.appliance.records import Binding, Change, LinkRecord, NetworkRecord, Setup
from tundish.physics.laws import LAWS

# The name of the voltmeter that `take: voltage` adds to a network.
METER = "meter"
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
    """Every binding of a network: inputs, lifts and held nodes."""
    links = [each for link in network.links for each in (*link.inputs.values(), link.lift)]
    return [*links, *network.hold.values()]


def _network(name: str, node: Node, known: Owners) -> NetworkRecord:
    given = keys(node, ("links",), ("hold",))
    # Links first: they make the nodes that may be held.
    links = tuple(_link(link, entry, known) for link, entry in mapping(given.get("links")).items())
    if isinstance(given.get("links"), Fields) and not links:
        given["links"].refuse("at least one link", "describe a link, or take the network out")
    return NetworkRecord(name, links, _hold(given.get("hold"), known, NetworkRecord(name, links, {})))


def _hold(node: Node | None, known: Owners, network: NetworkRecord) -> dict[str, Binding]:
    """Bindings of held nodes; each must be the end of a link."""
    held = entries_of(node, nodes_of(network), f"node of {network.name}")
    return {name: binding(entry, free(name), known) for name, entry in held.items()}


def _link(name: str, node: Node, known: Owners) -> LinkRecord:
    if name == METER:
        node.refuse(
            "another name", "rename the link: a voltmeter is added under this name", seen=f'"{METER}"'
        )
    law = LAWS.get(word(mapping(node).get("law"), LAWS, "law"))
    if law is None:
        # Without a law nothing is known of the inputs, but the ends still make nodes.
        fixed = keys(node, _OWN, tuple(mapping(node)))
        return LinkRecord(name, "", text(fixed.get("from")), text(fixed.get("to")), {})
    given = keys(node, (*_OWN, *required(law.inputs)), ("lift", *optional(law.inputs)))
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
    hold = _hold(given.get("hold"), known, network)
    changed = entries_of(given.get("set"), _reached(network, hold, known), "name bound in this network")
    changes = {each: _change(entry, known[each], known) for each, entry in changed.items()}
    return Setup(
        name, network.name, title, changes, hold, words(given.get("free"), network.hold, "held node")
    )


def _reached(network: NetworkRecord, hold: Mapping[str, Binding], known: Owners) -> list[str]:
    """Names bound directly to a link or a held node: what `set` can reach."""
    bound = [*fed(network), *hold.values()]
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
