"""Networks of alternating potentials: against a general solver, against results by hand, and laws that always hold."""

from __future__ import annotations

import cmath
import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_networks import CURRENT, case
from test_elimination import gauss

from tundish.physics import phasor
from tundish.physics.alternating import CAPACITOR, WINDING
from tundish.physics.conduction import CONDUCTOR, CONTACT, LINEAR
from tundish.physics.elimination import plan, solve_linear
from tundish.physics.errors import PhysicsError
from tundish.physics.law import passes
from tundish.physics.laws import ALTERNATING, LAWS
from tundish.physics.legs import LEGS, legs
from tundish.physics.meters import clamp, resistance, voltage
from tundish.physics.network import CHUNK, Link, Network, NotConverged, solve
from tundish.physics.phasor import PhasorSolution, solve_phasors

OMEGA = 2 * math.pi * 50
ELECTRIC = (CONDUCTOR, CONTACT, LINEAR, CAPACITOR, WINDING)
SPANS = {
    "resistance": (0.01, 1e6),
    "reactance": (0.01, 1e4),
    "capacitance": (1e-10, 1e-4),
    "conductance": (1e-6, 10.0),
    "frequency": (50.0, 60.0),
    "open_resistance": (1e6, 1e9),
    "closed": (1e-9, 1.0),
}


def admittance(link: Link, inputs: dict[str, np.ndarray]) -> np.ndarray:
    """A link's admittance, written out once more."""
    if link.law is CAPACITOR:
        return 2j * math.pi * inputs["frequency"] * inputs["capacitance"]
    if link.law is LINEAR:
        return inputs["conductance"] + 0j
    if link.law is CONTACT:
        return inputs["closed"] / inputs["resistance"] + 1 / inputs["open_resistance"] + 0j
    return 1 / (inputs["resistance"] + 1j * inputs.get("reactance", 0.0))


def drawn(
    seed: int, machines: int
) -> tuple[Network, dict[str, dict[str, np.ndarray]], dict[str, np.ndarray]]:
    """A connected network with loops, of all laws of electricity, under one to three held nodes."""
    rng = np.random.default_rng(seed)
    nodes = [f"n{i}" for i in range(rng.integers(2, 13))]
    pairs = [(nodes[i], nodes[rng.integers(i)]) for i in range(1, len(nodes))]
    pairs += [tuple(map(str, rng.choice(nodes, 2, replace=False))) for _ in range(rng.integers(0, 8))]
    links = tuple(Link(f"l{i}", ELECTRIC[rng.integers(5)], a, b) for i, (a, b) in enumerate(pairs))
    inputs = {
        link.name: {
            wanted.name: np.exp(rng.uniform(*np.log(SPANS[wanted.name]), machines))
            for wanted in link.law.inputs
        }
        for link in links
    }
    chosen = rng.choice(nodes, min(len(nodes), rng.integers(1, 4)), replace=False)
    held = {
        str(n): rng.standard_normal(machines) * 200 + 1j * rng.standard_normal(machines) * 200 for n in chosen
    }
    return Network(links), inputs, held


def by_numpy(network: Network, inputs: dict, held: dict, machine: int) -> dict[str, complex]:
    """One machine by a general solver: every node's balance, a held node's row replaced by its value."""
    number = {node: i for i, node in enumerate(network.nodes)}
    matrix, right = np.zeros((len(number), len(number)), complex), np.zeros(len(number), complex)
    for link in network.links:
        y = admittance(link, {name: value[machine] for name, value in inputs[link.name].items()})
        a, b = number[link.start], number[link.end]
        matrix[a, a] += y
        matrix[b, b] += y
        matrix[a, b] -= y
        matrix[b, a] -= y
    for node, volts in held.items():
        matrix[number[node]] = 0
        matrix[number[node], number[node]] = 1
        right[number[node]] = volts[machine]
    return dict(zip(number, np.linalg.solve(matrix, right), strict=True))


@pytest.mark.parametrize("seed", range(80))
def test_potentials_against_a_general_solver(seed: int) -> None:
    network, inputs, held = drawn(seed, 4)
    found = solve_phasors(network, inputs, held, machines=4)
    for machine in range(4):
        for node, volts in by_numpy(network, inputs, held, machine).items():
            # Next to a resonance both solvers lose digits; none of these is nearer than this allows.
            assert abs(found.potential[node][machine] - volts) <= 1e-7 * max(abs(volts), 1.0), node


