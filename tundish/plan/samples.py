"""Machines that stand for a cloud, gathered in kinds: the same faults, failed in the same way.

A plan's hidden states are kinds. What a check shows on a kind is the mean over its machines. Single machines would not do: a
few hundred of them differ by chance in everything, and a plan would find meaning in the height of a standpipe.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from tundish.diagnosis.odds import Cloud
from tundish.plan.change import Floats
from tundish.plan.cured import drawn_with, eased_by_pulling
from tundish.plan.errors import PlanError
from tundish.population.build import Population, World

# Machines for a plan; fewest and most of a kind; the chance from which a kind counts. Our choice, see docs/planning.md.
MACHINES, FEWEST, MOST, MATTERS = 800, 8, 80, 2e-3
# Effective machines of a kind below which its weights are flattened: two machines prove nothing about a kind. Our choice.
EFFECTIVE = 20.0
# A kind's mean differs from all kinds' mean in earnest when it does by this many times its variance. Our choice.
EARNEST = 8.0
Rows = npt.NDArray[np.intp]
Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True, eq=False)
class Sample:
    """Machines standing for a cloud, those of one kind side by side.

    rows : (n,) of its population. weight : (n,). first : (k,) where each kind begins. faults : (k,) what each has.
    mass : (k,) chance of each kind, sums to 1 - unknown. sound : (k,) nothing was ever wrong.
    eased : (k,) another machine once it is pulled out.
    unknown : chance of something not described.
    """

    population: Population
    rows: Rows
    weight: Floats
    first: Rows
    faults: tuple[frozenset[str], ...]
    mass: Floats
    sound: Bools
    eased: Bools
    unknown: float

    def machines(self, kind: int, most: int) -> Rows:
        """Rows of up to `most` machines of a kind."""
        end = self.first[kind + 1] if kind + 1 < len(self.first) else len(self.rows)
        return self.rows[self.first[kind] : end][:most]

    def mean(self, table: Floats) -> Floats:
        """Mean of (r, n) by kind, (r, k)."""
        summed = np.add.reduceat(table * self.weight, self.first, axis=1)
        return np.asarray(summed / np.add.reduceat(self.weight, self.first))

    def means(self, table: Floats) -> Floats:
        """Mean of (r, n) by kind, (r, k), drawn to the mean of all as far as chance alone may explain its difference.

        The factor is that of James & Stein 1961, positive part, with a margin.
        """
        each = self.mean(table)
        spread = np.maximum(self.mean(table**2) - each**2, 0.0).sum(axis=0)
        whole = np.add.reduceat(self.weight, self.first)
        number = whole**2 / np.add.reduceat(self.weight**2, self.first)
        overall = (each @ whole / whole.sum())[:, None]
        apart = ((each - overall) ** 2).sum(axis=0)
        factor = np.clip(1.0 - EARNEST * spread / number / np.maximum(apart, 1e-300), 0.0, 1.0)
        return np.asarray(overall + factor * (each - overall))

    def chance(self) -> Mapping[str, float]:
        """Fault -> chance that it is there."""
        held: dict[str, float] = {}
        for faults, mass in zip(self.faults, self.mass, strict=True):
            for fault in faults:
                held[fault] = held.get(fault, 0.0) + float(mass)
        return held


def sample(place: World, cloud: Cloud, rng: np.random.Generator, *, size: int = MACHINES) -> Sample:
    """About `size` machines, drawn systematically within each kind, rarer kinds more often than their weight asks.

    Raises PlanError when no machine and no unknown carries weight.
    """
    weight, unknown = _shares(cloud)
    codes = _codes(place, cloud.population)
    _, kind = np.unique(codes, return_inverse=True)
    mass = np.asarray(np.bincount(kind, weights=weight), dtype=np.float64)
    picked, shares, group = [], [], []
    for index, number in _allotted(mass, size):
        here = np.flatnonzero((kind == index) & (weight > 0))
        rows, times = _systematic(here, _eased(weight[here]), number, rng)
        picked.append(rows)
        shares.append(mass[index] * times / times.sum())
        group.append(np.full(len(rows), index))
    if not picked:
        nothing = np.zeros(0, dtype=np.intp)
        none = np.zeros(0, dtype=np.bool_)
        return Sample(cloud.population, nothing, np.zeros(0), nothing, (), np.zeros(0), none, none, 1.0)
    share = np.concatenate(shares)
    share = share / share.sum() * (1.0 - unknown)
    return _gathered(place, cloud.population, np.concatenate(picked), share, group=np.concatenate(group))


def _gathered(place: World, population: Population, rows: Rows, share: Floats, *, group: Rows) -> Sample:
    """The sample with its machines in order of kind; a kind that moving changes is split from the rest of it."""
    faults = faults_of(place, population, rows)
    # What moving changes must not be averaged with what it leaves alone
    eased = eased_by_pulling(place, drawn_with(place, population, rows, faults, found=True))
    order = np.argsort(2 * group + eased, kind="stable")
    key = (2 * group + eased)[order]
    first = np.flatnonzero(np.concatenate([[True], np.diff(key) != 0]))
    weight = share[order]
    return Sample(
        population,
        rows[order],
        weight,
        first,
        tuple(faults[i] for i in order[first]),
        np.add.reduceat(weight, first),
        np.array([population.hypotheses[s].kind == "normal" for s in population.stratum[rows[order][first]]]),
        eased[order][first],
        max(1.0 - float(share.sum()), 0.0),
    )


def faults_of(place: World, population: Population, rows: Rows) -> tuple[frozenset[str], ...]:
    """The faults present in machines, (n,); what is normal is no fault."""
    kinds = place.description.faults
    real = [
        tuple(f if f and kinds[f].kind != "normal" else "" for f in faults) for faults in population.faults
    ]
    stratum, present = population.stratum[rows], population.present[rows]
    keys = stratum.astype(np.int64) * 64 + present @ (1 << np.arange(present.shape[1]))
    # Machines share few patterns; each is turned into a set once
    known: dict[int, frozenset[str]] = {}
    for key, s, there in zip(keys.tolist(), stratum, present, strict=True):
        if key not in known:
            known[key] = frozenset(f for f, t in zip(real[s], there, strict=True) if f and t)
    return tuple(known[key] for key in keys.tolist())


def _codes(place: World, population: Population) -> npt.NDArray[np.int64]:
    """(m,) a number for each machine's hypothesis, faults there, and way to fail of a single root."""
    slots = population.present.shape[1]
    codes = population.stratum.astype(np.int64) * 64 + population.present @ (1 << np.arange(slots))
    way = np.zeros(population.size, dtype=np.int64)
    for index, hypothesis in enumerate(population.hypotheses):
        # Ways of two roots together are too many to be told apart; they are averaged
        if len(hypothesis.roots) != 1:
            continue
        modes = place.description.faults[hypothesis.roots[0]].modes
        if len(modes) > 1:
            here = population.stratum == index
            share = np.cumsum([m.weight for m in modes])
            drawn = ndtr(population.latent[here, place.plan.mode(0)].astype(np.float64))
            way[here] = np.minimum(np.searchsorted(share / share[-1], drawn, side="right"), len(modes) - 1)
    return codes * 64 + way


