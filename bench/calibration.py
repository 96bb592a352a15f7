"""Simulated calls whose true cause is known: are the stated odds honest?

Truth comes from a second population (other random numbers), readings get the instrument's error, the model's error and mis-done checks.
Figures: Talts et al. 2018 (ranks), Modrak et al. 2023 (the joint likelihood as a quantity), data-averaged posterior z-scores.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import chi2

from tundish.appliance.records import Check
from tundish.diagnosis.likelihood import MISDONE_NOTHING, MISDONE_OVER, log_likelihood, noise
from tundish.diagnosis.odds import UNKNOWN_LIKE_HEALTHY, odds, reach_of, start, weigh
from tundish.diagnosis.reading import Reading
from tundish.population.build import Population

LEVELS = (0.5, 0.8, 0.95)


@dataclass(frozen=True)
class Honesty:
    """Figures over n simulated calls.

    ece_limit : 99.9 % point of the ECE that perfectly honest odds of the same sizes would show at this n.
    z_top : of the top cause's hits against its stated odds. z_worst : largest |z| of any hypothesis's stated against true frequency.
    ece : expected calibration error, 10 equal-count bins. score : mean log score [nat]. zero : calls whose truth got exactly 0.
    coverage : share of true values inside their 50, 80, 95 % intervals. ranks : p-values of uniform ranks by quantity.
    """

    n: int
    z_top: float
    z_worst: float
    ece: float
    ece_limit: float
    score: float
    hit: float
    stated: float
    zero: int
    coverage: tuple[float, ...]
    ranks: Mapping[str, float]
    effective: float


def honesty(
    population: Population,
    truth: Population,
    prior: Sequence[float],
    checks: Mapping[str, Check],
    *,
    n: int,
    taken: int,
    seed: int,
    watched: Sequence[str] = (), believed: Sequence[float] | None = None,
) -> Honesty:  # fmt: skip
    """Figures over n calls with `taken` random readings each. watched : checks (readings) whose true values are predicted but not taken.
    believed : the prior that the odds start from, when it is not the one the truth is drawn from."""
    rng, cloud = np.random.default_rng(seed), start(population, prior if believed is None else believed)
    names = list(checks)
    hypotheses = population.hypotheses
    same = [truth.hypotheses.index(h) for h in hypotheses]
    count, stated = np.zeros(len(hypotheses)), np.zeros((2, len(hypotheses)))
    hits, tops, scores, zero, ess = [], [], [], 0, []
    inside: list[tuple[bool, ...]] = []
    ranks: dict[str, list[float]] = {w: [] for w in (*watched, "joint likelihood")}
    for _ in range(n):
        which = int(rng.choice(len(hypotheses), p=np.asarray(prior) / np.sum(prior)))
        machine = _machine(truth, same[which], rng)
        picked = [checks[names[i]] for i in rng.choice(len(names), size=taken, replace=False)]
        readings = [_read(population, truth, machine, c, rng) for c in picked]
        after = weigh(cloud, checks, readings)
        known = odds(after)
        count[which] += 1
        stated += [known.chance, known.chance * (1 - known.chance)]
        top = int(np.argmax(known.chance))
        hits.append(float(top == which))
        tops.append(known.chance[top])
        zero += int(known.chance[which] == 0.0)
        scores.append(-np.log(max(known.chance[which], 1e-300)))
        ess.append(known.effective)
        if machine is not None:
            weight = np.exp(after.log_weight - after.log_weight.max())
            inside += _ranks(
                population,
                truth,
                machine,
                weight,
                [w for w in watched if w not in {r.check for r in readings}],
                ranks,
                rng,
            )
            like = after.log_weight - cloud.log_weight
            true_like = _true_likelihood(population, truth, machine, checks, readings)
            # Rounded, so that machines alike in all readings tie in spite of the order of summing.
            ranks["joint likelihood"].append(_rank(like.round(6), round(true_like, 6), weight, rng))
    conf, hit = np.array(tops), np.array(hits)
    z = (count - stated[0]) / np.sqrt(np.maximum(stated[1], 1e-12))
    seen = stated[0] >= 5.0  # the normal approximation of z needs some expected cases
    return Honesty(
        n,
        float((hit - conf).sum() / np.sqrt((conf * (1 - conf)).sum())),
        float(np.abs(z[seen]).max()),
        _ece(conf, hit),
        _ece_limit(conf, rng),
        float(np.mean(scores)),
        float(hit.mean()),
        float(conf.mean()),
        zero,
        _coverage(inside),
        {k: _uniform(v) for k, v in ranks.items() if len(v) >= 200},
        float(np.median(ess)),
    )


def _machine(truth: Population, stratum: int, rng: np.random.Generator) -> int | None:
    rows = np.flatnonzero(truth.stratum == stratum)
    return int(rng.choice(rows)) if len(rows) else None


def _read(
    population: Population, truth: Population, machine: int | None, check: Check, rng: np.random.Generator
) -> Reading:
    """What the technician writes down; a machine that is not described is half like a healthy one, half anything."""
    reach = reach_of(population, check)
    if machine is None:
        wild = rng.random() >= UNKNOWN_LIKE_HEALTHY
        shown = np.array([rng.choice(truth.healthy[truth.checks.index(check.id)])])
    else:
        wild, shown = False, truth.row(check.id)[[machine]]
    if wild or rng.random() < check.misdone:
        return _anything(check, reach.low, reach.high, rng)
    value = float(noise(check, shown, rng)[0])
    return (
        Reading(check.id, answer=check.answers[int(value)].name)
        if check.is_look
        else Reading(check.id, value)
    )


def _anything(check: Check, low: float, high: float, rng: np.random.Generator) -> Reading:
    if check.instrument is None:
        return Reading(check.id, answer=check.answers[int(rng.integers(len(check.answers)))].name)
    u = rng.random()
    if u < MISDONE_OVER:
        return Reading(check.id, np.inf)
    if u < MISDONE_OVER + MISDONE_NOTHING and not check.instrument.log:
        return Reading(check.id, check.instrument.low)
    at = rng.uniform(low, high)
    value = float(np.exp(at)) if check.instrument.log else float(at)
    return Reading(check.id, float(np.clip(value, check.instrument.low, check.instrument.high)))


def _true_likelihood(
    population: Population,
    truth: Population,
    machine: int,
    checks: Mapping[str, Check],
    readings: Sequence[Reading],
) -> float:
    total = 0.0
    for r in readings:
        shown = truth.row(r.check)[[machine]]
        total += float(log_likelihood(checks[r.check], reach_of(population, checks[r.check]), shown, [r])[0])
    return total


def _rank(values: np.ndarray, true: float, weight: np.ndarray, rng: np.random.Generator) -> float:
    """Weighted rank of the truth among the machines, ties broken at random: uniform on 0..1 when the odds are honest."""
    total = weight.sum()
    less, equal = weight[values < true].sum() / total, weight[values == true].sum() / total
    return float(less + rng.random() * equal)


def _ranks(
    population: Population, truth: Population, machine: int, weight: np.ndarray, watched: Sequence[str], ranks: dict[str, list[float]],
    rng: np.random.Generator,
) -> list[tuple[bool, ...]]:  # fmt: skip
    found = []
    for w in watched:
        true = float(truth.row(w)[machine])
        rank = _rank(population.row(w), true, weight, rng)
        ranks[w].append(rank)
        found.append(tuple(abs(rank - 0.5) <= 0.5 * level for level in LEVELS))
    return found


def _coverage(inside: list[tuple[bool, ...]]) -> tuple[float, ...]:
    return tuple(float(c) for c in np.mean(inside, axis=0)) if inside else ()


def _ece(conf: np.ndarray, hit: np.ndarray) -> float:
    bins = np.array_split(np.argsort(conf), 10)
    return float(sum(len(b) * abs(conf[b].mean() - hit[b].mean()) for b in bins if len(b)) / len(conf))


def _ece_limit(conf: np.ndarray, rng: np.random.Generator) -> float:
    """The error is never negative, so it needs a yardstick: what honest odds show by chance alone."""
    return float(np.quantile([_ece(conf, (rng.random(len(conf)) < conf).astype(float)) for _ in range(400)], 0.999))


def _uniform(ranks: Sequence[float]) -> float:
    """p-value of uniform ranks, 20 bins."""
    count = np.histogram(ranks, bins=20, range=(0.0, 1.0))[0]
    expected = len(ranks) / 20
    return float(chi2.sf(((count - expected) ** 2 / expected).sum(), 19))
