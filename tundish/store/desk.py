"""The desk: a call's events, its family and its population brought together into the course of the call."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from tundish.appliance.records import Complaint, Description
from tundish.call.fold import CallState
from tundish.diagnosis.course import Growth, Step, course
from tundish.diagnosis.misfit import Misfit, misfit
from tundish.diagnosis.odds import odds, start
from tundish.diagnosis.reading import Reading
from tundish.diagnosis.regrow import Progress
from tundish.plan.lacking import without
from tundish.population.build import World, world
from tundish.population.hypotheses import Hypothesis, priors, shares
from tundish.store.shelf import SEED, SIZE, Tell, cloud_for, key_of, population_for
from tundish.store.taught import AS_SHIPPED, Whose, described


@dataclass(frozen=True)
class Matter:
    """What a call is about, apart from its readings."""

    family: str
    market: str
    complaint: str
    age: float | None
    told: tuple[str, ...]


@dataclass(frozen=True)
class Diagnosis:
    """A call's course, and whether its readings fit.

    steps : before any reading, then after each. whose : shares the odds began with. repaired : causes that were
    repaired; then the steps begin right after the last repair, and the odds are those of the machine as it is now.
    """

    matter: Matter
    place: World
    steps: tuple[Step, ...]
    readings: tuple[Reading, ...]
    fit: Misfit
    whose: Whose = AS_SHIPPED
    repaired: tuple[str, ...] = ()

    @property
    def description(self) -> Description:
        """The family's description."""
        return self.place.description

    @property
    def now(self) -> Step:
        """The step after the last reading."""
        return self.steps[-1]


def matter_of(state: CallState) -> Matter:
    """What a call is about. Raises ValueError for a call whose opening is missing."""
    if state.opened is None:
        raise ValueError(
            f"call {state.call}: saw no opening; an opened call is needed; merge the device that opened it, or open it"
        )
    body = state.opened.body
    return Matter(body.family, body.market, body.complaint, body.age, state.circumstances)


def diagnose(
    matter: Matter, readings: tuple[Reading, ...], folder: Path, *, size: int = SIZE, progress: Progress | None = None,
    tell: Tell = lambda words: None, missing: frozenset[str] = frozenset(), learned: Path | None = None,
) -> Diagnosis:  # fmt: skip
    """The course of a call. folder : where populations are kept. tell : is told of trouble with the cache.

    missing : checks that could not be done because the machine has not what they need. learned : file of what was learned, the
    user's own if None.
    """
    description, whose = described(matter.family, learned)
    place = world(description, matter.market)
    record, checks = place.description.complaints[matter.complaint], place.description.checks
    population = population_for(place, matter.complaint, folder, size=size, tell=tell)
    prior = start(population, prior_of(place.description, record, matter, population.hypotheses))
    # A regrown cloud depends on the population, on what was told, and on every reading so far.
    key = f"{key_of(place, matter.complaint, size, SEED)} {matter}"
    growth = Growth(SEED, progress, lambda words, make: cloud_for(f"{key} {words}", make, folder, tell))
    # Machines drawn anew have to lack it too, so it is weighed last
    steps = [_lacking(place, step, missing) for step in course(place, prior, readings, growth)]
    return Diagnosis(matter, place, tuple(steps), readings, misfit(steps[-1].cloud, steps[-1].odds, checks, readings), whose)


def _lacking(place: World, step: Step, missing: frozenset[str]) -> Step:
    if not missing:
        return step
    cloud = without(place, step.cloud, missing)
    return replace(step, cloud=cloud, odds=odds(cloud))


def prior_of(description: Description, complaint: Complaint, matter: Matter, kept: Sequence[Hypothesis]) -> list[float]:
    """The chance of each hypothesis before any reading, from the age and what was told."""
    return priors(kept, complaint, shares(description, complaint, matter.age, matter.told))
