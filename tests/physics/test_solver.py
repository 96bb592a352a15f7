"""The network solver: balance, direction, uniqueness and refusal, on random networks and on hand-worked circuits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_networks import CURRENT, Case, case
from scipy.optimize import brentq, root

from tundish.physics import newton
from tundish.physics.air import BLOWER
from tundish.physics.conduction import CONDUCTOR, CONTACT, LINEAR
from tundish.physics.errors import PhysicsError
from tundish.physics.friction import HOSE, PIPE, SIPHON
from tundish.physics.network import Link, Network, NotConverged, Solution, solve
from tundish.physics.restriction import KINK, MINOR_LOSS, ONE_WAY, ORIFICE, STOP_VALVE, VALVE_BODY
from tundish.physics.supply import HOUSE_LINE, PUMP, REGULATOR

BLUR = 1e-8  # [Pa], rounding of pressures that passed a MPa on the way


def solved(made: Case, **options: bool) -> Solution:
    """A random case's solution."""
    return solve(made.network, made.inputs, made.held, machines=made.machines, lifts=made.lifts, **options)


def net_flows(made: Case, found: Solution) -> dict[str, np.ndarray]:
    """Flow out of every node through its links."""
    net = {node: np.zeros(made.machines) for node in made.network.nodes}
    for link in made.network.links:
        net[link.start] = net[link.start] + found.flow[link.name]
        net[link.end] = net[link.end] - found.flow[link.name]
    return net


def through(made: Case, found: Solution, node: str) -> np.ndarray:
    """Flow that passes a node, both ways summed."""
    return sum(abs(found.flow[link.name]) for link in made.network.links if node in (link.start, link.end))


def lift_of(made: Case, link: Link) -> np.ndarray:
    """Lift of a link, 0 where none is given."""
    return made.lifts.get(link.name, np.zeros(made.machines))


def resolution(made: Case, found: Solution, node: str) -> np.ndarray:
    """Flow that a change in the last digits of the potentials makes at a node."""
    near = [link for link in made.network.links if node in (link.start, link.end)]
    spans = [doubt(made, found, link) for link in near]
    return sum(high - low for low, high in spans)


def doubt(made: Case, found: Solution, link: Link) -> tuple[np.ndarray, np.ndarray]:
    """Flows of a link when its drop is wrong in its last digits, either way."""
    drop = found.potential[link.start] - found.potential[link.end] - lift_of(made, link)
    coefficients = link.law.prepare(made.inputs[link.name])
    low, high = (link.law.flow(drop + way * BLUR, *coefficients)[0] for way in (-1, 1))
    return low, high


@pytest.mark.parametrize("block", range(10))
def test_ten_thousand_random_machines_balance(block: int) -> None:
    for seed in range(100 * block, 100 * block + 100):
        made = case(seed, machines=10)
        found = solved(made)
        assert found.converged.all()
        for node, net in net_flows(made, found).items():
            if node in made.held:
                continue
            allowed = 1.001e-9 * through(made, found, node) + resolution(made, found, node)
            assert (np.abs(net) <= allowed).all(), (seed, node)


@pytest.mark.parametrize("block", range(4))
def test_flows_are_those_of_the_drops(block: int) -> None:
    for seed in range(25 * block, 25 * block + 25):
        made = case(seed, machines=20)
        found = solved(made)
        for link in made.network.links:
            low, high = doubt(made, found, link)
            flow = found.flow[link.name]
            slack = 1e-12 * np.abs(flow)
            assert ((flow >= low - slack) & (flow <= high + slack)).all(), (seed, link.name)
            # Only a pump or a blower may lift; any other flow goes down its own drop, or is too small to tell.
            drop = found.potential[link.start] - found.potential[link.end] - lift_of(made, link)
            assert (link.law in (PUMP, BLOWER)) or ((flow * drop >= 0) | (low * high <= 0)).all(), (
                seed,
                link.name,
            )


@settings(max_examples=60, deadline=None)
@given(st.integers(10_000, 2**32 - 1))
def test_any_network_of_any_seed_balances(seed: int) -> None:
    assert solved(case(seed, machines=4)).converged.all()


@settings(max_examples=30, deadline=None)
@given(st.integers(0, 2**32 - 1))
def test_circuits_balance_with_twelve_powers_of_ten_of_resistance(seed: int) -> None:
    assert solved(case(seed, machines=4, laws=CURRENT)).converged.all()