def in_fractions(network: Network, inputs: dict, held: dict, machine: int) -> dict[str, complex]:
    """One machine exactly: real and imaginary parts as a real system of twice the size, free nodes only."""
    free = [node for node in network.nodes if node not in held]
    number, size = {node: i for i, node in enumerate(free)}, len(free)
    full = [[Fraction(0)] * (2 * size) for _ in range(2 * size)]
    right = [Fraction(0)] * (2 * size)
    for link in network.links:
        y = complex(link.law.admittance({name: value[machine] for name, value in inputs[link.name].items()}))
        # Rows and columns of the real part, then of the imaginary part; i times i is -1.
        parts = [(0, 0, y.real), (0, size, -y.imag), (size, 0, y.imag), (size, size, y.real)]
        for here, there in ((link.start, link.end), (link.end, link.start)):
            for row, column, value in parts if here in number else ():
                full[row + number[here]][column + number[here]] += Fraction(value)
                if there in number:
                    full[row + number[here]][column + number[there]] -= Fraction(value)
                else:
                    volts = complex(held[there][machine])
                    right[row + number[here]] += Fraction(value) * Fraction(
                        volts.imag if column else volts.real
                    )
    found = [float(x) for x in gauss(full, right)]
    return {node: complex(found[i], found[size + i]) for node, i in number.items()}


@pytest.mark.parametrize("seed", [*range(12), 220, 243, 161])
def test_every_digit_holds_where_a_general_solver_loses_some(seed: int) -> None:
    """Among the seeds are those on which numpy.linalg.solve is off by 1e-7 to 5e-6."""
    network, inputs, held = drawn(seed, 4)
    found = solve_phasors(network, inputs, held, machines=4)
    for machine in range(4):
        for node, volts in in_fractions(network, inputs, held, machine).items():
            assert abs(found.potential[node][machine] - volts) <= 1e-12 * max(abs(volts), 1.0), node


@pytest.mark.parametrize("seed", range(30))
def test_elimination_of_complex_matrices(seed: int) -> None:
    rng = np.random.default_rng(seed)
    nodes = int(rng.integers(1, 10))
    edges = [(i, int(rng.integers(i))) for i in range(1, nodes)]
    scheme = plan(nodes, edges)
    between, ground, inflow = (
        rng.random((rows, 3)) + 1j * rng.standard_normal((rows, 3)) for rows in (len(edges), nodes, nodes)
    )
    mine = solve_linear(scheme, between, ground, inflow)
    for machine in range(3):
        full = np.diag(ground[:, machine])
        for (a, b), y in zip(scheme.pairs, between[:, machine], strict=False):
            full[[a, b, a, b], [a, b, b, a]] += [y, y, -y, -y]
        np.testing.assert_allclose(full @ mine[:, machine], inflow[:, machine], rtol=1e-9, atol=1e-9)


@settings(max_examples=60, deadline=None)
@given(seed=st.integers(0, 2**32 - 1))
def test_power_put_in_is_power_taken(seed: int) -> None:
    """Tellegen: voltage times conjugate current, summed over links, is what the held nodes put in."""
    network, inputs, held = drawn(seed, 3)
    found = solve_phasors(network, inputs, held, machines=3)
    taken = sum(
        (found.potential[k.start] - found.potential[k.end]) * np.conj(found.flow[k.name])
        for k in network.links
    )
    given_in = sum(volts * np.conj(outflow(network, found, node)) for node, volts in held.items())
    # What the last digits of the potentials make of each link.
    size = sum(
        np.abs(admittance(k, inputs[k.name]))
        * (np.abs(found.potential[k.start]) + np.abs(found.potential[k.end])) ** 2
        for k in network.links
    )
    assert (np.abs(taken - given_in) <= 1e-12 * size).all()
    assert (np.real(taken) >= -1e-12 * size).all()


def outflow(network: Network, found: PhasorSolution, node: str) -> np.ndarray:
    return sum(
        (link.start == node) * found.flow[link.name] - (link.end == node) * found.flow[link.name]
        for link in network.links
    )


@settings(max_examples=40, deadline=None)
@given(seed=st.integers(0, 2**32 - 1), angle=st.floats(-math.pi, math.pi), times=st.floats(0.1, 10))
def test_turning_and_stretching_the_supply_turns_and_stretches_the_answer(
    seed: int, angle: float, times: float
) -> None:
    network, inputs, held = drawn(seed, 2)
    turn = cmath.rect(times, angle)
    one = solve_phasors(network, inputs, held, machines=2)
    two = solve_phasors(network, inputs, {node: v * turn for node, v in held.items()}, machines=2)
    for node, volts in one.potential.items():
        np.testing.assert_allclose(two.potential[node], volts * turn, rtol=1e-6, atol=1e-9 * times)


