"""What a check should read: on a healthy machine, on this machine as now known, and after a repair."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tundish.appliance.records import Check
from tundish.diagnosis.likelihood import noise
from tundish.diagnosis.odds import Cloud
from tundish.population.build import World
from tundish.population.predict import column

# Machines behind a prediction.
SAMPLE = 2_000
Shown = npt.NDArray[np.float32]


@dataclass(frozen=True)
class Expected:
    """A predicted reading. low, middle, high : 5, 50 and 95 % points, SI, infinite when over range; none for a look.

    over : chance that the instrument shows over range. answers : chance of each answer of a look.
    """

    check: str
    low: float | None
    middle: float | None
    high: float | None
    over: float
    answers: Mapping[str, float]


def expected(check: Check, shown: Shown, rng: np.random.Generator) -> Expected:
    """The reading of a check on equally likely machines, instrument's and model's error included. shown : (m,) true values."""
    read = noise(check, shown, rng)
    if check.is_look:
        share = np.bincount(read.astype(int), minlength=len(check.answers)) / max(len(read), 1)
        return Expected(
            check.id,
            None,
            None,
            None,
            0.0,
            {a.name: float(s) for a, s in zip(check.answers, share, strict=True)},
        )
    # Nearest ranks: over-range readings are infinite and cannot be interpolated.
    low, middle, high = np.quantile(read, [0.05, 0.5, 0.95], method="nearest")
    return Expected(check.id, float(low), float(middle), float(high), float(np.isinf(read).mean()), {})


def sample(
    cloud: Cloud, rng: np.random.Generator, rows: npt.NDArray[np.intp] | None = None
) -> npt.NDArray[np.intp]:
    """SAMPLE machines of a cloud by weight (rows of its population), from all or from `rows`."""
    among = np.arange(len(cloud.log_weight)) if rows is None else rows
    # Systematic picks: a machine that carries a tenth of the odds comes up in a tenth of the sample.
    weight = np.exp(cloud.log_weight[among] - cloud.log_weight[among].max())
    edges = np.cumsum(weight)
    at = (np.arange(SAMPLE) + rng.random()) / SAMPLE * edges[-1]
    return np.asarray(among[np.minimum(np.searchsorted(edges, at, side="right"), len(among) - 1)])


def after_repair(
    place: World, cloud: Cloud, faults: tuple[str, ...], checks: tuple[str, ...], rng: np.random.Generator
) -> Mapping[str, Shown]:
    """True values of checks on machines like this one that have these faults, once they are cured, check id -> (SAMPLE,).

    A consequence that has come stays broken. Raises ValueError when no machine with these faults is left.
    """
    population = cloud.population
    names = np.array([set(faults) <= set(s) for s in population.faults])
    rows = np.flatnonzero(names[population.stratum] & np.isfinite(cloud.log_weight))
    if not len(rows):
        raise ValueError(
            f"after repair of {', '.join(faults)}: saw no machine left with it; name a cause that the odds still list"
        )
    picked = sample(cloud, rng, rows)
    stratum = [population.hypotheses[i] for i in population.stratum[picked]]
    drawn = place.batch(stratum, population.latent[picked].astype(np.float64), found=True)
    cured = np.isin(drawn.faults, [place.plan.faults.index(f) for f in faults])
    # The machine stays as it is, tolerances, house and other faults included; only the cured faults stop
    # acting.
    drawn.acting[cured] = False
    machines = place.machines(drawn)
    return {c: column(machines, place.description.checks[c]).astype(np.float32) for c in checks}
