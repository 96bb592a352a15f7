"""Posterior on a 40-node network (15 causes, 25 findings, noisy-OR): the tool's weighting against exact libraries, in one run.

The tool enumerates sets of causes as machines. Time is for all 15 marginals after 6 findings; error is the
largest against enumeration in the bench.
"""

from __future__ import annotations

import time
from itertools import product
from typing import Any

import numpy as np

from tundish.appliance.records import Answer, Check
from tundish.diagnosis.odds import odds, start, weigh
from tundish.diagnosis.reading import Reading
from tundish.population.build import Population
from tundish.population.hypotheses import Hypothesis

CAUSES, FINDINGS, SEEN, LEAK = 15, 25, 6, 0.05
# Sets of more causes than this are left out; they hold under a millionth of the chance.
MOST = 8


def run() -> list[dict[str, Any]]:
    """One row a way."""
    rng = np.random.default_rng(40)
    prior = rng.uniform(0.02, 0.15, CAUSES)
    parents = [sorted(rng.choice(CAUSES, size=int(rng.integers(2, 4)), replace=False)) for _ in range(FINDINGS)]
    strength = [rng.uniform(0.5, 0.95, len(p)) for p in parents]
    seen = [int(f) for f in rng.choice(FINDINGS, SEEN, replace=False)]
    exact = _enumerated(prior, parents, strength, seen)
    rows = [_ours(prior, parents, strength, seen, exact)]
    for way in (_pyagrum, _pgmpy):
        try:
            rows.append(way(prior, parents, strength, seen, exact))
        except ImportError as missing:
            rows.append({"way": way.__name__.strip("_"), "ms": None, "error": str(missing)})
    for row in rows:
        row["ratio to ours"] = None if row["ms"] is None else round(row["ms"] / rows[0]["ms"], 1)
    return rows


def _quiet(parents: Any, strength: Any, states: np.ndarray) -> np.ndarray:
    """Chance that each finding stays away in each cause state, (n, findings)."""
    stay = np.full((len(states), len(parents)), 1.0 - LEAK)
    for f, (p, s) in enumerate(zip(parents, strength, strict=True)):
        stay[:, f] *= np.prod(np.where(states[:, p], 1.0 - s, 1.0), axis=1)
    return stay


def _enumerated(prior: Any, parents: Any, strength: Any, seen: list[int]) -> np.ndarray:
    states = np.array(list(product((0, 1), repeat=CAUSES)), dtype=bool)
    weight = np.prod(np.where(states, prior, 1.0 - prior), axis=1)
    weight *= np.prod(1.0 - _quiet(parents, strength, states)[:, seen], axis=1)
    return np.asarray((weight @ states) / weight.sum())


def _ours(prior: Any, parents: Any, strength: Any, seen: list[int], exact: np.ndarray) -> dict[str, Any]:
    """A machine is a set of causes; a finding's true state is the row of its parents, named yes or no with that row's chances."""
    states = np.array([s for s in product((0, 1), repeat=CAUSES) if sum(s) <= MOST], dtype=bool)
    chance = np.prod(np.where(states, prior, 1.0 - prior), axis=1)
    kept = tuple(Hypothesis("two", tuple(f"c{i}" for i in np.flatnonzero(s))) for s in states)
    checks = {f"f{i}": _finding(i, strength[i]) for i in range(FINDINGS)}
    rows = np.array([states[:, p] @ (1 << np.arange(len(p))) for p in parents], dtype=np.float32)
    faults = tuple(tuple(f"c{i}" if s[i] else "" for i in range(CAUSES)) for s in states)
    held = Population(
        "", "", tuple(checks), kept, np.arange(len(states), dtype=np.int16), np.zeros((len(states), 0), np.float32), states,
        rows, np.zeros((FINDINGS, 0), np.float32), np.ones(len(kept)), faults, 0,
    )  # fmt: skip
    cloud, readings = start(held, list(chance / chance.sum())), [Reading(f"f{i}", answer="yes") for i in seen]

    def ask() -> np.ndarray:
        known = odds(weigh(cloud, checks, readings))
        return np.array([known.causes[f"c{i}"] for i in range(CAUSES)])

    return {"way": f"tundish, {len(states):,} machines", "ms": _timed(ask), "error": float(np.abs(ask() - exact).max())}