@pytest.mark.parametrize("seed", range(40))
def test_without_capacitors_and_windings_it_is_the_real_solver(seed: int) -> None:
    made = case(seed, 5, CURRENT)
    real = solve(made.network, made.inputs, made.held, machines=5)
    turned = solve_phasors(made.network, made.inputs, made.held, machines=5)
    scale = max(np.abs(v).max() for v in made.held.values()) + 1.0
    for node, volts in real.potential.items():
        np.testing.assert_allclose(turned.potential[node], volts, rtol=1e-9, atol=1e-9 * scale)


def test_open_contacts_beside_wires_keep_their_digits() -> None:
    """By hand: a wire of a microohm, then a contact of 1 Pohm to earth, on 230 V: 230 fA through both."""
    links = (Link("wire", CONDUCTOR, "L", "x"), Link("gap", CONTACT, "x", "E"))
    ohms = {"wire": {"resistance": 1e-6}, "gap": {"closed": 0.0, "open_resistance": 1e15}}
    found = solve_phasors(Network(links), ohms, {"L": 230j, "E": 0.0}, machines=1)
    assert found.flow["gap"][0] == pytest.approx(230e-15j, rel=1e-12)


def test_a_resistor_and_a_capacitor_in_series() -> None:
    """By hand: 230 V over 1 kohm and 3.2 uF at 50 Hz."""
    links = (Link("r", CONDUCTOR, "L", "x"), Link("c", CAPACITOR, "x", "N"))
    inputs = {"r": {"resistance": 1e3}, "c": {"capacitance": 3.2e-6, "frequency": 50.0}}
    found = solve_phasors(Network(links), inputs, {"L": 230.0, "N": 0.0}, machines=1)
    current = 230 / (1e3 - 1j / (OMEGA * 3.2e-6))
    assert found.flow["r"][0] == pytest.approx(current, rel=1e-12)
    assert abs(current) == pytest.approx(0.1631, abs=5e-5)


def test_an_unbalanced_star_without_neutral() -> None:
    """By hand (Millman): the star point is the mean of the legs, weighted by the admittances."""
    ohms = {"L1": 24.0, "L2": 44.1, "L3": 30.0}
    network = Network(tuple(Link(leg, CONDUCTOR, leg, "star") for leg in ohms))
    held = {leg: volts for leg, volts in legs("three phase", 230.0).items() if leg != "N"}
    found = solve_phasors(network, {k: {"resistance": r} for k, r in ohms.items()}, held, machines=1)
    star = sum(held[leg] / r for leg, r in ohms.items()) / sum(1 / r for r in ohms.values())
    assert found.potential["star"][0] == pytest.approx(star, rel=1e-12)
    assert clamp(found, "L1", "L2", "L3")[0] == pytest.approx(0.0, abs=1e-12)


def resonant(farads: float, ohms: float) -> tuple[Network, dict[str, dict[str, float]]]:
    """A coil of 100 ohm reactance and a capacitor in series."""
    links = (Link("coil", WINDING, "L", "x"), Link("c", CAPACITOR, "x", "N"))
    return Network(links), {
        "coil": {"resistance": ohms, "reactance": 100.0},
        "c": {"capacitance": farads, "frequency": 50.0},
    }


def test_a_series_resonance_rises_above_its_supply() -> None:
    """By hand: in resonance the current is the supply over the resistance alone."""
    network, inputs = resonant(1 / (100 * OMEGA), 5.0)
    found = solve_phasors(network, inputs, {"L": 10.0, "N": 0.0}, machines=1)
    assert abs(found.flow["c"][0]) == pytest.approx(2.0, rel=1e-9)
    assert abs(found.potential["x"][0]) == pytest.approx(200.0, rel=1e-9)


def test_an_ohmmeter_sees_the_copper_and_no_capacitor() -> None:
    network, inputs = resonant(30e-6, 5.0)
    # In series the capacitor blocks; over the coil alone the copper is left.
    assert resistance(network, inputs, leads=(["L"], "N"), machines=1)[0] > 1e14
    assert resistance(network, inputs, leads=(["L"], "x"), machines=1)[0] == pytest.approx(5.0)
    assert voltage(network, inputs, {"L": 10.0, "N": 0.0}, across=("L", "N"), machines=1)[0] == pytest.approx(
        10.0
    )


def test_direct_current_of_the_two_laws() -> None:
    assert float(passes(CAPACITOR, 325.0, capacitance=4.7e-9, frequency=50.0)) == pytest.approx(325e-20)
    assert float(passes(WINDING, 12.0, resistance=2.4, reactance=22.0)) == pytest.approx(5.0)


