"""Circuits of heat appliances, as the trade's tables describe them, and what a meter shows on them.

Constants where a table is silent: closed contact 0.01 ohm, open contact and sound insulation 1 Gohm, wire 0.05 ohm.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from tundish.physics import meters
from tundish.physics.laws import LAWS
from tundish.physics.legs import legs
from tundish.physics.network import Link, Network
from tundish.physics.phasor import PhasorSolution, solve_phasors

OPEN = 1e9
HIGH, LOW = meters.HIGH_IMPEDANCE, meters.LOW_IMPEDANCE
Way = tuple[str, str, str]
Inputs = dict[str, dict[str, float]]


@dataclass(frozen=True)
class Circuit:
    """Links (law, start, end) by name, their inputs, held potentials [V] and frequency [Hz]."""

    links: dict[str, Way]
    inputs: Inputs
    held: dict[str, complex]
    hertz: float = 60.0

    @property
    def network(self) -> Network:
        """The solver's network."""
        return Network(tuple(Link(name, LAWS[law], a, b) for name, (law, a, b) in self.links.items()))

    def solved(self) -> PhasorSolution:
        """Every potential and current."""
        return solve_phasors(self.network, self.inputs, self.held, machines=1)

    def volts(self, a: str, b: str, meter: float = HIGH) -> float:
        """What a voltmeter shows."""
        across = (a, b)
        return float(
            meters.voltage(self.network, self.inputs, self.held, across=across, machines=1, meter=meter)[0]
        )

    def amps(self, *links: str) -> float:
        """What a clamp shows."""
        return float(meters.clamp(self.solved(), *links)[0])

    def watts(self, link: str) -> float:
        """Heat of a link."""
        found = self.solved()
        _, start, end = self.links[link]
        drop = found.potential[start][0] - found.potential[end][0]
        return float((drop * np.conj(found.flow[link][0])).real)

    def ohms(self, *leads: str) -> float:
        """What an ohmmeter shows between the last node and all others joined, the supply unplugged."""
        *joined, other = leads
        return float(meters.resistance(self.network, self.inputs, leads=(joined, other), machines=1)[0])

    def probed(self, a: str, b: str, meter: float) -> Circuit:
        """The circuit with the meter as one of its own links."""
        return replace(
            self,
            links={**self.links, "probe": ("conductor", a, b)},
            inputs={**self.inputs, "probe": {"resistance": meter}},
        )


STRING = ("heat", "cut-out", "thermostat", "limit", "upper", "lower", "centrifugal")
ALONG = ("T1", "a", "b", "c", "top", "x", "foot", "T2")


def dryer(supply: str = "split phase", *, share: float = 0.5, **change: dict[str, float]) -> Circuit:
    """A vented 240 V dryer with its motor running and heating; `share` of the element lies above its leak."""
    ways: dict[str, Way] = {
        "wire_L1": ("conductor", "L1", "J1"),
        "joint_L1": ("conductor", "J1", "T1"),
        "wire_L2": ("conductor", "L2", "T2"),
        "wire_N": ("conductor", "N", "TN"),
        "start": ("contact", "T1", "M"),
        "motor": ("conductor", "M", "TN"),
        "leak": ("conductor", "x", "FR"),
        "bond": ("conductor", "FR", "E"),
        "strap": ("contact", "FR", "TN"),
    }
    elements = ("upper", "lower")
    for i, name in enumerate(STRING):
        ways[name] = ("conductor" if name in elements else "contact", ALONG[i], ALONG[i + 1])
    inputs: Inputs = {name: {"closed": 1.0} for name, (law, *_) in ways.items() if law == "contact"}
    inputs |= {name: {"resistance": 0.05} for name in ("wire_L1", "wire_L2", "wire_N", "bond")}
    inputs |= {"joint_L1": {"resistance": 1e-6}, "motor": {"resistance": 22.0}, "leak": {"resistance": OPEN}}
    inputs |= {"upper": {"resistance": 10.67 * share}, "lower": {"resistance": 10.67 * (1 - share)}}
    inputs |= {"strap": {"closed": 0.0}}
    return Circuit(ways, inputs | change, legs(supply, 120.0) | {"E": 0j})


def simple(held: dict[str, complex], hertz: float = 60.0, **ways: tuple[str, str, str, float]) -> Circuit:
    """A circuit of contacts (closed or not), capacitors and conductors: law, ends and the one number.

    Of a supply's legs those that no link meets are left out.
    """
    asked = {"contact": "closed", "capacitor": "capacitance", "conductor": "resistance"}
    inputs = {name: {asked[law]: value} for name, (law, _, _, value) in ways.items()}
    for name, (law, *_) in ways.items():
        if law == "capacitor":
            inputs[name]["frequency"] = hertz
    met = {node for _, *ends, _ in ways.values() for node in ends}
    used = {node: volts for node, volts in held.items() if node in met}
    return Circuit({name: way[:3] for name, way in ways.items()}, inputs, used, hertz)
