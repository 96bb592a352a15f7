"""A call packed for the phone: its machines before and after its readings, its shop and its state brought to `plan.pocket`."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np

from tundish.call.fold import CallState
from tundish.call.readings import stages
from tundish.diagnosis.odds import Cloud, start
from tundish.diagnosis.regrow import Progress
from tundish.plan.errors import PlanError
from tundish.plan.pocket import Case, pack
from tundish.plan.pocket_draw import SIZE
from tundish.store.counsel import Asked, halted, standing_of
from tundish.store.desk import Diagnosis, diagnose, matter_of, prior_of
from tundish.store.settings import shop_of
from tundish.store.shelf import SEED, Tell


def packed_call(
    state: CallState,
    folder: Path,
    asked: Asked,
    *,
    size: int = SIZE,
    progress: Progress | None = None,
    tell: Tell = lambda words: None,
) -> bytes:
    """The bytes of a packed call. folder : where populations are kept. size : machines that go into the pocket.

    The same events give the same bytes. PlanError where there is nothing to pack: after a repair, which makes another machine that
    is simulated anew, and where a danger stands or the call has ended.
    """
    first, *later = stages(state)
    if later:
        raise PlanError(
            seen=f"a repair of {', '.join(later[-1].repaired)}", allowed="a call before its first repair", do="go on with the server"
        )  # fmt: skip
    # What a machine lacks is weighed by the kernel, as it may be taken back on the phone
    found = diagnose(matter_of(state), first.readings, folder, size=asked.size, progress=progress, tell=tell)
    stopped = halted(state, found.description)
    if stopped:
        raise PlanError(seen=stopped, allowed="a call in which work may go on", do="see the page Find")
    market = found.description.markets[found.matter.market]
    shop = shop_of(asked.own, market, found.description.family)
    shop = replace(shop, qualified=asked.qualified or shop.qualified)
    standing = standing_of(state, found.description)
    made = Case(found.place, _before(found), found.now.cloud, first.readings, shop, standing)
    return pack(made, np.random.default_rng(SEED), size=size)


def _before(found: Diagnosis) -> Cloud:
    """The cloud before any reading."""
    matter, population = found.matter, found.steps[0].cloud.population
    complaint = found.description.complaints[matter.complaint]
    return start(population, prior_of(found.description, complaint, matter, population.hypotheses))
