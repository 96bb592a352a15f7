"""Regrow machines of the surviving hypotheses when few are left.

Reweighting prior machines leaves only a handful after a few sharp readings. Here each surviving hypothesis is sampled anew: a tempered
sequential sampler (Neal 2001; Del Moral, Doucet & Jasra 2006) walks from its prior machines to its machines given the readings, with
resampling inside the hypothesis and moves that leave the target as it is. The moves are the preconditioned Crank-Nicolson proposals of
Cotter, Roberts, Stuart & White 2013 on the machine's standard normal numbers, so the prior never needs a density. The product of the mean
incremental weights estimates how well the hypothesis explains the readings (its evidence); that, times its prior, is its new share.

References
----------
https://doi.org/10.1111/j.1467-9868.2006.00553.x, https://doi.org/10.1214/13-STS421
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import logsumexp

from tundish.appliance.records import Check, Complaint
from tundish.diagnosis.likelihood import Floats, Span, log_likelihood
from tundish.diagnosis.odds import Cloud, reach_of, weigh
from tundish.diagnosis.reading import Reading, by_check
from tundish.population.build import World, resimulated
from tundish.population.hypotheses import Hypothesis
from tundish.population.predict import column

# A hypothesis is regrown when its few machines could shift the odds by more than this: share (1 - share) over the root of its effective
# number is the standard error that its evidence brings into its odds.
TOLERATED = 0.015
# A hypothesis that holds this much must also be able to predict readings, which takes so many effective machines.
LIKELY, TELLING = 0.05, 250.0
# Fewer effective machines than this say little even of how many there ought to be; then the hypothesis is judged by its share with
# the readings' weight halved.
BLIND, LEAST_PROMISE = 10.0, 0.02
# Machines regrown for a hypothesis.
MACHINES = 500
# Each tempering step keeps this share of the machines effective; after it, so many moves; at the end so many more.
KEEP, MOVES, LAST_MOVES = 0.6, 3, 4
# Size of the first proposal step and the acceptance aimed at (random-walk practice: a quarter to a third).
FIRST_STEP, AIM = 0.5, 0.3
# A proposal renews each of a machine's numbers with this chance, so that few coordinates need to please all readings at once.
RENEWED = 0.4
MOST_STEPS = 40
# After a regrowth machines below this share of the odds are dropped (all together they hold under a millionth), but of every
# hypothesis so many stay.
NEGLIGIBLE, LEAST_KEPT = 1e-12, 50

Progress = Callable[[float], None]


@dataclass(frozen=True)
class Target:
    """What machines must agree with: the complaint and the readings by check.

    needs : parameters that these depend on. columns : (width,) which of a machine's numbers do.
    """

    place: World
    complaint: Complaint
    checks: tuple[Check, ...]
    reach: tuple[Span, ...]
    groups: tuple[tuple[Reading, ...], ...]
    needs: frozenset[str]
    columns: npt.NDArray[np.bool_]

    def log_likelihood(self, stratum: Sequence[Hypothesis], latent: Floats) -> Floats:
        """Log chance of the readings on each machine, (n,); minus infinity where the complaint does not show."""
        machines = self.place.machines(self.place.batch(stratum, latent, found=True), self.needs)
        total = np.zeros(len(latent))
        for check, reach, group in zip(self.checks, self.reach, self.groups, strict=True):
            total += log_likelihood(check, reach, column(machines, check).astype(np.float32), group)
        shows = self.place.shows(stratum, latent, self.complaint)
        return np.where(shows & ~machines.lost, total, -np.inf)


@dataclass
class _Growing:
    """Machines on their way: `power` and `gained` by hypothesis, the rest by machine."""

    owner: npt.NDArray[np.intp]
    latent: Floats
    like: Floats
    power: Floats
    gained: Floats
    step: Floats


def needed(place: World, prior: Cloud, current: Cloud, readings: Sequence[Reading]) -> list[int]:
    """Hypotheses that have too few effective machines left for what they hold of the odds (indices).

    A hypothesis whose few prior machines all miss the readings looks dead although it may not be: better ones may exist. So one that is
    blind is regrown when its machines come near, that is when it holds LEAST_PROMISE with the readings' weight halved.
    """
    number = len(current.population.hypotheses)
    share = _shares(current.population.stratum, current.log_weight, number)
    promise = _shares(prior.population.stratum, _halved(place, prior, readings), number)
    # A hypothesis that holds next to nothing either way is not worth counting.
    asked = np.flatnonzero((share > TOLERATED / 10.0) | (promise >= LEAST_PROMISE))
    return [int(i) for i in asked if _too_few(current, int(i), float(share[i]), float(promise[i]))]


def _too_few(cloud: Cloud, index: int, share: float, promise: float) -> bool:
    weight = cloud.log_weight[cloud.population.stratum == index]
    if not len(weight):
        return False
    effective = max(_effective(weight), 1e-9)
    if effective < BLIND and promise >= LEAST_PROMISE:
        return True
    return share * (1.0 - share) / np.sqrt(effective) > TOLERATED or (share >= LIKELY and effective < TELLING)


def _halved(place: World, prior: Cloud, readings: Sequence[Reading]) -> Floats:
    full = weigh(prior, place.description.checks, readings).log_weight
    return np.where(np.isfinite(full), 0.5 * (prior.log_weight + full), -np.inf)


def _shares(stratum: npt.NDArray[np.int16], log_weight: Floats, number: int) -> Floats:
    weight = np.exp(log_weight - log_weight.max())
    share = np.bincount(stratum, weights=weight, minlength=number)
    return np.asarray(share / share.sum())


def _effective(log_weight: Floats) -> float:
    if not np.isfinite(log_weight).any():
        return 0.0
    weight = np.exp(log_weight - log_weight.max())
    return float(weight.sum() ** 2 / (weight**2).sum())


def regrow(
    place: World,
    prior: Cloud,
    current: Cloud,
    readings: Sequence[Reading],
    *,
    chosen: Sequence[int],
    rng: np.random.Generator,
    progress: Progress | None = None,
) -> Cloud:
    """The current cloud with the chosen hypotheses' machines drawn anew from what all readings leave.

    prior : the cloud before any reading; current : the cloud after all `readings`.
    chosen : indices of hypotheses. Others keep their machines and weights.
    """
    target = _target(place, prior, readings)
    growing = _sow(prior, weigh(prior, place.description.checks, readings), chosen, rng)
    names = [prior.population.hypotheses[i] for i in chosen]
    _climb(target, names, growing, rng, progress or (lambda share: None))
    # What the readings do not depend on is as free as before them: drawn anew, so that copies of one machine differ there.
    growing.latent[:, ~target.columns] = rng.standard_normal((len(growing.latent), int((~target.columns).sum())))
    return _joined(place, prior, current, chosen, growing)


def _target(place: World, prior: Cloud, readings: Sequence[Reading]) -> Target:
    groups, record = by_check(readings), place.description.complaints[prior.population.complaint]
    checks = tuple(place.description.checks[c] for c in groups)
    needs = place.needs(record, groups)
    columns = np.ones(place.plan.width, dtype=np.bool_)
    columns[[column for name, column in place.plan.parameters.items() if name not in needs]] = False
    reach = tuple(reach_of(prior.population, c) for c in checks)
    return Target(place, record, checks, reach, tuple(groups.values()), needs, columns)


def _sow(prior: Cloud, cloud: Cloud, chosen: Sequence[int], rng: np.random.Generator) -> _Growing:
    """Start from all prior machines of each hypothesis: temper once with all of them, then go on with MACHINES."""
    owner, latent, like, power, gained = [], [], [], [], []
    for place, index in enumerate(chosen):
        rows = np.flatnonzero(prior.population.stratum == index)
        agrees = cloud.log_weight[rows] - prior.log_weight[rows]
        # The first step may lean on all prior machines of the hypothesis, which are many; later ones on
        # MACHINES only.
        reached = _next_power(agrees, 0.0, min(KEEP, MACHINES / len(rows)))
        picked, gain = _resampled(reached * agrees, MACHINES, rng)
        owner.append(np.full(MACHINES, place))
        latent.append(prior.population.latent[rows[picked]].astype(np.float64))
        like.append(agrees[picked])
        power.append(reached)
        gained.append(gain)
    number = len(chosen)
    return _Growing(
        np.concatenate(owner),
        np.concatenate(latent),
        np.concatenate(like),
        np.array(power),
        np.array(gained),
        np.full(number, FIRST_STEP),
    )


def _climb(
    target: Target, names: list[Hypothesis], growing: _Growing, rng: np.random.Generator, progress: Progress
) -> None:
    _move(target, names, growing, rng, MOVES)
    for _ in range(MOST_STEPS):
        if (growing.power >= 1.0).all():
            break
        _temper(growing, rng)
        _move(target, names, growing, rng, MOVES)
        progress(float(growing.power.mean()))
    # Out of steps: take the rest at once rather than return a half-weighed hypothesis.
    if (growing.power < 1.0).any():
        _temper(growing, rng, to=1.0)
    _move(target, names, growing, rng, LAST_MOVES)


def _temper(growing: _Growing, rng: np.random.Generator, to: float | None = None) -> None:
    """Raise each hypothesis's power as far as its machines bear it, and resample."""
    for index in np.flatnonzero(growing.power < 1.0):
        rows = np.flatnonzero(growing.owner == index)
        like = growing.like[rows]
        reached = to or _next_power(like, float(growing.power[index]), KEEP)
        picked, gain = _resampled((reached - growing.power[index]) * like, len(rows), rng)
        growing.latent[rows], growing.like[rows] = growing.latent[rows[picked]], like[picked]
        growing.power[index] = reached
        growing.gained[index] += gain