@pytest.mark.parametrize("seed", range(12))
def test_against_a_general_root_finder(seed: int) -> None:
    made = mild_case(seed)
    found = solved(made)
    free = [node for node in made.network.nodes if node not in made.held]

    def balance(potentials: np.ndarray) -> list[float]:
        known = {node: float(level[0]) for node, level in made.held.items()}
        known |= dict(zip(free, potentials, strict=True))
        net = dict.fromkeys(known, 0.0)
        for link in made.network.links:
            drop = np.array([known[link.start] - known[link.end]])
            flow = float(link.law.flow(drop, *link.law.prepare(made.inputs[link.name]))[0][0])
            net[link.start] += flow
            net[link.end] -= flow
        return [1e4 * net[node] for node in free]

    start = [float(found.potential[node][0]) * 1.02 + 50.0 for node in free]
    theirs = root(balance, start, method="hybr", options={"xtol": 1e-13})
    assert max(map(abs, balance(theirs.x))) < 1e-7
    np.testing.assert_allclose([found.potential[node][0] for node in free], theirs.x, rtol=1e-4, atol=2.0)


def mild_case(seed: int) -> Case:
    """A ladder of open hoses, orifices and a washer, on one machine, that a general method can manage."""
    rng = np.random.default_rng(seed)
    laws = [HOSE, ORIFICE, REGULATOR, MINOR_LOSS, HOUSE_LINE, PIPE]
    ends = [("s", "a"), ("a", "b"), ("b", "c"), ("a", "c"), ("c", "air"), ("b", "air")]
    links = tuple(Link(f"l{i}", laws[rng.integers(len(laws))], *pair) for i, pair in enumerate(ends))
    inputs = {link.name: mild_inputs(link.law.name, rng) for link in links}
    return Case(Network(links), inputs, {"s": np.array([3e5]), "air": np.array([0.0])}, {}, 1)


def mild_inputs(law: str, rng: np.random.Generator) -> dict[str, np.ndarray]:
    bore = np.array([rng.uniform(4e-3, 12e-3)])
    of = {
        "hose": {"length": 2.0, "bore": bore, "ends": 1.5, "roughness": 0.0, "temperature": 290.0},
        "pipe": {"length": 5.0, "bore": bore, "roughness": 1e-5, "temperature": 290.0},
        "orifice": {"bore": bore, "open": 0.7, "discharge": 0.62},
        "minor loss": {"k": 6.0, "bore": bore},
        "regulator": {"rated": np.array([1.3e-4]), "knee": 70e3, "exponent": 0.04},
        "house line": {"droop": 20e3, "droop_flow": 7e-5, "resistance": 2e11},
    }
    return of[law]


# ---- circuits worked by hand ----


def ohms(**resistances: float) -> dict[str, dict[str, float]]:
    return {name: {"resistance": value} for name, value in resistances.items()}


def circuit(**ends: tuple[str, str]) -> Network:
    return Network(tuple(Link(name, CONDUCTOR, *pair) for name, pair in ends.items()))


def test_divider() -> None:
    network = circuit(top=("live", "tap"), foot=("tap", "neutral"))
    found = solve(network, ohms(top=2000.0, foot=1000.0), {"live": 230.0, "neutral": 0.0}, machines=1)
    assert found.potential["tap"][0] == pytest.approx(230 / 3, rel=1e-12)
    assert found.flow["top"][0] == pytest.approx(230 / 3000, rel=1e-12)


def test_parallel_heaters() -> None:
    network = circuit(cord=("live", "node"), one=("node", "neutral"), two=("node", "neutral"))
    found = solve(network, ohms(cord=0.5, one=26.45, two=52.9), {"live": 230.0, "neutral": 0.0}, machines=1)
    both = 1 / (1 / 26.45 + 1 / 52.9)
    assert found.flow["cord"][0] == pytest.approx(230 / (0.5 + both), rel=1e-12)
    assert found.flow["one"][0] == pytest.approx(2 * found.flow["two"][0], rel=1e-12)


