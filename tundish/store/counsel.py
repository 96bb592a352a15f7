"""From a call's events to advice: its odds, where it stands, and its market's shop brought to the planner."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from tundish.appliance.records import Description
from tundish.call.fold import CallState
from tundish.call.hazards import cure, hazards, safety_of, shown
from tundish.call.readings import for_odds, lacking, stages
from tundish.call.safety import given_back
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
from tundish.plan.standing import Proved, Standing
from tundish.plan.states import Safety
from tundish.plan.tree import Choose, Cut, Node, tree
from tundish.plan.wired import Wired
from tundish.population.build import World
from tundish.store.desk import Diagnosis, diagnose, matter_of
from tundish.store.settings import NOTHING, Own, shop_of
from tundish.store.shelf import SEED, SIZE, Tell
from tundish.store.verdict import Repaired, judge, sorted_out
from tundish.van.catalogue import part_of
from tundish.van.stock import Levels


@dataclass(frozen=True)
class Asked:
    """How advice is asked. qualified : for live work. exact : the exact planner. phone : the visit has not begun.

    own : what the shop set itself; with nothing set its figures are the usual ones of the call's market. learned : file of what
    was learned, the user's own if None. stock : levels of the parts that are counted; others are held to be on the van by price.
    """

    qualified: bool = False
    exact: bool = False
    phone: bool = False
    size: int = SIZE
    own: Own = NOTHING
    learned: Path | None = None
    stock: Levels = field(default_factory=dict)


@dataclass(frozen=True, eq=False)
class Counsel:
    """What the planner is asked about.

    found : odds before any repair, with all readings of the call. left : the machine right after the last repair, or as
    found. start : the same once the test after it is counted. cloud : the machine as it is now. halt : why nothing is
    planned, "" when it is.
    """

    state: CallState
    found: Diagnosis
    start: Cloud
    cloud: Cloud
    shop: Shop
    standing: Standing
    asked: Asked
    halt: str
    left: Cloud

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
    missing = lacking(state)
    found = diagnose(
        matter_of(state),
        first.readings,
        folder,
        size=asked.size,
        progress=progress,
        tell=tell,
        missing=missing,
        learned=asked.learned,
    )
    market, family = found.description.markets[found.matter.market], found.description.family
    shop = shop_of(asked.own, market, family)
    held = on_van(found.description, asked.stock, shop.currency)
    shop = replace(shop, qualified=asked.qualified or shop.qualified, held=held)
    ways = followed(found.place, found.now.cloud, state)
    # What was read later is no part of the first odds, but asks for the same notices
    found = replace(found, readings=tuple(r for stage in (first, *later) for r in stage.readings))
    standing = standing_of(state, found.description, phone=asked.phone)
    standing = with_proof(found.place, state, ways, shop, standing)
    halt = halted(state, found.description)
    return Counsel(state, found, ways.start, ways.now, shop, standing, asked, halt, ways.left)


def on_van(description: Description, stock: Levels, currency: str) -> dict[str, bool]:
    """Fault -> whether its part is on the van, for the parts that are counted."""
    keys = {f.id: part_of(description, f, currency) for f in description.faults.values()}
    return {fault: stock[key].on_van > 0 for fault, key in keys.items() if key is not None and key in stock}


@dataclass(frozen=True, eq=False)
class Followed:
    """A machine followed through its repairs. left, start : after the last one, without and with its test. now : with the readings."""

    left: Cloud
    start: Cloud
    now: Cloud


def followed(place: World, cloud: Cloud, state: CallState) -> Followed:
    """The machine of a call through all its repairs. cloud : as it was before the first, with the readings until then."""
    checks = place.description.checks
    ways = Followed(cloud, cloud, cloud)
    _, *later = stages(state)
    for number, stage in enumerate(later, start=1):
        left = after_repair(place, ways.now, stage.repaired)
        start = left
        if stage.works is not None:
            start = after_repair(place, ways.now, stage.repaired, works=stage.works)
        # A reading that proves nothing may not speak for the repair in the odds either
        last = number == len(later)
        readings = for_odds(sorted_out(state, place.description)[0]) if last else stage.readings
        ways = Followed(left, start, weigh(start, checks, readings))
    return ways


def with_proof(place: World, state: CallState, ways: Followed, shop: Shop, standing: Standing) -> Standing:
    """Where the call stands, with how far its last repair is proven: the record and the plan must say the same."""
    last = stages(state)[-1]
    if not last.repaired or standing.safety.hazard == "seen":
        return standing
    found = judge(place, state, Repaired(last.repaired, ways.left, ways.start), shop, standing)
    # Readings that would leave it unproven all the same are not asked for
    return replace(standing, proof=Proved(found.settled, found.wanted))


def after_repair(place: World, cloud: Cloud, faults: Sequence[str], *, works: bool | None = None) -> Cloud:
    """The cloud of a machine right after a repair of faults. works : what the test showed, None when it was not tried."""
    return as_left(place, cloud, faults, np.random.default_rng(SEED), works=works)


def standing_of(state: CallState, description: Description, *, phone: bool = False) -> Standing:
    """Where a call stands. A machine whose state is not tracked is taken as it usually stands on arrival, no hazard seen."""
    counted, _ = sorted_out(state, description)
    read = {fact.body.check for fact in counted} | lacking(state)
    return Standing(
        safety=safety_of(description, state) or Safety(water=water_of(description)),
        # What was told is known like an answer: it is not asked again
        read=frozenset(read | {*state.circumstances, *state.denied}),
        repaired=tuple(fact.body.fault for fact in state.repairs),
        parts=frozenset(state.parts),
        phone=phone,
        works=state.works,
        refer=tuple(dict.fromkeys(h.refer for h in hazards(description, state))),
    )


def halted(state: CallState, description: Description) -> str:
    """Why nothing more is planned, with what to do; empty when there is something to plan."""
    if state.ended is not None:
        return f"The call has ended: {state.ended.body.as_}."
    found = hazards(description, state)
    if found:
        return f"Stop: {shown(found)}. {cure(found)}."
    if state.safety is None:
        return ""
    if state.safety.hazard == "seen":
        return "A hazard was seen: isolate the machine, put it out of use, tell the customer in writing and hand over."
    if state.safety.use != "in hand":
        return f"The machine is {state.safety.use}: {given_back(state.safety)}."
    return ""
