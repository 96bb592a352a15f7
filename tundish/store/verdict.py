"""The verdict on a repair: whether the test and the readings since, taken as the customer uses the machine, prove it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from tundish.appliance.records import Check, Description
from tundish.call.bodies import Corrected, ReadingTaken
from tundish.call.fold import CallState, Fact, fold
from tundish.call.readings import for_odds
from tundish.diagnosis.odds import Cloud, weigh
from tundish.diagnosis.reading import NOT_THERE
from tundish.plan.proof import Proof, prove, settle, taken_as_used
from tundish.plan.samples import faults_of
from tundish.plan.shop import Shop
from tundish.plan.standing import Standing
from tundish.plan.troubling import anything_left, troubled
from tundish.population.build import World
from tundish.store.shelf import SEED

# Readings as used tell something when they bring the chance that a cause is left down to this share of it. Our choice.
TELLING = 0.8
# A cause that may be left is named from this chance on, and so many at once. Our choice.
COUNTS, NAMED = 0.005, 4
Facts = tuple[Fact[ReadingTaken], ...]


@dataclass(frozen=True, eq=False)
class Repaired:
    """A repair to be judged.

    faults : repaired. left : the machine right after it. tried : the same once the test is counted, if there was one.
    planned : True when the repair is not made yet.
    """

    faults: tuple[str, ...]
    left: Cloud
    tried: Cloud
    planned: bool = False


@dataclass(frozen=True, eq=False)
class Verdict:
    """Whether a repair is proven.

    repaired : the faults in question. planned : True when the repair is not made yet. at_repair : chance that a cause is
    left right after the repair. now : with the test and the readings since. used : as-used readings since. misplaced :
    checks whose readings do not count, since the machine did not stand as used. further : the checks that would prove it.
    missing : what is missing in what was found. unready : how the machine stands otherwise than used, "" when it does not.
    settle : checks beside those of `further` that tell whether a second cause is there; settled_left : chance that one is
    left once all of them are well. others : (cause, chance) that may be left, likeliest first. mild : chance that a cause is
    there with which the machine does what it should all the same. works : what the test since the repair showed, None for none.
    """

    repaired: tuple[str, ...]
    planned: bool
    at_repair: float
    now: float
    used: Facts
    misplaced: tuple[str, ...]
    further: Proof
    lacking: tuple[str, ...]
    unready: str
    settle: tuple[str, ...] = ()
    settled_left: float = 1.0
    others: tuple[tuple[str, float], ...] = ()
    mild: float = 0.0
    works: bool | None = None

    @property
    def wanted(self) -> tuple[str, ...]:
        """The checks that would prove it, all being well; none where no checks would."""
        if self.further.proven:
            return self.further.checks
        return (*self.further.checks, *self.settle) if self.settle else ()

    @property
    def settled(self) -> bool:
        """True when what was found proves it, wherever the machine stands now."""
        return not self.lacking

    @property
    def missing(self) -> tuple[str, ...]:
        """All that is missing, how the machine stands included."""
        return (*self.lacking, self.unready) if self.unready else self.lacking

    @property
    def proven(self) -> bool:
        """True when nothing is missing."""
        return not self.missing


def judge(place: World, state: CallState, repair: Repaired, shop: Shop, standing: Standing) -> Verdict:
    """The verdict on a repair of a call. standing : as the planner has it; its `read` and `works` are those since the repair."""
    checks = place.description.checks
    counted, misplaced = ((), ()) if repair.planned else sorted_out(state, place.description)
    readings = for_odds(counted)
    used = tuple(fact for fact in counted if taken_as_used(checks[fact.body.check]))
    sick = troubled(place, repair.left.population, repair.faults)
    at_repair = chance_of(sick, repair.left)
    # What the readings tell is held apart from what the test told
    read_only = chance_of(sick, weigh(repair.left, checks, readings)) if used else at_repair
    telling = bool(used) and read_only <= TELLING * at_repair
    here = replace(standing, works=None) if repair.planned else standing
    cloud, rng = weigh(repair.tried, checks, readings), np.random.default_rng(SEED)
    # The same machines, unless the caller followed them in another way
    if not np.array_equal(cloud.population.present, repair.left.population.present):
        sick = troubled(place, cloud.population, repair.faults)
    further = prove(place, cloud, shop, here, repair.faults, rng, shown=telling, sick=sick)
    seen = any(fact.body.check in further.showing for fact in used)
    if seen and not telling:
        rng = np.random.default_rng(SEED)
        further = prove(place, cloud, shop, here, repair.faults, rng, shown=True, sick=sick)
    found = Verdict(
        repair.faults,
        repair.planned,
        at_repair,
        further.before,
        used,
        misplaced,
        further,
        (),
        _unready(state),
    )
    shown = telling or seen or (not further.showing and here.works is True)
    found = replace(found, works=here.works, others=_others(place, cloud, sick), mild=_mild(place, cloud, sick))
    if not further.proven and here.works is not False and (shown or further.checks):
        more, left = settle(place, cloud, shop, here, sick, given=further.checks)
        # What would not be enough either is not asked for
        found = replace(found, settle=more, settled_left=left) if left <= shop.limit else found
    return replace(found, lacking=tuple(_lacking(found, place, shop, here, shown=shown)))


def sorted_out(state: CallState, description: Description) -> tuple[Facts, tuple[str, ...]]:
    """Readings since the last repair that count, and the checks of those that do not."""
    counted, misplaced = [], []
    for fact in state.readings:
        check = description.checks[fact.body.check]
        if fact.body.answer == NOT_THERE:
            continue
        if state.repairs and taken_as_used(check) and _out_of_use(state, fact.event, check):
            misplaced.append(check.id)
        else:
            counted.append(fact)
    read = {fact.body.check for fact in counted}
    return tuple(counted), tuple(c for c in dict.fromkeys(misplaced) if c not in read)


def chance_of(there: np.ndarray, cloud: Cloud) -> float:
    """Chance that something is left, something not described among it. there : (m,) whether it is, machine by machine."""
    log_weight = np.append(cloud.log_weight, cloud.log_unknown)
    weight = np.exp(log_weight - log_weight.max())
    return float(weight[np.append(there, True)].sum() / weight.sum())


def _others(place: World, cloud: Cloud, sick: np.ndarray) -> tuple[tuple[str, float], ...]:
    """(cause, chance) of those with which the complaint is still there."""
    held: dict[str, float] = {}
    log_weight = np.append(cloud.log_weight, cloud.log_unknown)
    weight = np.exp(log_weight - log_weight.max()) / np.exp(log_weight - log_weight.max()).sum()
    rows = np.flatnonzero(sick)
    for faults, share in zip(faults_of(place, cloud.population, rows), weight[rows], strict=True):
        for fault in faults:
            held[fault] = held.get(fault, 0.0) + float(share)
    likely = sorted(held.items(), key=lambda item: (-item[1], item[0]))
    return tuple((fault, chance) for fault, chance in likely if chance >= COUNTS)


def _mild(place: World, cloud: Cloud, sick: np.ndarray) -> float:
    there = anything_left(place, cloud.population)
    return chance_of(there, cloud) - chance_of(sick, cloud)


def _out_of_use(state: CallState, event: str, check: Check) -> bool:
    """Whether the machine stood otherwise than used when an event was written; no, when nothing was tracked."""
    # Corrections written later still tell how it stood then
    known = [e for e in state.events if e.id <= event or isinstance(e.body, Corrected)]
    then = fold(known).safety
    if then is None:
        return False
    # What asks for no state of its own tells of a machine that runs only when it runs
    off = check.state == "NONE" and then.power != "on"
    return off or then.place != "in place" or bool(then.panels)


def _unready(state: CallState) -> str:
    here = state.safety
    if here is None or here.use == "returned to use" or (here.place == "in place" and not here.panels):
        return ""
    return f"the machine is not as used: {here.name}"


def _lacking(found: Verdict, place: World, shop: Shop, standing: Standing, *, shown: bool) -> Iterator[str]:
    if found.planned:
        yield "no repair is recorded"
        return
    if standing.works is False:
        yield "the test after the repair: it still fails"
    if not shown:
        yield from _not_shown(found)
    if found.now > shop.limit:
        faults = place.description.faults
        named = ", ".join(f"{f} {faults[f].part} {_percent(chance)}" for f, chance in found.others[:NAMED])
        which = f"; it may be {named}" if named else ""
        yield f"a cause is left with {_percent(found.now)}, more than {_percent(shop.limit)}{which}"


def _not_shown(found: Verdict) -> Iterator[str]:
    for check in found.misplaced:
        yield f"{check} was read with the machine pulled out, open or off, which proves nothing"
    if found.used:
        yield f"what was read since tells little: {_percent(found.at_repair)} before it, {_percent(found.now)} now"
    elif found.further.showing:
        yield "nothing was read as the customer uses it since the repair"
    else:
        yield "no test as the customer uses it is recorded since the repair"


def _percent(chance: float) -> str:
    return f"{100 * chance:.1f} %"