def test_unbalanced_bridge() -> None:
    # 10 V over a bridge of 100, 200 / 300, 400 with a 50 ohm meter: by star-delta of 100, 300, 50.
    network = circuit(r1=("a", "b"), r2=("b", "d"), r3=("a", "c"), r4=("c", "d"), meter=("b", "c"))
    found = solve(network, ohms(r1=100, r2=200, r3=300, r4=400, meter=50), {"a": 10.0, "d": 0.0}, machines=1)
    star_a, star_b, star_c = 100 * 300 / 450, 100 * 50 / 450, 300 * 50 / 450
    left, right = star_b + 200, star_c + 400
    total = 10 / (star_a + left * right / (left + right))
    in_left = total * right / (left + right)
    assert found.potential["b"][0] == pytest.approx(in_left * 200, rel=1e-12)
    assert found.potential["c"][0] == pytest.approx((total - in_left) * 400, rel=1e-12)
    assert found.flow["meter"][0] == pytest.approx((in_left * 200 - (total - in_left) * 400) / 50, rel=1e-10)


def test_balanced_bridge_has_no_meter_current() -> None:
    network = circuit(r1=("a", "b"), r2=("b", "d"), r3=("a", "c"), r4=("c", "d"), meter=("b", "c"))
    found = solve(network, ohms(r1=100, r2=200, r3=150, r4=300, meter=50), {"a": 10.0, "d": 0.0}, machines=1)
    assert abs(found.flow["meter"][0]) < 1e-15


def test_a_lift_is_a_source() -> None:
    network = circuit(cell=("earth", "pole"), load=("pole", "earth"))
    found = solve(network, ohms(cell=1.0, load=11.0), {"earth": 0.0}, machines=1, lifts={"cell": -12.0})
    assert found.flow["load"][0] == pytest.approx(1.0, rel=1e-12)
    assert found.potential["pole"][0] == pytest.approx(11.0, rel=1e-12)


# ---- hard places ----


def chain(last_open: float) -> tuple[Network, dict[str, dict[str, float]]]:
    network = Network(
        (
            Link("line", HOUSE_LINE, "main", "tee"),
            Link("hose", HOSE, "tee", "end"),
            Link("valve", VALVE_BODY, "end", "air"),
        )
    )
    town = {"droop": 20e3, "droop_flow": 4 / 60e3, "resistance": 150 * 60e3**2}
    hose = {"length": 1.5, "bore": 9.5e-3}
    return network, {"line": town, "hose": hose, "valve": {"flow_at": 3e-4, "called": last_open}}


def test_static_pressure_behind_a_shut_valve() -> None:
    network, inputs = chain(last_open=0.0)
    found = solve(network, inputs, {"main": 350e3, "air": 0.0}, machines=1)
    assert found.potential["end"][0] == pytest.approx(350e3, rel=1e-8)
    assert found.flow["valve"][0] * 3600 * 1e6 < 0.02  # [mL/h]


def test_both_ends_shut_keeps_a_defined_pressure() -> None:
    network = Network((Link("one", STOP_VALVE, "main", "mid"), Link("two", STOP_VALVE, "mid", "air")))
    shut = {"bore": 10e-3, "kind": 0, "open": 0.0}
    found = solve(network, {"one": shut, "two": shut}, {"main": 4e5, "air": 0.0}, machines=1)
    assert found.potential["mid"][0] == pytest.approx(2e5, rel=1e-9)


def test_no_supply_no_flow() -> None:
    network, inputs = chain(last_open=1.0)
    found = solve(network, inputs, {"main": 0.0, "air": 0.0}, machines=1)
    assert found.flow["valve"][0] == 0
    assert found.potential["end"][0] == 0


def test_reverse_flow_mirrors_forward_flow() -> None:
    network, inputs = chain(last_open=1.0)
    ahead = solve(network, inputs, {"main": 3e5, "air": 0.0}, machines=1)
    back = solve(network, inputs, {"main": 0.0, "air": 3e5}, machines=1)
    assert back.flow["hose"][0] == pytest.approx(-ahead.flow["hose"][0], rel=1e-9)


def test_a_floating_part_is_put_at_zero() -> None:
    network = circuit(tied=("live", "neutral"), loose=("x", "y"), closed=("y", "x"))
    found = solve(
        network,
        ohms(tied=10.0, loose=1.0, closed=2.0),
        {"live": 5.0, "neutral": 0.0},
        machines=1,
        lifts={"loose": -6.0},
    )
    assert found.potential["x"][0] == 0
    assert found.flow["loose"][0] == pytest.approx(2.0, rel=1e-12)
    assert found.flow["tied"][0] == pytest.approx(0.5, rel=1e-12)


