"""What machines have of what checks need: a hot hose, a lock, a brush. A check whose thing is missing cannot be done."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

import numpy as np
import numpy.typing as npt

from tundish.appliance.records import Check
from tundish.diagnosis.odds import Cloud
from tundish.plan.cured import drawn_with
from tundish.plan.samples import Rows, faults_of
from tundish.population.build import Population, World
from tundish.population.needs import needed_parameters

Bools = npt.NDArray[np.bool_]
# Chance that somebody says a thing is not there that is. Our choice.
OVERLOOKED = 0.01


def present(place: World, population: Population, rows: Rows, checks: Sequence[Check]) -> Mapping[str, Bools]:
    """Check id -> (n,) whether each machine has what it needs."""
    needed = {name for check in checks for name in check.requires}
    values = {}
    if needed:
        drawn = drawn_with(place, population, rows, faults_of(place, population, rows), found=True)
        machines = place.machines(drawn, needed_parameters(place.description, needed))
        values = {name: machines.value(name) for name in needed}
    parameters = place.description.parameters
    found = {}
    for check in checks:
        there = np.ones(len(rows), dtype=np.bool_)
        for name, value in check.requires.items():
            there &= values[name] == parameters[name].names.index(value)
        found[check.id] = there
    return found


def lacks(there: Bools) -> npt.NDArray[np.float64]:
    """Chance that each machine is said not to have it, (n,)."""
    return np.where(there, OVERLOOKED, 1.0)


def without(place: World, cloud: Cloud, lacking: Iterable[str]) -> Cloud:
    """The cloud once these checks were said not to be possible, for want of what they need.

    Something not described lacks it as often as the machines of the cloud do: what a machine is made with is no fault.
    """
    checks = [place.description.checks[name] for name in sorted(lacking)]
    # Several checks may want one thing; that it is missing is known once
    asked = list({tuple(check.requires.items()): check for check in checks}.values())
    if not asked:
        return cloud
    every = np.arange(cloud.population.size)
    weight, unknown = cloud.log_weight, cloud.log_unknown
    for there in present(place, cloud.population, every, asked).values():
        said = lacks(there)
        share = _mean(weight, said)
        with np.errstate(divide="ignore"):
            weight, unknown = weight + np.log(said), unknown + float(np.log(share))
    return Cloud(cloud.population, weight, unknown)


def _mean(log_weight: npt.NDArray[np.float64], values: npt.NDArray[np.float64]) -> float:
    top = log_weight.max(initial=-np.inf)
    if not np.isfinite(top):
        return float(values.mean()) if len(values) else 1.0
    weight = np.exp(log_weight - top)
    return float(weight @ values / weight.sum())
