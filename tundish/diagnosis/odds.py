"""From readings to the odds of every cause.

Every machine carries the chance of its hypothesis divided by the machines of that hypothesis, times how likely the readings are on it.
The odds of a hypothesis are the summed weights of its machines. `Something not described` has no machines: its readings fall half like
those of healthy machines (most of an unknown machine is well), half anywhere a check can show.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import logsumexp

from tundish.appliance.records import Check
from tundish.diagnosis.likelihood import Floats, Span, log_likelihood, misdone, span
from tundish.diagnosis.reading import Reading, by_check
from tundish.population.build import Population

# Share of checks that an unknown fault leaves as on a healthy machine. Our choice.
UNKNOWN_LIKE_HEALTHY = 0.5
# Machines looked at for the span of a check; more would not move its 0.5 % points.
SPAN_SAMPLE = 4_000
# Below this many effective machines the odds are not to be acted on (importance sampling practice, see docs/odds.md).
LEAST_EFFECTIVE = 200.0


@dataclass(frozen=True)
class Cloud:
    """Machines with their weights after some readings.

    log_weight : (m,) natural logarithm, not normalised.
    log_unknown : the same for `something not described`.
    """

    population: Population
    log_weight: Floats
    log_unknown: float


@dataclass(frozen=True)
class Odds:
    """What is known after some readings.

    chance : (h,) by hypothesis, sums to 1.
    causes : fault id -> chance that this fault is there, alone or with another, root or consequence.
    nothing, unknown : chance that nothing is wrong, that it is something not described.
    effective : effective number of machines behind the odds.
    evidence : natural logarithm of the chance (density) of the readings.
    """

    chance: Floats
    causes: Mapping[str, float]
    nothing: float
    unknown: float
    effective: float
    evidence: float

    @property
    def ranked(self) -> list[tuple[str, float]]:
        """Causes by chance, likeliest first, ties by id."""
        return sorted(self.causes.items(), key=lambda item: (-item[1], item[0]))


def start(population: Population, prior: Sequence[float]) -> Cloud:
    """The cloud before any reading. prior : (h,) chance of each hypothesis of the population, sums to 1."""
    # Strata hold as many machines as they need; dividing by their number gives each hypothesis its prior
    # again.
    count = np.bincount(population.stratum, minlength=len(population.hypotheses))
    with np.errstate(divide="ignore"):
        each = np.log(np.asarray(prior)) - np.log(np.maximum(count, 1))
        unknown = _unknown_index(population)
        return Cloud(
            population,
            each[population.stratum],
            float(np.log(prior[unknown])) if unknown is not None else -np.inf,
        )


def weigh(cloud: Cloud, checks: Mapping[str, Check], readings: Sequence[Reading]) -> Cloud:
    """The cloud after readings (all of them: a check repeated must be given together)."""
    weight, unknown = cloud.log_weight.copy(), cloud.log_unknown
    for check, group in by_check(readings).items():
        reach = reach_of(cloud.population, checks[check])
        weight += log_likelihood(checks[check], reach, cloud.population.row(check), group)
        # The unknown fault must pay for every reading too, or it would win by silence.
        unknown += unknown_likelihood(cloud.population, checks[check], reach, group)
    return Cloud(cloud.population, weight, unknown)


def reach_of(population: Population, check: Check) -> Span:
    """The span of a check over the population's machines, healthy ones included."""
    row = population.row(check.id)
    # An even stride keeps all strata in the sample, since machines lie stratum by stratum.
    sample = row[:: max(1, len(row) // SPAN_SAMPLE)]
    return span(check, np.concatenate([sample, _healthy_row(population, check)]))


def unknown_likelihood(population: Population, check: Check, reach: Span, group: Sequence[Reading]) -> float:
    """Log chance (density) of a check's readings when the fault is not described."""
    anywhere = misdone(check, reach, group)
    row = _healthy_row(population, check)
    if not len(row):
        return anywhere
    like = log_likelihood(check, reach, row, group)
    healthy = float(logsumexp(like) - np.log(len(row)))
    return float(
        np.logaddexp(np.log(UNKNOWN_LIKE_HEALTHY) + healthy, np.log1p(-UNKNOWN_LIKE_HEALTHY) + anywhere)
    )


def odds(cloud: Cloud) -> Odds:
    """Odds of every hypothesis and cause.

    Raises ValueError when no machine and no unknown is left with any weight.
    """
    population, total = cloud.population, float(np.logaddexp(logsumexp(cloud.log_weight), cloud.log_unknown))
    if not np.isfinite(total):
        raise ValueError(
            f"odds: saw a total weight of {total}; at least one machine must carry weight; check the readings' bounds"
        )
    weight = np.exp(cloud.log_weight - total)
    chance: Floats = np.bincount(population.stratum, weights=weight, minlength=len(population.hypotheses)).astype(np.float64)
    unknown = float(np.exp(cloud.log_unknown - total))
    if (index := _unknown_index(population)) is not None:
        chance[index] = unknown
    nothing = sum(c for c, h in zip(chance, population.hypotheses, strict=True) if h.kind == "normal")
    # The unknown has no machines, so it does not count among them.
    effective = float(weight.sum() ** 2 / max(float((weight**2).sum()), 1e-300))
    return Odds(chance, _causes(population, weight), float(nothing), unknown, effective, total)


def _causes(population: Population, weight: Floats) -> dict[str, float]:
    """Chance that each fault is there: machines in which it is present, in whatever slot."""
    ids, codes = population.fault_codes
    chance = np.zeros(len(ids))
    for slot in range(population.present.shape[1]):
        there = np.bincount(population.stratum, weights=weight * population.present[:, slot], minlength=len(codes))
        # Hypotheses without a fault in this slot add nothing.
        real = codes[:, slot] >= 0
        chance += np.bincount(codes[real, slot], weights=there[real], minlength=len(ids))
    return {f: float(c) for f, c in zip(ids, chance, strict=True)}


def _unknown_index(population: Population) -> int | None:
    kinds = [h.kind for h in population.hypotheses]
    return kinds.index("undescribed") if "undescribed" in kinds else None


def _healthy_row(population: Population, check: Check) -> npt.NDArray[np.float32]:
    return np.asarray(population.healthy[population.checks.index(check.id)])
