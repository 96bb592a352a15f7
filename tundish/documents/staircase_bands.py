"""The staircase of a call: where the potential may lie on sound machines, where it may lie on this one, and what was read.

A band holds the middle 90 % of the machines at a node: of sound ones of the market as come upon, and of those that fit every reading so
far. What is not described has no machines, so it is in neither.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from tundish.appliance.records import Check, Description
from tundish.diagnosis.expect import sample
from tundish.diagnosis.reading import Reading
from tundish.documents.staircase import (
    Path,
    dimension,
    drop_name,
    held_nodes,
    path,
    walk,
    walkable,
    with_steps,
)
from tundish.documents.what_if import WhatIf, pair
from tundish.population.build import World, world
from tundish.population.draws import Floats
from tundish.population.hypotheses import Hypothesis
from tundish.population.machines import Machines
from tundish.quantity.show import show
from tundish.quantity.systems import unit_for
from tundish.store.desk import Diagnosis

Facts = dict[str, Any]
# Enough that the ends of a band stand still to a twentieth of it.
MACHINES = 800
LOW, MIDDLE, HIGH = 0.05, 0.5, 0.95
SEED = 20
# Volts or pascals below which a level is rounding of the solver.
NOTHING = 1e-4
# A reading taken over a node next to the path's low end is carried over when the two differ alike on the machines, within this share of
# the highest level: what the trade asks of a voltage. Our choice.
ALIKE = 0.01
# By node: check and value, [SI].
Dots = dict[str, list[tuple[str, float]]]


@dataclass(frozen=True)
class Batches:
    """Sound machines, and those that fit the call."""

    healthy: Machines
    now: Machines


def bands_facts(found: Diagnosis, setup: str | None, system: str) -> Facts:
    """Bands and readings along one setup's path.

    setup : its name, or None for the one with most readings of the call, else the first with water or air.
    Raises ValueError for an unknown setup, or one in which nothing flows.
    """
    described = with_steps(found.description)
    place = world(described, found.matter.market)
    batches = Batches(_healthy(place), _now(found, place))
    middle = pair(described, found.matter.market, WhatIf()).healthy
    way = path(described, middle, setup or _most_read(described, middle, found.readings))
    if way is None:
        raise ValueError(
            f"staircase: saw a {found.matter.family}, in which nothing flows from a high to a low end; "
            "allowed: a family with a network; leave the staircase out"
        )
    way, dots = _told(described, way, batches.now, found.readings)
    kind = dimension(described, way.setup)
    spread = {node: _both(batches, drop_name(way.setup, node, way.low)) for node in way.nodes}
    largest = max(abs(v) for two in spread.values() for levels in two for v in levels)
    unit = unit_for(largest, kind, system)
    return {
        "setup": way.setup,
        "title": described.setups[way.setup].title,
        "dimension": kind,
        "unit": unit,
        "over": way.low,
        "links": list(way.links),
        "nodes": [
            {"node": node, "healthy": _band(two[0], unit), "now": _band(two[1], unit),
             "readings": [{"check": c, "value": v, "says": show(v, unit)} for c, v in dots.get(node, ())]}
            for node, two in spread.items()
        ],
    }  # fmt: skip


def _healthy(place: World) -> Machines:
    z = np.random.default_rng(SEED).standard_normal((MACHINES, place.plan.width))
    return place.machines(place.batch([Hypothesis("normal", ())] * MACHINES, z, found=True))


def _now(found: Diagnosis, place: World) -> Machines:
    cloud = found.now.cloud
    picked = sample(cloud, np.random.default_rng(SEED))
    # Picks stand in order of their machines, so every so many of them are a fair sample again.
    picked = picked[:: max(1, len(picked) // MACHINES)]
    population = cloud.population
    stratum = [population.hypotheses[k] for k in population.stratum[picked]]
    # Machines of the call as they are found on the visit, as its readings are.
    return place.machines(place.batch(stratum, population.latent[picked].astype(np.float64), found=True))


def _both(batches: Batches, name: str) -> tuple[list[float], list[float]]:
    return _levels(batches.healthy, name), _levels(batches.now, name)


def _levels(machines: Machines, name: str) -> list[float]:
    value = machines.value(name)
    sound = value[np.isfinite(value) & ~machines.lost]
    if not len(sound):
        return [0.0, 0.0, 0.0]
    levels = np.quantile(sound, (LOW, MIDDLE, HIGH))
    return [float(v) if abs(v) > NOTHING else 0.0 for v in levels]


def _band(levels: list[float], unit: str) -> Facts:
    low, middle, high = levels
    return {
        "low": low,
        "middle": middle,
        "high": high,
        "low_says": show(low, unit),
        "high_says": show(high, unit),
    }


def _most_read(described: Description, middle: Machines, readings: Iterable[Reading]) -> str | None:
    """The setup along whose path most readings lie; None when none does."""
    taken = tuple(readings)
    counts = {}
    for setup in walkable(described):
        way = walk(described, middle, setup) if any(_reads(described, r, setup) for r in taken) else None
        if way is not None:
            # Of two with as many readings the longer path tells more.
            counts[setup] = _number(_told(described, way, middle, taken)[1]), len(way.nodes)
    best = max(counts, key=lambda setup: counts[setup], default=None)
    return best if best is not None and counts[best][0] else None


def _reads(described: Description, reading: Reading, setup: str) -> bool:
    quantity = described.quantities.get(described.checks[reading.check].reads)
    return quantity is not None and quantity.setup == setup


def _told(
    described: Description, way: Path, machines: Machines, readings: Iterable[Reading]
) -> tuple[Path, Dots]:
    """The path with its potentials told over the held node that most readings were taken over, and those readings.

    A string between two legs falls to the second leg, but is probed to neutral.
    """
    taken = tuple(readings)
    ways = [way, *(replace(way, low=n) for n in held_nodes(described, way.setup) if n != way.low)]
    found = [(each, _dots(described, each, machines, taken)) for each in ways]
    return max(found, key=lambda told: _number(told[1]))


def _number(dots: Dots) -> int:
    return sum(len(each) for each in dots.values())


def _dots(described: Description, way: Path, machines: Machines, readings: Iterable[Reading]) -> Dots:
    """Readings that belong to a node of the path, over its low end, [SI]; bounds and overranges are no points."""
    found: Dots = {}
    for reading in readings:
        check = described.checks[reading.check]
        node = _node(described, way, check)
        if (
            node is None
            or reading.value is None
            or reading.bound != "exact"
            or not np.isfinite(reading.value)
        ):
            continue
        offset = _offset(way, node, machines, check.reads)
        if offset is not None:
            found.setdefault(node, []).append((reading.check, reading.value - offset))
    return found


def _node(described: Description, way: Path, check: Check) -> str | None:
    """The node at which a check reads the potential over the low end, or over what is next to it, in the path's setup."""
    quantity = described.quantities.get(check.reads)
    if (
        quantity is None
        or quantity.setup != way.setup
        or quantity.take not in ("potential", "drop", "voltage")
    ):
        return None
    node, *other = quantity.where
    links = described.networks[described.setups[way.setup].network].links
    beside = {way.low} | {
        n for each in links if way.low in (each.start, each.end) for n in (each.start, each.end)
    }
    return node if node in way.nodes and set(other) <= beside else None


def _offset(way: Path, node: str, machines: Machines, quantity: str) -> float | None:
    """What a quantity reads more than the node lies over the low end; None when machines do not agree on it."""
    read: Floats = machines.value(quantity)
    level: Floats = machines.value(drop_name(way.setup, node, way.low))
    apart = (read - level)[~machines.lost]
    middle = float(np.median(apart))
    agree = np.quantile(np.abs(apart - middle), HIGH) <= ALIKE * float(np.max(np.abs(level)))
    return middle if agree else None
