"""Random networks of any laws, with loops, dead ends, floating parts, shut valves and dead supplies."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tundish.physics.law import Input, Law
from tundish.physics.laws import LAWS
from tundish.physics.network import Link, Network
from tundish.physics.values import Array

WATER = tuple(
    law for name, law in LAWS.items() if name not in ("conductor", "contact", "capacitor", "winding")
)
CURRENT = tuple(LAWS[name] for name in ("conductor", "contact"))

# Conductances over some nine powers of ten; shares are drawn apart, with many exact 0 and 1.
SPANS = {
    "length": (0.1, 50.0),
    "bore": (2e-3, 3e-2),
    "roughness": (1e-7, 1e-5),
    "ends": (0.1, 30.0),
    "temperature": (274.0, 370.0),
    "k": (1e-2, 1e4),
    "discharge": (0.3, 1.0),
    "droop": (1.0, 1e5),
    "droop_flow": (1e-6, 1e-3),
    "flow_at": (1e-6, 1e-3),
    "drop_at": (1e3, 1e6),
    "passing": (0.01, 2.0),
    "leak": (1e-12, 1e-6),
    "rated": (1e-6, 1e-3),
    "knee": (1e3, 2e5),
    "exponent": (1e-3, 0.6),
    "most_flow": (1e-5, 1e-3),
    "most_head": (1e2, 1e6),
    "delivery": (0.01, 2.0),
    "conductance": (1e-14, 1e-5),
    "open_resistance": (1e6, 1e12),
    "reactance": (1e-2, 1e5),
    "capacitance": (1e-12, 1e-4),
    "frequency": (40.0, 70.0),
    "fittings": (0.1, 30.0),
    "lint": (1e-5, 1e-3),
    "head": (10.0, 1e4),
    "loss": (1e2, 1e10),
    "speed": (0.1, 2.0),
}
RESISTANCES = {
    "house line": (1e6, 1e14),
    "conductor": (1e-3, 1e6),
    "contact": (1e-3, 1.0),
    "winding": (1e-3, 1e6),
}
SHARES = ("open", "blocked", "called", "primed", "running", "stopped", "closed")


@dataclass(frozen=True)
class Case:
    """What `solve` takes."""

    network: Network
    inputs: dict[str, dict[str, Array]]
    held: dict[str, Array]
    lifts: dict[str, Array]
    machines: int


def draw(law: Law, rng: np.random.Generator, machines: int) -> dict[str, Array]:
    """Inputs of a law, one value a machine."""
    return {wanted.name: _value(law, wanted, rng, machines) for wanted in law.inputs}


def case(seed: int, machines: int, laws: Sequence[Law] = WATER) -> Case:
    """A connected network of 3 to 12 nodes, up to 5 loops, 1 or 2 held nodes and some lifts."""
    rng = np.random.default_rng(seed)
    nodes = [f"n{i}" for i in range(rng.integers(3, 13))]
    pairs = [(nodes[i], nodes[rng.integers(0, i)]) for i in range(1, len(nodes))]
    pairs += [tuple(rng.choice(nodes, 2, replace=False)) for _ in range(rng.integers(0, 6))]
    ends = [pair if rng.random() < 0.5 else pair[::-1] for pair in pairs]
    links = tuple(
        Link(f"l{i}", laws[rng.integers(len(laws))], str(a), str(b)) for i, (a, b) in enumerate(ends)
    )
    held = [str(node) for node in rng.choice(nodes, rng.integers(1, 3), replace=False)]
    dead = rng.random((len(held), machines)) < 0.1
    levels = np.where(dead, 0.0, rng.uniform(-1e5, 7e5, (len(held), machines)))
    return Case(
        Network(links),
        {link.name: draw(link.law, rng, machines) for link in links},
        dict(zip(held, levels, strict=True)),
        {link.name: rng.uniform(-2e4, 2e4, machines) for link in links if rng.random() < 0.3},
        machines,
    )


def _value(law: Law, wanted: Input, rng: np.random.Generator, machines: int) -> Array:
    if wanted.kinds:
        return rng.integers(0, len(wanted.kinds), machines).astype(float)
    if wanted.name in SHARES:
        fixed = rng.choice([0.0, 1.0, 0.5, 0.1, 1e-3], machines)
        return np.where(rng.random(machines) < 0.5, fixed, rng.random(machines))
    low, high = RESISTANCES[law.name] if wanted.name == "resistance" else SPANS[wanted.name]
    return np.exp(rng.uniform(np.log(low), np.log(high), machines))
