"""Random looped pipe networks that both this tool and EPANET can solve: reservoirs, pipes, free jets.

EPANET 2 is the network program of the US Environmental Protection Agency, in the public domain; `wntr` runs it.
"""

from __future__ import annotations

import math
import warnings
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from tundish.physics import water
from tundish.physics.friction import PIPE
from tundish.physics.network import Link, Network, Solution, solve
from tundish.physics.restriction import ORIFICE

TEMPERATURE = 288.15
GRAVITY = 32.2 * 0.3048  # what EPANET counts with [m/s2]
EPANET_VISCOSITY = 1.1e-5 * 0.3048**2  # its water at 20 degC [m2/s]
SHARP = 0.62


@dataclass(frozen=True)
class Looped:
    """Heads of reservoirs [m]; pipes (start, end, length, bore, roughness) [m]; jets (node, bore) [m]."""

    reservoirs: dict[str, float]
    pipes: dict[str, tuple[str, str, float, float, float]]
    jets: dict[str, float]

    @property
    def junctions(self) -> list[str]:
        """Nodes that are no reservoir."""
        ends = dict.fromkeys(node for pipe in self.pipes.values() for node in pipe[:2])
        return [node for node in ends if node not in self.reservoirs]


def looped(seed: int) -> Looped:
    """One or two reservoirs, 4 to 10 junctions in a tree with 1 to 5 loops, 1 to 4 jets."""
    rng = np.random.default_rng(seed)
    reservoirs = {f"r{i}": float(rng.uniform(20, 60)) for i in range(rng.integers(1, 3))}
    nodes = [*reservoirs, *(f"j{i}" for i in range(rng.integers(4, 11)))]
    first = len(reservoirs)
    ends = [(nodes[0], nodes[first])]
    ends += [(nodes[i], nodes[rng.integers(first, i)]) for i in range(first + 1, len(nodes))]
    ends += [(name, nodes[rng.integers(first, len(nodes))]) for name in list(reservoirs)[1:]]
    for _ in range(rng.integers(1, 6)):
        a, b = rng.choice(len(nodes) - first, 2, replace=False) + first
        ends.append((nodes[a], nodes[b]))
    pipes = {f"p{i}": (*pair, *_pipe(rng)) for i, pair in enumerate(ends)}
    jets = rng.choice(nodes[first:], rng.integers(1, 5), replace=False)
    return Looped(reservoirs, pipes, {str(node): float(rng.uniform(3e-3, 8e-3)) for node in jets})


def _pipe(rng: np.random.Generator) -> tuple[float, float, float]:
    return float(rng.uniform(2, 40)), float(rng.uniform(8e-3, 25e-3)), float(10 ** rng.uniform(-5.5, -4))


def ours(made: Looped, machines: int = 1) -> Solution:
    """This tool's answer, the same on every machine."""
    network, inputs, held = as_network(made)
    return solve(network, inputs, held, machines=machines)


def as_network(made: Looped) -> tuple[Network, dict[str, dict[str, float]], dict[str, float]]:
    """This tool's network, inputs and held pressures."""
    weight = float(water.density(TEMPERATURE)) * GRAVITY
    pipes = [Link(name, PIPE, start, end) for name, (start, end, *_) in made.pipes.items()]
    jets = [Link(f"jet {node}", ORIFICE, node, "air") for node in made.jets]
    inputs = {
        name: {"length": length, "bore": bore, "roughness": rough, "temperature": TEMPERATURE}
        for name, (_, _, length, bore, rough) in made.pipes.items()
    }
    # The orifice law has the density of 20 degC; the bore makes up for the difference.
    shrink = (998.207 / float(water.density(TEMPERATURE))) ** 0.25
    inputs |= {f"jet {node}": {"bore": bore * shrink} for node, bore in made.jets.items()}
    held = {name: head * weight for name, head in made.reservoirs.items()} | {"air": 0.0}
    return Network((*pipes, *jets)), inputs, held


def epanets(made: Looped, folder: Path) -> dict[str, float]:
    """EPANET's flow of each pipe [m3/s]."""
    import wntr

    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        simulator = wntr.sim.EpanetSimulator(as_epanet(made))
        results = simulator.run_sim(file_prefix=str(folder / "net"))
    return {name: float(results.link["flowrate"][name].iloc[0]) for name in made.pipes}


def as_epanet(made: Looped) -> Any:
    """The same network in wntr's terms."""
    import wntr

    model = wntr.network.WaterNetworkModel()
    hydraulic = model.options.hydraulic
    hydraulic.headloss, hydraulic.accuracy = "D-W", 1e-7
    kinematic = float(water.viscosity(TEMPERATURE)) / float(water.density(TEMPERATURE))
    hydraulic.viscosity = kinematic / EPANET_VISCOSITY
    model.options.time.duration = 0
    for name, head in made.reservoirs.items():
        model.add_reservoir(name, base_head=head)
    for name in made.junctions:
        model.add_junction(name, base_demand=0.0, elevation=0.0)
    for node, bore in made.jets.items():
        model.get_node(node).emitter_coefficient = SHARP * math.pi / 4 * bore**2 * math.sqrt(2 * GRAVITY)
    for name, (start, end, length, bore, rough) in made.pipes.items():
        model.add_pipe(name, start, end, length=length, diameter=bore, roughness=rough)
    return model
