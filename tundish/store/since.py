"""A call's course since its last repair: the odds of the machine as that repair left it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from tundish.call.fold import CallState
from tundish.call.readings import for_odds, lacking, stages
from tundish.diagnosis.course import Step
from tundish.diagnosis.misfit import misfit
from tundish.diagnosis.odds import Cloud, Odds, odds, weigh
from tundish.diagnosis.regrow import Progress
from tundish.plan.troubling import anything_left
from tundish.population.build import World
from tundish.store.counsel import Counsel, followed
from tundish.store.desk import Diagnosis, diagnose, matter_of
from tundish.store.shelf import SIZE, Tell
from tundish.store.verdict import chance_of, sorted_out


def diagnose_now(
    state: CallState,
    folder: Path,
    *,
    size: int = SIZE,
    progress: Progress | None = None,
    tell: Tell = lambda words: None,
    learned: Path | None = None,
) -> Diagnosis:
    """The course of a call since its last repair; of the whole call while nothing was repaired. learned : as `diagnose` takes it."""
    first, *later = stages(state)
    found = diagnose(
        matter_of(state),
        first.readings,
        folder,
        size=size,
        progress=progress,
        tell=tell,
        missing=lacking(state),
        learned=learned,
    )
    return _since(found, state, followed(found.place, found.now.cloud, state).start) if later else found


def now_of(asked: Counsel) -> Diagnosis:
    """The same, from what the planner was asked about."""
    return _since(asked.found, asked.state, asked.start) if asked.state.repairs else asked.found


def odds_as_left(place: World, cloud: Cloud) -> Odds:
    """Odds of a machine that was repaired: nothing is wrong where no cause is left, whatever was wrong before."""
    known = odds(cloud)
    return replace(known, nothing=1.0 - chance_of(anything_left(place, cloud.population), cloud))


def _since(found: Diagnosis, state: CallState, start: Cloud) -> Diagnosis:
    place, checks = found.place, found.description.checks
    readings = for_odds(sorted_out(state, found.description)[0])
    steps = [Step(None, start, odds_as_left(place, start))]
    for number in range(len(readings)):
        cloud = weigh(start, checks, readings[: number + 1])
        steps.append(Step(readings[number], cloud, odds_as_left(place, cloud)))
    now = steps[-1]
    return Diagnosis(
        matter=found.matter,
        place=place,
        steps=tuple(steps),
        # What proves nothing was read all the same, and is shown
        readings=for_odds(state.readings),
        fit=misfit(now.cloud, now.odds, checks, readings),
        whose=found.whose,
        repaired=_causes(state),
    )


def _causes(state: CallState) -> tuple[str, ...]:
    return tuple(dict.fromkeys(fact.body.fault for fact in state.repairs))
