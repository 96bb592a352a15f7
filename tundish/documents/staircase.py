"""The staircase: how the potential falls along the path of one setup, from the high held node to the low one.

Pressure from the street to the tub, volts along a string, static pressure along a duct: one walk serves them all. The step that has
become too high is the blockage.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from itertools import permutations
from typing import Any

from tundish.appliance.records import Description, LinkRecord, NetworkRecord, Quantity
from tundish.call.entry import one_of
from tundish.documents.what_if import Pair, refuse_lost
from tundish.physics.laws import LAWS
from tundish.population.machines import Machines
from tundish.quantity.show import show
from tundish.quantity.systems import unit_for

Facts = dict[str, Any]
# Inputs in these units belong to electricity; what has none of them is moved by pressure.
ELECTRIC = frozenset({"ohm", "farad"})
# Less than this share of the whole fall is rounding of the solver, not a step.
NOTHING = 1e-5


@dataclass(frozen=True)
class Path:
    """A setup's path: `nodes` from high to low, `links` between them; `low` : the node over which potentials are told."""

    setup: str
    nodes: tuple[str, ...]
    links: tuple[str, ...]
    low: str


def with_steps(description: Description) -> Description:
    """The description with every node's drop to every held node and every link's flow as quantities that can be asked."""
    added: dict[str, tuple[str, tuple[str, ...]]] = {}
    for setup in description.setups.values():
        record = description.networks[setup.network]
        for low in held_nodes(description, setup.name):
            for node in _nodes(record):
                added[drop_name(setup.name, node, low)] = ("drop", (node, low))
        for link in record.links:
            added[_flow(setup.name, link.name)] = ("flow", (link.name,))
    # No name in a file holds a blank, so none of these hides one of the family's own.
    records = {
        n: Quantity(n, "-", take=take, setup=n.split()[1], where=where) for n, (take, where) in added.items()
    }
    return replace(description, quantities={**description.quantities, **records})


def held_nodes(description: Description, setup: str) -> tuple[str, ...]:
    """Nodes whose potential is given in a setup, in the order of the file."""
    record = description.setups[setup]
    held = {**description.networks[record.network].hold, **record.hold}
    return tuple(node for node in held if node not in record.free)


def walkable(description: Description) -> tuple[str, ...]:
    """Setups with two held nodes or more: those that have a high and a low end."""
    return tuple(s for s in description.setups if len(held_nodes(description, s)) >= 2)


def path(description: Description, machines: Machines, named: str | None) -> Path | None:
    """The path of a setup on a machine; when none is named, of the first with water or air, else of that with most current.

    machines : made from the description of `with_steps`.
    Raises ValueError for an unknown setup, or when nothing flows in the one named.
    """
    if named is None:
        ways = [way for s in walkable(description) if (way := walk(description, machines, s))]
        water = [way for way in ways if dimension(description, way.setup) == "pressure"]
        return next(iter(water), max(ways, key=lambda way: _reaches(machines, way), default=None))
    setup = one_of(named.strip(), walkable(description), "setup")
    found = walk(description, machines, setup)
    if found is None:
        raise ValueError(
            f"setup: saw {setup}, in which nothing flows to the low end; allowed: a setup with flow; choose another"
        )
    return found


def dimension(description: Description, setup: str) -> str:
    """What falls along the path: voltage or pressure."""
    record = description.networks[description.setups[setup].network]
    units = {given.unit for link in record.links for given in LAWS[link.law].inputs}
    return "voltage" if record.is_complex or units & ELECTRIC else "pressure"


