"""The machines that go into the pocket: drawn from a call's cloud, with what each weighs before any reading.

A reading may be withdrawn where there is no signal, so weights start before the readings again. Machines regrown for the readings
are no draws from the prior; they and the first machines together are draws from a mixture, and each weighs its prior density over
the mixture's (the balance heuristic of Veach & Guibas 1995).

References
----------
https://doi.org/10.1145/218380.218498
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt
from scipy.special import logsumexp

from tundish.appliance.records import Check
from tundish.diagnosis.odds import Cloud, weigh
from tundish.diagnosis.reading import Reading
from tundish.plan.change import Floats
from tundish.population.build import Population

Rows = npt.NDArray[np.intp]
# Machines in the pocket, and fewest of a hypothesis that has so many: a cause ruled out may come back. Our choice.
SIZE, FEWEST = 20_000, 40


@dataclass(frozen=True, eq=False)
class Drawn:
    """Machines with what they weigh before any reading. population : only those drawn. log_prior : (m,). log_unknown : the same for
    something not described. rows : (m,) of the cloud that they were drawn from.
    """

    population: Population
    log_prior: Floats
    log_unknown: float
    rows: Rows


def drawn(
    first: Cloud,
    now: Cloud,
    checks: Mapping[str, Check],
    readings: Sequence[Reading],
    *,
    rng: np.random.Generator,
    size: int = SIZE,
) -> Drawn:
    """About `size` machines of a call.

    first : the cloud before any reading. now : after all of `readings`, regrown or not.
    """
    population, prior = _joined(first, now, checks, readings)
    cloud = Cloud(population, prior, first.log_unknown)
    after = weigh(cloud, checks, readings).log_weight if readings else prior
    number = len(population.hypotheses)
    before, share = _by_stratum(population, prior, number), _by_stratum(population, after, number)
    wanted = _allotted(population.stratum, np.maximum(before, share), size)
    rows, log_prior = [], []
    for index, many in enumerate(wanted):
        here = np.flatnonzero(population.stratum == index)
        if many < len(here):
            here, weight = _picked(here, prior[here], after[here], many, rng)
        else:
            weight = prior[here]
        rows.append(here)
        log_prior.append(weight)
    kept = np.concatenate(rows)
    return Drawn(_only(population, kept), np.concatenate(log_prior), first.log_unknown, kept)


def _joined(
    first: Cloud, now: Cloud, checks: Mapping[str, Check], readings: Sequence[Reading]
) -> tuple[Population, Floats]:
    """First machines and those regrown since, with their weight before any reading, (m,)."""
    old = first.population
    if now.population is old:
        return old, first.log_weight
    known = {row.tobytes() for row in old.latent}
    new = np.flatnonzero([row.tobytes() not in known for row in now.population.latent])
    grown = _only(now.population, new)
    both = replace(
        old,
        stratum=np.concatenate([old.stratum, grown.stratum]),
        latent=np.concatenate([old.latent, grown.latent]),
        present=np.concatenate([old.present, grown.present]),
        predicted=np.concatenate([old.predicted, grown.predicted], axis=1),
    )
    number = len(old.hypotheses)
    count = np.bincount(old.stratum, minlength=number)
    more = np.bincount(grown.stratum, minlength=number)
    total = _log_by_stratum(old.stratum, first.log_weight, number)
    like = weigh(Cloud(both, np.zeros(both.size), 0.0), checks, readings).log_weight
    with np.errstate(divide="ignore", invalid="ignore"):
        # How well each hypothesis explains the readings, by the regrown machines' own figure
        evidence = _log_by_stratum(now.population.stratum, now.log_weight, number) - total
        fits = np.where(more > 0, np.log(more) - evidence, -np.inf)[both.stratum] + like
        mixture = np.logaddexp(np.log(np.maximum(count, 1e-300))[both.stratum], fits)
    return both, total[both.stratum] - mixture


def _log_by_stratum(stratum: npt.NDArray[np.int16], log_weight: Floats, number: int) -> Floats:
    return np.array([logsumexp(log_weight[stratum == s]) if (stratum == s).any() else -np.inf for s in range(number)])


def _by_stratum(population: Population, log_weight: Floats, number: int) -> Floats:
    weight = np.exp(log_weight - log_weight.max())
    found = np.bincount(population.stratum, weights=weight / weight.sum(), minlength=number)
    return np.asarray(found, dtype=np.float64)


def _allotted(stratum: npt.NDArray[np.int16], share: Floats, size: int) -> list[int]:
    """Machines of each hypothesis, by the root of its chance; never more than it has."""
    has = np.bincount(stratum, minlength=len(share))
    if has.sum() <= size:
        return [int(h) for h in has]
    # In a small pocket the floor must leave room for what is likely
    least = np.minimum(has, min(FEWEST, size // (2 * len(share))))
    root = np.where(has > 0, np.sqrt(share), 0.0)
    wanted = least.astype(np.float64)
    # What a hypothesis cannot use goes to the others, so the share is worked out a few times
    for _ in range(8):
        free, left = wanted < has, size - wanted.sum()
        if left < 1 or not free.any():
            break
        wanted = np.minimum(has, wanted + left * root * free / max(float((root * free).sum()), 1e-300))
    return [int(w) for w in wanted]


def _picked(
    here: Rows, prior: Floats, after: Floats, many: int, rng: np.random.Generator
) -> tuple[Rows, Floats]:
    """Machines of a hypothesis, half by what they weigh before the readings and half by what they weigh now."""
    chance = _shares(prior)
    if np.isfinite(after).any():
        chance = (chance + _shares(after)) / 2
    at = (np.arange(many) + rng.random()) / many
    picked = np.minimum(np.searchsorted(np.cumsum(chance), at, side="right"), len(here) - 1)
    rows, times = np.unique(picked, return_counts=True)
    weight = prior[rows] + np.log(times / many) - np.log(chance[rows])
    # The hypothesis keeps its chance to the last digit
    return here[rows], weight + logsumexp(prior) - logsumexp(weight)


def _shares(log_weight: Floats) -> Floats:
    weight = np.exp(log_weight - log_weight.max())
    return np.asarray(weight / weight.sum())


def _only(population: Population, rows: Rows) -> Population:
    return replace(
        population,
        stratum=population.stratum[rows],
        latent=population.latent[rows],
        present=population.present[rows],
        predicted=population.predicted[:, rows],
    )
