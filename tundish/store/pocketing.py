"""A call packed for the phone: its machines before and after its readings, its shop and its state brought to `plan.pocket`."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from tundish.call.fold import CallState
from tundish.call.readings import for_odds, lacking, stages
from tundish.diagnosis.odds import Cloud, start, weigh
from tundish.diagnosis.regrow import Progress
from tundish.plan.errors import PlanError
from tundish.plan.pocket import Case, pack
from tundish.plan.pocket_draw import SIZE
from tundish.plan.pocket_left import Left, chance_to_work
from tundish.plan.shop import Shop
from tundish.plan.standing import Standing
from tundish.plan.troubling import troubled
from tundish.store.counsel import Asked, after_repair, followed, halted, on_van, standing_of
from tundish.store.desk import Diagnosis, diagnose, matter_of, prior_of
from tundish.store.settings import shop_of
from tundish.store.shelf import SEED, Tell
from tundish.store.verdict import Repaired, judge, sorted_out


def packed_call(
    state: CallState,
    folder: Path,
    asked: Asked,
    *,
    planned: Sequence[str] = (),
    size: int = SIZE,
    progress: Progress | None = None,
    tell: Tell = lambda words: None,
) -> bytes:
    """The bytes of a packed call. folder : where populations are kept. size : machines that go into the pocket.

    planned : causes that are about to be repaired; the machines are then those that this repair would leave. The same events
    give the same bytes. PlanError where a danger stands or the call has ended.
    """
    first, *later = stages(state)
    # What a machine lacks is weighed by the kernel, as it may be taken back on the phone
    found = diagnose(
        matter_of(state),
        first.readings,
        folder,
        size=asked.size,
        progress=progress,
        tell=tell,
        learned=asked.learned,
    )
    stopped = halted(state, found.description)
    if stopped:
        raise PlanError(seen=stopped, allowed="a call in which work may go on", do="see the page Find")
    market = found.description.markets[found.matter.market]
    shop = shop_of(asked.own, market, found.description.family)
    held = on_van(found.description, asked.stock, shop.currency)
    shop = replace(shop, qualified=asked.qualified or shop.qualified, held=held)
    standing = standing_of(state, found.description)
    if later or planned:
        case = _left(found, state, shop, standing, tuple(planned))
    else:
        case = Case(found.place, _before(found), found.now.cloud, first.readings, shop, standing)
    return pack(case, np.random.default_rng(SEED), size=size)


def _before(found: Diagnosis) -> Cloud:
    """The cloud before any reading."""
    matter, population = found.matter, found.steps[0].cloud.population
    complaint = found.description.complaints[matter.complaint]
    return start(population, prior_of(found.description, complaint, matter, population.hypotheses))


def _left(
    found: Diagnosis, state: CallState, shop: Shop, standing: Standing, planned: tuple[str, ...]
) -> Case:
    """The machine as the last repair left it, or as one that is planned would. The phone weighs its test and what was read since."""
    place, last = found.place, stages(state)[-1]
    faults = planned or last.repaired
    was = followed(place, found.now.cloud, state).now if planned else _until_last(found, state)
    left, passed = (after_repair(place, was, faults, works=works) for works in (None, True))
    repair = Repaired(faults, left, left, planned=bool(planned))
    # A repair that is planned makes all readings so far those of another machine
    known = lacking(state) | (
        standing.read - {f.body.check for f in state.readings} if planned else standing.read
    )
    judged = judge(place, state, repair, shop, replace(standing, works=None, read=known))
    proof = Left(
        repaired=faults,
        works=chance_to_work(left, passed),
        troubled=troubled(place, left.population, faults),
        limit=shop.limit,
        at_repair=judged.at_repair,
        showing=judged.further.showing,
        wanted=judged.further.checks,
        settle=judged.settle,
    )
    readings = () if planned else for_odds(sorted_out(state, place.description)[0])
    return Case(place, left, left, readings, shop, standing, proof)


def _until_last(found: Diagnosis, state: CallState) -> Cloud:
    """The machine before its last repair, with all that was found until then."""
    cloud, (_, *later) = found.now.cloud, stages(state)
    for stage in later[:-1]:
        left = after_repair(found.place, cloud, stage.repaired, works=stage.works)
        cloud = weigh(left, found.description.checks, stage.readings)
    return cloud