def _finding(number: int, strength: np.ndarray) -> Check:
    """Answers 0 .. 2^parents - 1 are the true states; `yes` and `no` are what is said of them."""
    states = [f"row {i}" for i in range(2 ** len(strength))]
    chance = [1.0 - (1.0 - LEAK) * float(np.prod([1.0 - s for k, s in enumerate(strength) if i >> k & 1])) for i in range(len(states))]
    said = {name: {"yes": c, "no": 1.0 - c} for name, c in zip(states, chance, strict=True)}
    answers = tuple(Answer(n) for n in (*states, "yes", "no"))
    return Check(f"f{number}", "", f"f{number}", "-", None, answers, said, 0.0, 0.0, 1.0, "NONE", (), False, "", "", ())


def _pyagrum(prior: Any, parents: Any, strength: Any, seen: list[int], exact: np.ndarray) -> dict[str, Any]:
    import pyagrum as gum

    net = gum.BayesNet()
    for i in range(CAUSES):
        net.add(f"c{i}", 2)
    for f in range(FINDINGS):
        net.add(f"f{f}", 2)
        for p in parents[f]:
            net.addArc(f"c{p}", f"f{f}")
        for row in product((0, 1), repeat=len(parents[f])):
            stay = (1.0 - LEAK) * float(np.prod(np.where(np.array(row, dtype=bool), 1.0 - strength[f], 1.0)))
            net.cpt(f"f{f}")[{f"c{p}": v for p, v in zip(parents[f], row, strict=True)}] = [stay, 1.0 - stay]
    for i in range(CAUSES):
        net.cpt(f"c{i}").fillWith([1.0 - prior[i], prior[i]])
    engine = gum.LazyPropagation(net)

    def ask() -> np.ndarray:
        engine.setEvidence({f"f{i}": 1 for i in seen})
        engine.makeInference()
        return np.array([engine.posterior(f"c{i}")[1] for i in range(CAUSES)])

    return {"way": "pyAgrum, lazy propagation", "ms": _timed(ask), "error": float(np.abs(ask() - exact).max())}


def _pgmpy(prior: Any, parents: Any, strength: Any, seen: list[int], exact: np.ndarray) -> dict[str, Any]:
    from pgmpy.factors.discrete import TabularCPD
    from pgmpy.inference import VariableElimination
    from pgmpy.models import DiscreteBayesianNetwork

    net = DiscreteBayesianNetwork([(f"c{p}", f"f{f}") for f in range(FINDINGS) for p in parents[f]])
    linked = [i for i in range(CAUSES) if any(i in p for p in parents)]
    for i in linked:
        net.add_cpds(TabularCPD(f"c{i}", 2, [[1.0 - prior[i]], [prior[i]]]))
    for f in range(FINDINGS):
        rows = np.array(list(product((0, 1), repeat=len(parents[f]))), dtype=bool)
        stay = (1.0 - LEAK) * np.prod(np.where(rows, 1.0 - strength[f], 1.0), axis=1)
        net.add_cpds(TabularCPD(f"f{f}", 2, [stay, 1.0 - stay], [f"c{p}" for p in parents[f]], [2] * len(parents[f])))
    engine = VariableElimination(net)

    def ask() -> np.ndarray:
        said = {f"f{i}": 1 for i in seen}
        return np.array([engine.query([f"c{i}"], said, show_progress=False).values[1] if i in linked else prior[i] for i in range(CAUSES)])

    return {"way": "pgmpy, variable elimination", "ms": _timed(ask), "error": float(np.abs(ask() - exact).max())}


def _timed(ask: Any, times: int = 7) -> float:
    took = []
    for _ in range(times):
        began = time.perf_counter()
        ask()
        took.append(1e3 * (time.perf_counter() - began))
    return round(float(np.median(took)), 2)