def test_a_node_on_a_dead_end_takes_its_neighbours_potential() -> None:
    network = Network(
        (Link("a", PIPE, "main", "mid"), Link("b", ORIFICE, "mid", "air"), Link("stub", PIPE, "mid", "end"))
    )
    pipe = {"length": 3.0, "bore": 10e-3}
    found = solve(
        network, {"a": pipe, "b": {"bore": 4e-3}, "stub": pipe}, {"main": 3e5, "air": 0.0}, machines=1
    )
    assert found.potential["end"][0] == pytest.approx(found.potential["mid"][0], rel=1e-12)


def test_all_nodes_held_only_evaluates_the_laws() -> None:
    found = solve(circuit(r=("a", "b")), ohms(r=4.0), {"a": 2.0, "b": 0.0}, machines=2)
    assert found.flow["r"].tolist() == [0.5, 0.5]
    assert found.steps == 0


def test_a_link_from_a_node_to_itself_changes_nothing() -> None:
    network = circuit(top=("a", "m"), foot=("m", "b"), ring=("m", "m"))
    found = solve(network, ohms(top=1.0, foot=1.0, ring=1.0), {"a": 2.0, "b": 0.0}, machines=1)
    assert found.potential["m"][0] == pytest.approx(1.0)


def test_conductances_of_eighteen_powers_of_ten() -> None:
    network = circuit(r1=("a", "b"), r2=("b", "c"), r3=("c", "d"))
    found = solve(network, ohms(r1=1e-3, r2=1e15, r3=1e-3), {"a": 1.0, "d": 0.0}, machines=1)
    assert found.flow["r2"][0] == pytest.approx(1e-15, rel=1e-9)
    assert found.potential["b"][0] == pytest.approx(1.0, abs=1e-15)


def test_a_hose_pump_and_siphon_find_the_same_flow_as_a_hand_iteration() -> None:
    network = Network((Link("pump", PUMP, "sump", "out"), Link("hose", SIPHON, "out", "end")))
    pump = {"most_flow": 20 / 60e3, "most_head": 15e3, "running": 1.0}
    hose = {"length": 2.0, "bore": 18e-3, "ends": 2.5, "primed": 1.0}
    found = solve(
        network, {"pump": pump, "hose": hose}, {"sump": 0.0, "end": 0.0}, machines=1, lifts={"hose": 7e3}
    )

    def excess(flow: float) -> float:
        head = 15e3 * (1 - (flow / (20 / 60e3)) ** 2)
        needed = brentq(
            lambda drop: float(HOSE.flow(np.array(drop), *HOSE.prepare(full))[0]) - flow, 0.0, 1e5
        )
        return head - 7e3 - needed

    full = {"length": 2.0, "bore": 18e-3, "ends": 2.5, "roughness": 0.0, "temperature": 283.15}
    assert found.flow["hose"][0] == pytest.approx(brentq(excess, 1e-6, 20 / 60e3), rel=1e-4)


def test_one_way_valve_holds_the_drain_back() -> None:
    network = Network((Link("flap", ONE_WAY, "sump", "hose"), Link("rise", PIPE, "hose", "sink")))
    inputs = {"flap": {"k": 2.0, "bore": 18e-3}, "rise": {"length": 1.0, "bore": 18e-3}}
    found = solve(network, inputs, {"sump": 0.0, "sink": np.array([8e3, -8e3])}, machines=2)
    assert abs(found.flow["flap"][0]) < 1e-8
    assert found.flow["flap"][1] > 1e-4


# ---- machines are independent ----


@pytest.mark.parametrize("seed", range(7, 17))
def test_a_machine_solves_the_same_alone_and_in_a_crowd(seed: int) -> None:
    """But for the last digits, where the processor's wide and narrow arithmetic differ."""
    made = case(seed, machines=50)
    crowd = solved(made)
    for i in (0, 17, 49):
        alone = Case(
            made.network,
            {link: {name: v[i : i + 1] for name, v in given.items()} for link, given in made.inputs.items()},
            {node: v[i : i + 1] for node, v in made.held.items()},
            {link: v[i : i + 1] for link, v in made.lifts.items()},
            1,
        )
        found = solved(alone)
        largest = max(abs(flow[i]) for flow in crowd.flow.values())
        for name, flow in found.flow.items():
            assert flow[0] == pytest.approx(crowd.flow[name][i], rel=1e-9, abs=1e-9 * largest)


