"""Network solves per second: this tool's batch solver against EPANET on the same looped pipes, and on a machine's water path.

Same pipes, jets, friction form and heads; each machine has its own head. EPANET's engine is timed alone and as `wntr`
runs it, through files. It solves one network at a time; this tool gains by taking thousands together and says what one costs.
"""

from __future__ import annotations

import math
import tempfile
import time
import warnings
from pathlib import Path
from typing import Any

import numpy as np

from tundish.physics.laws import LAWS
from tundish.physics.network import Link, Network, Solution, solve
from tundish.physics.values import Array

MACHINES, MANY, FEW, ROUNDS = 40_000, 4_000, 100, 5
LPM = 1e-3 / 60
WEIGHT = 998.207 * 9.80665
# Pipe: start, end, length [m], bore [m]. A main, two rings, a branch.
PIPES = (
    ("main", "a", 12.0, 20e-3),
    ("a", "b", 6.0, 16e-3),
    ("b", "c", 5.0, 13e-3),
    ("a", "d", 7.0, 13e-3),
    ("d", "c", 4.0, 13e-3),
    ("c", "e", 6.0, 13e-3),
    ("d", "e", 9.0, 10e-3),
    ("b", "f", 3.0, 10e-3),
)
JETS = {"e": 6e-3, "f": 4e-3}
ROUGH = 1e-5


def run() -> list[dict[str, Any]]:
    """One row a way."""
    heads = np.random.default_rng(10).uniform(15.0, 60.0, MACHINES)
    rows = [_row("this tool, rings of pipes", MACHINES, *_best(lambda: _pipes(heads)))]
    rows.append(_row("this tool, one at a time", FEW, *_one_by_one(heads[:FEW])))
    rows.append(_tried(_engine, "EPANET engine", heads[:MANY]))
    rows.append(_tried(_wntr, "EPANET by wntr, files and all", heads[:FEW]))
    network, inputs, held = _fill_path(MACHINES)
    fill = _best(lambda: solve(network, inputs, held, machines=MACHINES))
    rows.append(_row("this tool, fill path of 10 links", MACHINES, *fill))
    for row in rows:
        row["ratio to ours"] = (
            None if row["us a solve"] is None else round(row["us a solve"] / rows[0]["us a solve"], 1)
        )
    return rows


def _row(way: str, machines: int, seconds: float, found: Solution | None) -> dict[str, Any]:
    each = seconds / machines
    row = {
        "way": way,
        "machines": machines,
        "us a solve": round(each * 1e6, 2),
        "solves a second": round(1 / each),
    }
    if found is not None:
        row |= {"steps": found.steps, "worst imbalance": float(f"{found.imbalance.max():.1e}")}
    return row


def _tried(way: Any, label: str, heads: Array) -> dict[str, Any]:
    """A rival's row, or why it could not run."""
    try:
        with warnings.catch_warnings(), tempfile.TemporaryDirectory() as folder:
            warnings.simplefilter("ignore")
            return _row(label, len(heads), way(heads, Path(folder)), None)
    except ImportError as missing:
        return {
            "way": label,
            "machines": 0,
            "us a solve": None,
            "solves a second": None,
            "missing": str(missing),
        }


def _best(work: Any) -> tuple[float, Solution]:
    """Shortest time of some rounds, as other work only ever adds time."""
    times = []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        found = work()
        times.append(time.perf_counter() - began)
    return min(times), found


def _pipes(heads: Array) -> Solution:
    links = [Link(f"p{i}", LAWS["pipe"], start, end) for i, (start, end, _, _) in enumerate(PIPES)]
    links += [Link(f"jet {node}", LAWS["orifice"], node, "air") for node in JETS]
    inputs: dict[str, dict[str, Any]] = {
        f"p{i}": {"length": length, "bore": bore, "roughness": ROUGH, "temperature": 293.15}
        for i, (_, _, length, bore) in enumerate(PIPES)
    }
    inputs |= {f"jet {node}": {"bore": bore} for node, bore in JETS.items()}
    return solve(Network(tuple(links)), inputs, {"main": heads * WEIGHT, "air": 0.0}, machines=len(heads))


def _one_by_one(heads: Array) -> tuple[float, Solution]:
    began = time.perf_counter()
    for head in heads:
        found = _pipes(np.array([head]))
    return time.perf_counter() - began, found