def _next_power(like: Floats, power: float, keep: float) -> float:
    """The highest power up to 1 at which this share of machines stays effective (bisection: the share falls as the power rises)."""
    # Machines that lost the complaint weigh nothing at any power above zero.
    finite = np.where(np.isfinite(like), like, -1e9)
    if _effective((1.0 - power) * finite) >= keep * len(like):
        return 1.0
    low, high = power, 1.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        low, high = (
            (middle, high) if _effective((middle - power) * finite) >= keep * len(like) else (low, middle)
        )
    return max(low, power + 1e-6)


def _resampled(
    log_weight: Floats, number: int, rng: np.random.Generator
) -> tuple[npt.NDArray[np.intp], float]:
    """Systematic resampling: rows by weight, and the log of the mean weight."""
    log_weight = np.where(np.isnan(log_weight), -np.inf, log_weight)
    total = logsumexp(log_weight)
    edges = np.cumsum(np.exp(log_weight - total))
    at = (np.arange(number) + rng.random()) / number
    picked = np.minimum(np.searchsorted(edges, at * edges[-1], side="right"), len(log_weight) - 1)
    return picked.astype(np.intp), float(total - np.log(len(log_weight)))


def _move(
    target: Target, names: list[Hypothesis], growing: _Growing, rng: np.random.Generator, times: int
) -> None:
    """Preconditioned Crank-Nicolson moves on a random part of each machine's numbers."""
    stratum = [names[i] for i in growing.owner]
    for _ in range(times):
        step = growing.step[growing.owner][:, None]
        proposed, old = growing.latent.copy(), growing.latent[:, target.columns]
        fresh = np.sqrt(1.0 - step**2) * old + step * rng.standard_normal(old.shape)
        proposed[:, target.columns] = np.where(rng.random(old.shape) < RENEWED, fresh, old)
        like = target.log_likelihood(stratum, proposed)
        with np.errstate(invalid="ignore"):
            gain = growing.power[growing.owner] * (like - growing.like)
        # The prior's part of the ratio cancels in this proposal, so only the readings decide.
        taken = np.log(rng.random(len(like))) < np.where(np.isfinite(like), gain, -np.inf)
        growing.latent[taken], growing.like[taken] = proposed[taken], like[taken]
        _adapt(growing, taken)


