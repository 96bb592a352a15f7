"""A discrete Bayesian network as a population, so that the tool's own weighting code can be held against exact inference.

Roots are the causes. A hypothesis is a set of roots that are true. Machines of a hypothesis are drawn by forward sampling of the other
nodes; every node is a check that is read without error.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from tundish.appliance.records import Answer, Check
from tundish.population.build import Population
from tundish.population.hypotheses import Hypothesis


@dataclass(frozen=True)
class Node:
    """A node with its states (first = false) and its table: parents' states -> chances of its states."""

    name: str
    parents: tuple[str, ...]
    states: tuple[str, ...]
    table: Mapping[tuple[str, ...], tuple[float, ...]]


def check_of(node: Node) -> Check:
    return Check(
        id=node.name,
        title=node.name,
        reads=node.name,
        unit="-",
        instrument=None,
        answers=tuple(Answer(s) for s in node.states),
        mistakes={},
        model=0.0,
        misdone=0.0,
        minutes=1.0,
        state="NONE",
        access=(),
        live=False,
        where="",
        step="",
        cautions=(),
    )


def population(nodes: Sequence[Node], each: int, rng: np.random.Generator) -> tuple[Population, list[float]]:
    """`each` machines a hypothesis (all sets of true roots), and the prior of every hypothesis."""
    roots = [n for n in nodes if not n.parents]
    kept, prior, columns, stratum, present = [], [], [], [], []
    for index, states in enumerate(product((0, 1), repeat=len(roots))):
        true = tuple(n.name for n, s in zip(roots, states, strict=True) if s)
        kept.append(Hypothesis({0: "normal", 1: "root"}.get(len(true), "two"), true))
        prior.append(float(np.prod([n.table[()][s] for n, s in zip(roots, states, strict=True)])))
        columns.append(_forward(nodes, dict(zip([n.name for n in roots], states, strict=True)), each, rng))
        stratum.append(np.full(each, index, dtype=np.int16))
        present.append(np.tile(np.array(states, dtype=bool), (each, 1)))
    faults = tuple(tuple(n.name if n.name in h.roots else "" for n in roots) for h in kept)
    shown = np.concatenate(columns, axis=1).astype(np.float32)
    held = Population(
        "",
        "",
        tuple(n.name for n in nodes),
        tuple(kept),
        np.concatenate(stratum),
        np.zeros((shown.shape[1], 0), np.float32),
        np.concatenate(present),
        shown,
        np.zeros((len(nodes), 0), np.float32),
        np.ones(len(kept)),
        faults,
        0,
    )
    return held, prior


def _forward(
    nodes: Sequence[Node], fixed: Mapping[str, int], each: int, rng: np.random.Generator
) -> np.ndarray:
    code: dict[str, np.ndarray] = {}
    by_name = {n.name: n for n in nodes}
    for node in nodes:
        if node.name in fixed:
            code[node.name] = np.full(each, fixed[node.name])
            continue
        edges = np.empty((each, len(node.states)))
        names = [by_name[p].states for p in node.parents]
        for states in product(*(range(len(s)) for s in names)):
            here = np.all([code[p] == s for p, s in zip(node.parents, states, strict=True)], axis=0)
            edges[here] = np.cumsum(node.table[tuple(names[i][s] for i, s in enumerate(states))])
        code[node.name] = np.minimum((rng.random(each)[:, None] > edges).sum(axis=1), len(node.states) - 1)
    return np.array([code[n.name] for n in nodes])