def _shares(cloud: Cloud) -> tuple[Floats, float]:
    top = max(float(cloud.log_weight.max(initial=-np.inf)), cloud.log_unknown)
    if not np.isfinite(top):
        raise PlanError(
            seen=f"a cloud of {len(cloud.log_weight)} machines with total log-weight {top}",
            allowed="at least one machine, or something not described, that may be",
            do="check the readings",
        )
    weight, unknown = np.exp(cloud.log_weight - top), float(np.exp(cloud.log_unknown - top))
    total = float(weight.sum()) + unknown
    return weight / total, unknown / total


def _allotted(mass: Floats, size: int) -> list[tuple[int, int]]:
    """Kinds that count with their number of machines, by the square root of their chance."""
    total = float(mass.sum())
    matter = np.flatnonzero(mass > MATTERS * total) if total > 0 else np.zeros(0, dtype=np.intp)
    # Between equal numbers, which waste machines, and numbers by chance, which starve rare kinds
    root = np.sqrt(mass[matter])
    number = np.clip(np.round(size * root / max(root.sum(), 1e-300)), FEWEST, MOST)
    return [(int(i), int(n)) for i, n in zip(matter, number, strict=True)]


def _eased(weight: Floats) -> Floats:
    """Weights of a kind raised to a power up to 1, so that enough machines stand for it; its chance is not touched."""
    scaled = weight / weight.max()
    for power in (1.0, 0.5, 0.25, 0.1, 0.05):
        flat = scaled**power
        if flat.sum() ** 2 >= EFFECTIVE * (flat**2).sum():
            return np.asarray(flat)
    return np.ones(len(weight))


def _systematic(here: Rows, weight: Floats, number: int, rng: np.random.Generator) -> tuple[Rows, Floats]:
    """Systematic resampling; a machine drawn several times is held once, with its times."""
    edges = np.cumsum(weight)
    at = (np.arange(number) + rng.random()) / number * edges[-1]
    drawn = here[np.minimum(np.searchsorted(edges, at, side="right"), len(here) - 1)]
    rows, times = np.unique(drawn, return_counts=True)
    return rows, times.astype(np.float64)