def _model(head: float) -> Any:
    """The same pipes in wntr's terms."""
    import wntr

    model = wntr.network.WaterNetworkModel()
    model.options.hydraulic.headloss, model.options.hydraulic.accuracy = "D-W", 1e-6
    model.options.time.duration = 0
    model.add_reservoir("main", base_head=head)
    for node in dict.fromkeys(end for _, end, _, _ in PIPES):
        model.add_junction(node, base_demand=0.0, elevation=0.0)
    for node, bore in JETS.items():
        jet = 0.62 * math.pi / 4 * bore**2 * math.sqrt(2 * 9.80665)
        model.get_node(node).emitter_coefficient = jet
    for i, (start, end, length, bore) in enumerate(PIPES):
        model.add_pipe(f"p{i}", start, end, length=length, diameter=bore, roughness=ROUGH)
    return model


def _wntr(heads: Array, folder: Path) -> float:
    """Seconds of wntr's own run, which writes and reads files."""
    import wntr

    simulator = wntr.sim.EpanetSimulator(_model(float(heads[0])))
    began = time.perf_counter()
    for head in heads:
        simulator._wn.get_node("main").base_head = float(head)
        simulator.run_sim(file_prefix=str(folder / "net"))
    return time.perf_counter() - began


def _engine(heads: Array, folder: Path) -> float:
    """Seconds of EPANET's engine alone: opened once, then a new head and a hydraulic run for each machine."""
    import wntr
    from wntr.epanet.toolkit import ENepanet

    wntr.network.write_inpfile(_model(float(heads[0])), str(folder / "net.inp"), units="LPS")
    engine = ENepanet()
    engine.ENopen(str(folder / "net.inp"), str(folder / "net.rpt"), str(folder / "net.bin"))
    # Parameter 0 is a node's elevation, which for a reservoir is its head.
    main, elevation = engine.ENgetnodeindex("main"), 0
    engine.ENopenH()
    times = []
    for _ in range(ROUNDS):
        began = time.perf_counter()
        for head in heads:
            engine.ENsetnodevalue(main, elevation, float(head))
            # 10: start from fresh flows, as this tool does.
            engine.ENinitH(10)
            engine.ENrunH()
        times.append(time.perf_counter() - began)
    engine.ENcloseH()
    engine.ENclose()
    return min(times)


def _fill_path(machines: int) -> tuple[Network, dict[str, dict[str, Any]], dict[str, Any]]:
    """A washer's water path with a second tap and a leak, each machine with its own dirt, taps and pressure."""
    rng = np.random.default_rng(1)
    path = (
        ("house", "house line", "main", "pipe"),
        ("tap", "stop valve", "pipe", "tee"),
        ("hose", "hose", "tee", "bend"),
        ("kink", "kink", "bend", "screen"),
        ("screen", "screen", "screen", "valve"),
        ("body", "valve body", "valve", "washer"),
        ("washer", "regulator", "washer", "tray"),
        ("jet", "minor loss", "tray", "air"),
        ("kitchen", "orifice", "pipe", "air"),
        ("leak", "orifice", "screen", "air"),
    )
    often, seldom = rng.random(machines) < 0.3, rng.random(machines) < 0.2
    inputs: dict[str, dict[str, Any]] = {
        "house": {
            "droop": 20e3,
            "droop_flow": 4 * LPM,
            "resistance": rng.uniform(60, 350, machines) / LPM**2,
        },
        "tap": {
            "bore": 10e-3,
            "kind": rng.integers(0, 3, machines),
            "open": np.where(often, rng.random(machines), 1),
        },
        "hose": {"length": 1.5, "bore": 9.5e-3},
        "kink": {"bore": 9.5e-3, "open": np.where(often, rng.random(machines), 1)},
        "screen": {"bore": 14e-3, "open": 0.36, "blocked": rng.beta(2, 8, machines)},
        "body": {"flow_at": 18 * LPM, "called": np.where(seldom, 0, 1)},
        "washer": {"rated": 8 * LPM * rng.normal(1, 0.07, machines)},
        "jet": {"k": 2.0, "bore": 8e-3},
        "kitchen": {"bore": 8e-3, "open": np.where(seldom, rng.random(machines), 0)},
        "leak": {"bore": 1e-3, "open": 0.0},
    }
    network = Network(tuple(Link(name, LAWS[law], start, end) for name, law, start, end in path))
    return network, inputs, {"main": rng.uniform(0, 6e5, machines), "air": 0.0}
