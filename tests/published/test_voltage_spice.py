"""The same circuits, and random ones, through ngspice: every potential within 0.5 %."""

from __future__ import annotations

import cmath
from typing import Any

import numpy as np
import pytest
from house_circuits import HIGH, LOW, Circuit
from spice import needed, spice
from test_voltage_tables import ROWS, ghost, half_voltage, isolated

pytestmark = needed
WITHIN = 5e-3
# Currents and reactances of parts of appliances, over what a meter can still tell.
SPANS = {
    "resistance": (0.01, 1e7),
    "reactance": (0.01, 1e5),
    "capacitance": (1e-11, 1e-4),
    "conductance": (1e-7, 10),
}
LAWS = ("conductor", "contact", "linear", "capacitor", "winding")


def agree(circuit: Circuit) -> None:
    """Every potential of both programs, relative to itself; what is below a microvolt is nothing."""
    ours, theirs = circuit.solved(), spice(circuit)
    for node, volts in theirs.items():
        assert abs(ours.potential[node][0] - volts) <= WITHIN * abs(volts) + 1e-6, node


@pytest.mark.parametrize("row", ROWS)
def test_rows_of_the_voltage_table(row: str) -> None:
    circuit = ROWS[row][0]
    agree(circuit)
    for meter in (HIGH, LOW):
        agree(circuit.probed("T2", "TN", meter))
        agree(circuit.probed("T1", "T2", meter))


@pytest.mark.parametrize("load", [360.0, 60.0, 14.4])
def test_half_voltage(load: float) -> None:
    agree(half_voltage(load))


@pytest.mark.parametrize("meter", [HIGH, LOW])
@pytest.mark.parametrize("supply", [(120.0, 60.0, 50.0), (120.0, 60.0, 750.0), (230.0, 50.0, 300.0)])
def test_ghost_voltage(supply: tuple[float, float, float], meter: float) -> None:
    agree(ghost(*supply).probed("open", "E", meter))


def test_a_dryer_whose_motor_is_a_winding() -> None:
    agree(isolated())


def random_circuit(seed: int) -> Circuit:
    """A connected network of 3 to 12 nodes with loops, of all laws, under two to four legs at any angle."""
    rng = np.random.default_rng(seed)
    nodes = [f"n{i}" for i in range(rng.integers(3, 13))]
    pairs = [(nodes[i], nodes[rng.integers(i)]) for i in range(1, len(nodes))]
    pairs += [tuple(map(str, rng.choice(nodes, 2, replace=False))) for _ in range(rng.integers(1, 7))]
    laws = [LAWS[rng.integers(len(LAWS))] for _ in pairs]
    held = rng.choice(nodes, min(len(nodes) - 1, rng.integers(2, 5)), replace=False)
    return Circuit(
        {f"l{i}": (law, *pair) for i, (law, pair) in enumerate(zip(laws, pairs, strict=True))},
        {f"l{i}": drawn(law, rng) for i, law in enumerate(laws)},
        {str(node): cmath.rect(rng.uniform(50, 250), rng.uniform(-3, 3)) for node in held},
        float(rng.choice([50.0, 60.0])),
    )


def drawn(law: str, rng: np.random.Generator) -> dict[str, Any]:
    """Inputs of one link."""
    if law == "contact":
        return {"closed": float(rng.integers(2))}
    asked = {
        "winding": ("resistance", "reactance"),
        "capacitor": ("capacitance",),
        "linear": ("conductance",),
    }
    names = asked.get(law, ("resistance",))
    values = {name: float(np.exp(rng.uniform(*np.log(SPANS[name])))) for name in names}
    return values | ({"frequency": 60.0} if law == "capacitor" else {})


@pytest.mark.parametrize("seed", range(60))
def test_random_networks(seed: int) -> None:
    made = random_circuit(seed)
    for given in made.inputs.values():
        if "frequency" in given:
            given["frequency"] = made.hertz
    agree(made)