def staircase_facts(description: Description, way: Path, machines: Pair, system: str) -> Facts:
    """Potentials and drops along a path on both machines, in one unit, with the step that has grown most."""
    kind = dimension(description, way.setup)
    both = [_levels(m, way) for m in (machines.healthy, machines.changed)]
    refuse_lost(machines)
    unit = unit_for(max(abs(v) for levels in both for v in levels), kind, system)
    steps = [_step(description, way, i, both, unit) for i in range(len(way.links))]
    grown = max(steps, key=lambda s: s["what_if"] - s["healthy"])
    most = max(abs(s["healthy"]) + abs(s["what_if"]) for s in steps)
    setup = description.setups[way.setup]
    return {
        "setup": way.setup,
        "title": setup.title,
        "dimension": kind,
        "unit": unit,
        "over": way.low,
        "nodes": [
            {
                "node": n,
                "healthy": h,
                "what_if": w,
                "healthy_says": show(h, unit),
                "what_if_says": show(w, unit),
            }
            for n, h, w in zip(way.nodes, *both, strict=True)
        ],
        "steps": steps,
        "grown": grown["link"] if grown["what_if"] - grown["healthy"] > 0.01 * most else None,
        "flow": _flow_facts(way, machines, kind, system),
    }


def _step(
    description: Description, way: Path, index: int, both: Sequence[Sequence[float]], unit: str
) -> Facts:
    link = _link(description.networks[description.setups[way.setup].network], way.links[index])
    healthy, changed = (levels[index] - levels[index + 1] for levels in both)
    return {
        "link": link.name,
        "law": link.law,
        "from": way.nodes[index],
        "to": way.nodes[index + 1],
        "healthy": healthy,
        "what_if": changed,
        "healthy_says": show(healthy, unit),
        "what_if_says": show(changed, unit),
    }


def _flow_facts(way: Path, machines: Pair, kind: str, system: str) -> Facts:
    """What flows through the last link, which is what reaches the end of the path."""
    of = "current" if kind == "voltage" else "flow"
    healthy, changed = (_reaches(m, way) for m in (machines.healthy, machines.changed))
    unit = unit_for(max(healthy, changed), of, system)
    return {"link": way.links[-1], "healthy": healthy, "what_if": changed,
            "healthy_says": show(healthy, unit), "what_if_says": show(changed, unit)}  # fmt: skip


def _reaches(machines: Machines, way: Path) -> float:
    return abs(_asked(machines, _flow(way.setup, way.links[-1])))


def _levels(machines: Machines, way: Path) -> list[float]:
    levels = [_asked(machines, drop_name(way.setup, node, way.low)) for node in way.nodes]
    largest = max(abs(v) for v in levels)
    return [v if abs(v) > NOTHING * largest else 0.0 for v in levels]


def walk(description: Description, machines: Machines, setup: str) -> Path | None:
    """From the high held node along the largest flow to another held node; None when the walk does not get there."""
    record = description.networks[description.setups[setup].network]
    held = held_nodes(description, setup)
    high, low = max(permutations(held, 2), key=lambda ends: _asked(machines, drop_name(setup, *ends)))
    nodes, links = [high], list[str]()
    while len(nodes) == 1 or nodes[-1] not in held:
        away = _away(record, nodes, lambda link: _asked(machines, _flow(setup, link)))
        flow, link, node = max(away, default=(0.0, "", ""))
        if flow <= 0.0:
            return None
        nodes.append(node)
        links.append(link)
    return Path(setup, tuple(nodes), tuple(links), low)


def _away(
    record: NetworkRecord, nodes: Sequence[str], flow: Callable[[str], float]
) -> list[tuple[float, str, str]]:
    """Flow, link and next node of every link that leads on from the last node to one not yet visited."""
    here, found = nodes[-1], []
    for link in record.links:
        if here in (link.start, link.end):
            onward = link.start == here
            # What alternates has no direction of its own: its flow is asked as a size.
            carried = flow(link.name) if onward or record.is_complex else -flow(link.name)
            found.append((carried, link.name, link.end if onward else link.start))
    return [each for each in found if each[2] not in nodes]


def _asked(machines: Machines, name: str) -> float:
    return float(machines.value(name)[0])


def _link(record: NetworkRecord, name: str) -> LinkRecord:
    return next(link for link in record.links if link.name == name)


def _nodes(record: NetworkRecord) -> tuple[str, ...]:
    return tuple(dict.fromkeys(node for link in record.links for node in (link.start, link.end)))


def drop_name(setup: str, node: str, low: str) -> str:
    """The quantity of `with_steps` that is a node's potential over a held one."""
    return f"drop {setup} {node} {low}"


def _flow(setup: str, link: str) -> str:
    return f"flow {setup} {link}"
