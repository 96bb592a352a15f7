"""Kinds of the machines in a pocket, and what each remedy does to them.

A kind has the same faults, failed in the same way, and is or is not another machine once it is pulled out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from tundish.plan.change import Floats
from tundish.plan.cured import drawn_with, eased_by_pulling, shown_by
from tundish.plan.hidden import Curing, hidden
from tundish.plan.remedies import Remedy
from tundish.plan.samples import Sample, faults_of
from tundish.plan.shop import Shop
from tundish.population.build import Population, World

Rows = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Kinds:
    """Kinds of a pocket's machines, which lie in their order.

    rows : (m,) of the population. kind : (m,). causes, left : (k,) faults there, with and without what is normal.
    sound : (k,) nothing was ever wrong. eased : (k,) another machine once it is pulled out.
    """

    population: Population
    rows: Rows
    kind: Rows
    causes: tuple[frozenset[str], ...]
    left: tuple[frozenset[str], ...]
    sound: Bools
    eased: Bools


@dataclass(frozen=True, eq=False)
class Effects:
    """What remedies do to kinds, (remedies, kinds) each: chance that it works, that it works because of the remedy, toll when it works."""

    works: Floats
    cures: Floats
    tolls: Floats


def kinds(place: World, population: Population) -> Kinds:
    """The kinds of a population, likeness first."""
    every = np.arange(population.size)
    left, causes = faults_of(place, population, every), _causes(population)
    eased = eased_by_pulling(place, drawn_with(place, population, every, left, found=True))
    sound = np.array([h.kind == "normal" for h in population.hypotheses])[population.stratum]
    keys = [
        (sorted(f), sorted(c), bool(s), int(w), bool(e))
        for f, c, s, w, e in zip(left, causes, sound, _ways(place, population), eased, strict=True)
    ]
    known = {key: i for i, key in enumerate(sorted(set(map(repr, keys))))}
    kind = np.array([known[repr(key)] for key in keys], dtype=np.intp)
    rows = np.argsort(kind, kind="stable")
    first = rows[np.flatnonzero(np.concatenate([[True], np.diff(kind[rows]) != 0]))]
    return Kinds(
        population, rows, kind[rows], tuple(causes[i] for i in first), tuple(left[i] for i in first), sound[first], eased[first]
    )


def effects(place: World, shop: Shop, held: Kinds, weight: Floats, cures: Sequence[Remedy]) -> Effects:
    """What remedies do. weight : (m,) of the machines in the kinds' order."""
    states = hidden(place, sampled(held, weight), cures, pulled_out=False)
    curing = Curing(place.description, states, shop, cures)
    found, k = [curing.effect(r) for r in cures], len(held.left)
    shape = (len(cures), k)
    return Effects(
        np.array([e.works[:k] for e in found]).reshape(shape),
        np.array([e.cures[:k] for e in found]).reshape(shape),
        np.array([e.toll[:k] for e in found]).reshape(shape),
    )


def sampled(held: Kinds, weight: Floats) -> Sample:
    """All machines of the kinds as a plan's sample. weight : (m,) in the kinds' order."""
    first = np.flatnonzero(np.concatenate([[True], np.diff(held.kind) != 0]))
    mass = np.add.reduceat(weight, first)
    return Sample(
        held.population, held.rows, weight, first, held.left, mass / mass.sum(), held.sound, held.eased, 0.0
    )


def pulled_out(place: World, held: Kinds) -> tuple[Rows, npt.NDArray[np.float32]]:
    """Places in the kinds' order of the machines that moving changes, and what every check shows on them outside, (checks, t)."""
    at = np.flatnonzero(held.eased[held.kind])
    names = held.population.checks
    if not len(at):
        return at, np.zeros((len(names), 0), dtype=np.float32)
    left = [held.left[k] for k in held.kind[at]]
    drawn = drawn_with(place, held.population, held.rows[at], left, found=True)
    return at, shown_by(place, drawn, names, np.ones(len(at), dtype=np.bool_))


def _causes(population: Population) -> list[frozenset[str]]:
    """All that is present in each machine, what is normal included."""
    known: dict[tuple[int, bytes], frozenset[str]] = {}
    out = []
    for stratum, there in zip(population.stratum.tolist(), population.present, strict=True):
        key = stratum, there.tobytes()
        if key not in known:
            names = population.faults[stratum]
            known[key] = frozenset(f for f, t in zip(names, there, strict=True) if f and t)
        out.append(known[key])
    return out


def _ways(place: World, population: Population) -> Rows:
    """(m,) the way in which a single root failed; ways of two roots are too many to be told apart."""
    way = np.zeros(population.size, dtype=np.intp)
    for index, hypothesis in enumerate(population.hypotheses):
        modes = place.description.faults[hypothesis.roots[0]].modes if len(hypothesis.roots) == 1 else ()
        if len(modes) > 1:
            here = population.stratum == index
            share = np.cumsum([m.weight for m in modes])
            at = ndtr(population.latent[here, place.plan.mode(0)].astype(np.float64))
            way[here] = np.minimum(np.searchsorted(share / share[-1], at, side="right"), len(modes) - 1)
    return way