def test_chunks_join_seamlessly(monkeypatch: pytest.MonkeyPatch) -> None:
    made = case(3, machines=23)
    whole = solved(made)
    monkeypatch.setattr("tundish.physics.network.CHUNK", 10)
    parts = solved(made)
    for node in made.network.nodes:
        np.testing.assert_allclose(parts.potential[node], whole.potential[node], rtol=1e-9, atol=1e-6)


def test_no_machines() -> None:
    found = solve(circuit(r=("a", "b")), ohms(r=1.0), {"a": 1.0}, machines=0)
    assert found.flow["r"].shape == (0,)


# ---- refusals ----


def test_unconverged_machines_are_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(newton, "MOST_STEPS", 1)
    made = case(5, machines=10)
    with pytest.raises(NotConverged, match=r"of 10 machines do not balance: worst .*allow_unconverged"):
        solved(made)
    assert not solved(made, allow_unconverged=True).converged.all()


@pytest.mark.parametrize(
    ("inputs", "held", "lifts", "message"),
    [
        (
            {"hose": {"length": -1.0, "bore": 1e-2}},
            {"a": 1.0},
            {},
            r"link `hose`: pipe input `length` -1 m is outside",
        ),
        ({"hose": {"length": np.nan, "bore": 1e-2}}, {"a": 1.0}, {}, "`length` nan m is outside"),
        ({"hose": {"length": 1.0}}, {"a": 1.0}, {}, "pipe needs `bore`"),
        ({"hose": {"length": 1.0, "bore": 1e-2, "color": 1.0}}, {"a": 1.0}, {}, "pipe has no input `color`"),
        ({"pipe": {"length": 1.0}}, {"a": 1.0}, {}, "given for `pipe`, which is no link"),
        (
            {"hose": {"length": np.ones(3), "bore": 1e-2}},
            {"a": 1.0},
            {},
            r"shape \(3,\), allowed are one number or \(2,\)",
        ),
        ({"hose": {"length": 1.0, "bore": 1e-2}}, {"c": 1.0}, {}, "held node `c` is in no link"),
        ({"hose": {"length": 1.0, "bore": 1e-2}}, {"a": np.inf}, {}, "no finite number"),
        ({"hose": {"length": 1.0, "bore": 1e-2}}, {"a": 1.0}, {"x": 1.0}, "lift of link `x` is unknown"),
    ],
)
def test_wrong_input_is_refused_with_what_was_seen(inputs, held, lifts, message) -> None:
    with pytest.raises(PhysicsError, match=message):
        solve(Network((Link("hose", PIPE, "a", "b"),)), inputs, held, machines=2, lifts=lifts)


def test_links_of_one_name_are_refused() -> None:
    twice = Network((Link("r", CONDUCTOR, "a", "b"), Link("r", CONDUCTOR, "b", "c")))
    with pytest.raises(PhysicsError, match="2 links have 1 names"):
        solve(twice, ohms(r=1.0), {"a": 1.0}, machines=1)


def test_an_empty_network_is_refused() -> None:
    with pytest.raises(PhysicsError, match="no link"):
        solve(Network(()), {}, {}, machines=1)


def test_booleans_and_integers_count_as_numbers() -> None:
    network = Network((Link("relay", CONTACT, "live", "coil"), Link("coil", LINEAR, "coil", "neutral")))
    inputs = {"relay": {"closed": np.array([True, False])}, "coil": {"conductance": 1}}
    found = solve(network, inputs, {"live": 24, "neutral": 0}, machines=2)
    assert found.potential["coil"][0] == pytest.approx(24 / 1.01, rel=1e-6)
    assert found.potential["coil"][1] == pytest.approx(24e-9, rel=1e-3)


def test_kink_in_series_lowers_flow_evenly() -> None:
    network = Network((Link("kink", KINK, "a", "b"), Link("jet", ORIFICE, "b", "c")))
    opens = np.linspace(0.01, 1.0, 40)
    inputs = {"kink": {"bore": 9.5e-3, "open": opens}, "jet": {"bore": 4e-3}}
    found = solve(network, inputs, {"a": 3e5, "c": 0.0}, machines=40)
    assert (np.diff(found.flow["jet"]) > 0).all()