def test_a_part_that_nothing_holds_floats_at_nothing() -> None:
    links = (Link("fed", CONDUCTOR, "L", "N"), Link("loose", CONDUCTOR, "a", "b"))
    inputs = {name: {"resistance": 1.0} for name in ("fed", "loose")}
    found = solve_phasors(Network(links), inputs, {"L": 1j, "N": 0.0}, machines=2)
    assert np.abs(found.potential["a"]).tolist() == [0.0, 0.0] == np.abs(found.flow["loose"]).tolist()


def test_a_supply_that_is_dead_on_some_machines() -> None:
    network = Network((Link("a", CONDUCTOR, "L", "x"), Link("b", CONDUCTOR, "x", "N")))
    inputs = {"a": {"resistance": 1.0}, "b": {"resistance": np.array([1.0, 2.0, 3.0])}}
    found = solve_phasors(network, inputs, {"L": np.array([0, 3j, 4]), "N": 0.0}, machines=3)
    np.testing.assert_allclose(found.potential["x"], [0, 2j, 3])
    assert found.converged.all()


def test_chunks_are_put_together_in_order() -> None:
    network = Network((Link("a", CONDUCTOR, "L", "x"), Link("b", CONDUCTOR, "x", "N")))
    ohms = np.linspace(1.0, 9.0, 2 * CHUNK + 7)
    inputs = {"a": {"resistance": 1.0}, "b": {"resistance": ohms}}
    found = solve_phasors(network, inputs, {"L": 1.0, "N": 0.0}, machines=ohms.size)
    np.testing.assert_allclose(found.potential["x"], ohms / (1 + ohms), rtol=1e-12)


def test_what_carries_no_current_is_refused() -> None:
    pipe = Network((Link("way", LAWS["hose"], "a", "b"),))
    with pytest.raises(PhysicsError, match="link `way`: hose has no admittance"):
        solve_phasors(pipe, {"way": {}}, {"a": 1.0}, machines=1)


@pytest.mark.parametrize("volts", [math.nan, complex(0.0, math.inf), np.array([1j, 2j, 3j])])
def test_a_held_potential_that_is_no_number_a_machine_is_refused(volts: complex) -> None:
    pair = Network((Link("way", CONDUCTOR, "a", "b"),))
    with pytest.raises(PhysicsError, match="held node"):
        solve_phasors(pair, {"way": {"resistance": 1.0}}, {"a": volts}, machines=2)


def test_a_balance_that_is_not_reached_is_not_silent(monkeypatch: pytest.MonkeyPatch) -> None:
    """No network of these laws is known to fail, so the elimination is made to give a wrong answer on one machine."""

    def wrong(*task: object) -> np.ndarray:
        answer = solve_linear(*task)
        answer[:, 7] += 1.0
        return answer

    monkeypatch.setattr(phasor, "solve_linear", wrong)
    network, inputs, held = drawn(3, 50)
    with pytest.raises(NotConverged, match="1 of 50 machines do not balance"):
        solve_phasors(network, inputs, held, machines=50)
    kept = solve_phasors(network, inputs, held, machines=50, allow_unconverged=True)
    assert np.flatnonzero(~kept.converged).tolist() == [7]


def test_supplies_have_the_voltages_between_legs_that_they_are_named_for() -> None:
    """208Y/120, 120/240 split phase, 230/400: nominal systems of ANSI C84.1 and IEC 60038."""
    split, wye, three = (
        legs("split phase", 120.0),
        legs("two legs of a wye", 120.0),
        legs("three phase", 230.0),
    )
    assert abs(split["L1"] - split["L2"]) == pytest.approx(240)
    assert abs(wye["L1"] - wye["L2"]) == pytest.approx(208, abs=0.5)
    for one, two in (("L1", "L2"), ("L2", "L3"), ("L3", "L1")):
        assert abs(three[one] - three[two]) == pytest.approx(400, rel=5e-3)
    assert abs(three["L1"] + three["L2"] + three["L3"]) < 1e-9
    assert legs("single", 230.0) == {"L1": 230, "N": 0}


def test_an_unknown_supply_is_refused() -> None:
    with pytest.raises(PhysicsError, match=f"known are {', '.join(LEGS)}"):
        legs("delta", 240.0)


def test_laws_that_alternate_are_marked() -> None:
    assert {"capacitor", "winding"} == ALTERNATING
    assert {law.name for law in LAWS.values() if law.admittance} == {law.name for law in ELECTRIC}
