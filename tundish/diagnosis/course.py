"""The course of a call: the cloud and the odds after each reading.

Readings are weighed one after the other; where a hypothesis runs out of machines it is regrown from all readings so far. The random
numbers of a regrowth come from the readings themselves, so the same readings in the same order give the same odds to the last digit.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from zlib import crc32

import numpy as np

from tundish.diagnosis.odds import Cloud, Odds, odds, weigh
from tundish.diagnosis.reading import Reading
from tundish.diagnosis.regrow import Progress, needed, regrow
from tundish.population.build import World


@dataclass(frozen=True)
class Step:
    """What is known after a reading (`reading` is None before the first). `regrown`: hypotheses drawn anew here."""

    reading: Reading | None
    cloud: Cloud
    odds: Odds
    regrown: tuple[str, ...] = ()


@dataclass(frozen=True)
class Growth:
    """How machines are regrown. progress : is told the share done. remember : gives a cloud by its key, or makes it and keeps it."""

    seed: int
    progress: Progress | None = None
    remember: Callable[[str, Callable[[], Cloud]], Cloud] = lambda key, make: make()


def course(place: World, prior: Cloud, readings: Sequence[Reading], growth: Growth) -> list[Step]:
    """Steps from the prior through every reading, (len(readings) + 1)."""
    steps = [Step(None, prior, odds(prior))]
    for number in range(1, len(readings) + 1):
        steps.append(_next(place, prior, steps[-1].cloud, readings[:number], growth))
    return steps


def _next(place: World, prior: Cloud, before: Cloud, taken: Sequence[Reading], growth: Growth) -> Step:
    new, cloud = taken[-1], _added(place, before, taken)
    # Asked after every reading: a hypothesis that was well populated may just have lost its machines.
    chosen = needed(place, prior, cloud, taken)
    if not chosen:
        return Step(new, cloud, odds(cloud))

    def grown() -> Cloud:
        # The seed is the readings themselves, so replaying the call replays the machines.
        rng = np.random.default_rng([growth.seed, len(taken), crc32(repr(tuple(taken)).encode())])
        return regrow(place, prior, cloud, taken, chosen=chosen, rng=rng, progress=growth.progress)

    after = growth.remember(repr((growth.seed, tuple(taken))), grown)
    return Step(new, after, odds(after), tuple(prior.population.hypotheses[i].name for i in chosen))


def _added(place: World, before: Cloud, taken: Sequence[Reading]) -> Cloud:
    """The cloud with the last reading added. A repeat is weighed with its fellows: together, less what they weighed before."""
    new, checks = taken[-1], place.description.checks
    fellows = [r for r in taken[:-1] if r.check == new.check]
    cloud = weigh(before, checks, [*fellows, new])
    if not fellows:
        return cloud
    # Two identical infinities mean a machine that was out before and stays out.
    less = weigh(before, checks, fellows)
    with np.errstate(invalid="ignore"):
        weight = before.log_weight + (cloud.log_weight - less.log_weight)
    weight = np.where(np.isnan(weight), -np.inf, weight)
    return Cloud(before.population, weight, before.log_unknown + (cloud.log_unknown - less.log_unknown))
