"""From a call's events to advice: its odds, where it stands, and its market's shop brought to the planner."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from tundish.appliance.records import Description
from tundish.call.fold import CallState
from tundish.call.readings import stages
from tundish.diagnosis.odds import Cloud, weigh
from tundish.diagnosis.regrow import Progress
from tundish.plan.advise import USUAL, Advice, advise, planned
from tundish.plan.base import worth
from tundish.plan.change import Floats
from tundish.plan.choice import FOLLOWED
from tundish.plan.demands import water_of
from tundish.plan.errors import PlanError
from tundish.plan.frame import Option, Situation
from tundish.plan.guide import after_that, guide, looked_through
from tundish.plan.lookahead import Scout
from tundish.plan.lump import gather
from tundish.plan.proof import as_left
from tundish.plan.shop import Shop
from tundish.plan.standing import Standing
from tundish.plan.states import Safety
from tundish.plan.tree import Choose, Cut, Node, tree
from tundish.plan.wired import Wired
from tundish.population.build import World
from tundish.store.desk import Diagnosis, diagnose, matter_of
from tundish.store.settings import NOTHING, Own, shop_of
from tundish.store.shelf import SEED, SIZE, Tell


@dataclass(frozen=True)
class Asked:
    """How advice is asked. qualified : for live work. exact : the exact planner. phone : the visit has not begun.

    own : what the shop set itself; with nothing set its figures are the usual ones of the call's market.
    """

    qualified: bool = False
    exact: bool = False
    phone: bool = False
    size: int = SIZE
    own: Own = NOTHING


@dataclass(frozen=True, eq=False)
class Counsel:
    """What the planner is asked about.

    found : odds before any repair, with all readings of the call. start : the machine right after the last repair, or
    as found. cloud : the machine as it is now. halt : why nothing is planned, "" when it is.
    """

    state: CallState
    found: Diagnosis
    start: Cloud
    cloud: Cloud
    shop: Shop
    standing: Standing
    asked: Asked
    halt: str

    def advice(self) -> Advice:
        """The next action and the others. PlanError when the exact planner is asked and the problem is too large."""
        place, budget = self.found.place, USUAL
        return advise(
            place, self.cloud, self.shop, self.standing, budget=budget, exact=self.asked.exact, seed=SEED
        )

    def plan(self, depth: int) -> tuple[Node, Wired]:
        """The plan as a tree, so many actions deep, and what its names mean; it begins with the action that `advice` proposes."""
        place, exact = self.found.place, self.asked.exact
        ready = planned(place, self.cloud, self.shop, self.standing, budget=USUAL, exact=exact, seed=SEED)
        best = ready.ranked[0]
        first = best.option, best.cost
        return tree(ready.scout.frame, _following(ready.scout), Cut(depth), first=first), ready.wired


def _following(ready: Scout) -> Choose:
    """What the course that was paid for does after each outcome, as `advice` tells it, and what it then costs."""

    def choose(situation: Situation, weights: Floats) -> tuple[Option, float]:
        lay, base = guide(ready, situation), ready.base
        option = after_that(lay, situation, weights)
        if option is None:
            raise PlanError(
                seen=f"nothing lawful to do in {ready.frame.problem.access.names[situation.node]}",
                allowed="at least one ending",
                do="record what was found otherwise, or hand over",
            )
        if option.action not in lay.checks:
            return option, worth(base, situation, gather(base.lumps, weights))[0]
        cost = looked_through(lay, situation, weights, [option], exact=True, followed=FOLLOWED)
        return option, float(cost[0])

    return choose


def counsel(
    state: CallState,
    folder: Path,
    asked: Asked,
    *,
    progress: Progress | None = None,
    tell: Tell = lambda words: None,
) -> Counsel:
    """What the planner is asked about a call. folder : where populations are kept.

    ValueError for a call without opening, or where the shop's money is not the market's.
    """
    first, *later = stages(state)
    found = diagnose(matter_of(state), first.readings, folder, size=asked.size, progress=progress, tell=tell)
    market, family = found.description.markets[found.matter.market], found.description.family
    shop = shop_of(asked.own, market, family)
    shop = replace(shop, qualified=asked.qualified or shop.qualified)
    start = cloud = found.now.cloud
    for stage in later:
        start = after_repair(found.place, cloud, stage.repaired)
        cloud = weigh(start, found.description.checks, stage.readings)
    # What was read later is no part of the first odds, but asks for the same notices
    found = replace(found, readings=tuple(r for stage in (first, *later) for r in stage.readings))
    standing = standing_of(state, found.description, phone=asked.phone)
    return Counsel(state, found, start, cloud, shop, standing, asked, halted(state))


def after_repair(place: World, cloud: Cloud, faults: Sequence[str]) -> Cloud:
    """The cloud of a machine right after a repair of faults; whether it works is for the readings to say."""
    return as_left(place, cloud, faults, np.random.default_rng(SEED), works=None)


def standing_of(state: CallState, description: Description, *, phone: bool = False) -> Standing:
    """Where a call stands. A machine whose state is not tracked is taken as it usually stands on arrival, no hazard seen."""
    read = {fact.body.check for fact in state.readings}
    return Standing(
        safety=state.safety or Safety(water=water_of(description)),
        # What was told is known like an answer: it is not asked again
        read=frozenset(read | {*state.circumstances, *state.denied}),
        repaired=tuple(fact.body.fault for fact in state.repairs),
        parts=frozenset(state.parts),
        phone=phone,
    )


def halted(state: CallState) -> str:
    """Why nothing more is planned, with what to do; empty when there is something to plan."""
    if state.ended is not None:
        return f"The call has ended: {state.ended.body.as_}."
    if state.safety is None:
        return ""
    if state.safety.hazard == "seen":
        return "A hazard was seen: isolate the machine, put it out of use, tell the customer in writing and hand over."
    if state.safety.use != "in hand":
        return f"The machine is {state.safety.use}: end the call, or record that it is in hand again."
    return ""