def _adapt(growing: _Growing, taken: npt.NDArray[np.bool_]) -> None:
    count = np.bincount(growing.owner, minlength=len(growing.step))
    # Each hypothesis finds its own step: a sharp one needs smaller steps than a vague one.
    share = np.bincount(growing.owner, weights=taken, minlength=len(growing.step)) / count
    growing.step = np.clip(growing.step * np.exp(share - AIM), 0.02, 1.0)


def _joined(place: World, prior: Cloud, current: Cloud, chosen: Sequence[int], growing: _Growing) -> Cloud:
    """Old machines of the other hypotheses and new ones of the chosen, with the chosen's new shares."""
    stays = ~np.isin(current.population.stratum, chosen) & _worth_keeping(current)
    stratum = np.asarray(chosen, dtype=np.int16)[growing.owner]
    grown = resimulated(place, current.population, stays, stratum, growing.latent)
    # New share: prior times evidence, spread evenly over the hypothesis's new machines.
    each = (
        _log_share(prior, chosen) + growing.gained - np.log(np.bincount(growing.owner, minlength=len(chosen)))
    )
    weight = np.concatenate([current.log_weight[stays], each[growing.owner]])
    return Cloud(grown, weight, current.log_unknown)


def _worth_keeping(cloud: Cloud) -> npt.NDArray[np.bool_]:
    """Machines that carry more than NEGLIGIBLE of the odds, and the LEAST_KEPT best of every hypothesis, so that none is lost."""
    keep = cloud.log_weight > logsumexp(cloud.log_weight) + np.log(NEGLIGIBLE)
    for index in np.unique(cloud.population.stratum):
        rows = np.flatnonzero(cloud.population.stratum == index)
        best = np.argpartition(cloud.log_weight[rows], -min(LEAST_KEPT, len(rows)))[-LEAST_KEPT:]
        keep[rows[best]] = True
    return np.asarray(keep)


def _log_share(prior: Cloud, chosen: Sequence[int]) -> Floats:
    """Log prior chance of each chosen hypothesis."""
    return np.array([float(logsumexp(prior.log_weight[prior.population.stratum == i])) for i in chosen])
