"""Whether a repair is proven: the chance that a cause is left, from the readings taken since as the customer uses it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from tundish.appliance.records import Check
from tundish.call.bodies import Corrected, ReadingTaken
from tundish.call.errors import MoveError
from tundish.call.fold import CallState, Fact, fold
from tundish.call.readings import for_odds, stages
from tundish.diagnosis.explain import chance_of
from tundish.diagnosis.odds import Cloud, weigh
from tundish.plan.proof import AS_USED, Proof, prove
from tundish.plan.samples import faults_of
from tundish.population.build import World
from tundish.store.counsel import Counsel, after_repair
from tundish.store.shelf import SEED

# As-used readings tell something when they bring the chance that a cause is left down to this share of it. Our choice.
TELLING = 0.8


@dataclass(frozen=True, eq=False)
class Verdict:
    """Whether a repair is proven.

    repaired : the faults in question. planned : True when the repair is not made yet. at_repair, now : chance that a
    cause is left, right after the repair and with the readings since. used : as-used readings since. misplaced : checks
    whose readings do not count, since the machine stood out or open. further : the checks that would prove it.
    missing : what is missing; nothing when it is proven.
    """

    repaired: tuple[str, ...]
    planned: bool
    at_repair: float
    now: float
    used: tuple[Fact[ReadingTaken], ...]
    misplaced: tuple[str, ...]
    further: Proof
    missing: tuple[str, ...]

    @property
    def proven(self) -> bool:
        """True when nothing is missing."""
        return not self.missing


def proving(asked: Counsel, faults: tuple[str, ...] = ()) -> Verdict:
    """The verdict on a call's last repair; before any repair, on the repair of `faults` or of the likeliest cause."""
    last, place = stages(asked.state)[-1], asked.found.place
    planned = not last.repaired
    cured = last.repaired or faults or _likeliest(asked)
    start = after_repair(place, asked.start, cured) if planned else asked.start
    counted, misplaced = ((), ()) if planned else _counted(asked)
    cloud = weigh(start, place.description.checks, for_odds(counted))
    rng = np.random.default_rng(SEED)
    read = frozenset(fact.body.check for fact in counted)
    further = prove(place, cloud, asked.shop, replace(asked.standing, read=read), cured, rng)
    at_repair = _left(place, start)
    used = tuple(fact for fact in counted if as_used(place.description.checks[fact.body.check]))
    open_still = Verdict(cured, planned, at_repair, further.before, used, misplaced, further, ())
    return replace(open_still, missing=tuple(_missing(asked, open_still)))


def check_proven(asked: Counsel) -> None:
    """MoveError while a call may not be ended as proven; it names what is missing and what to read."""
    found = proving(asked)
    if not found.proven:
        checks = ", ".join(found.further.checks)
        raise MoveError(
            seen=f"the call ended as proven, UNPROVEN: {'; '.join(found.missing)}",
            allowed=f"a chance of at most {asked.shop.limit:.0%} that a cause is left, by readings as used",
            do=f"read {checks}, or end it in another way"
            if checks
            else "hand over, or end it in another way",
        )


def as_used(check: Check) -> bool:
    """Whether a check is taken as the customer uses the machine: in its place, closed, with water or power."""
    return check.state in AS_USED and not check.live and not set(check.access) - {"EXT"}


def _likeliest(asked: Counsel) -> tuple[str, ...]:
    faults = asked.found.description.faults
    found = max(faults, key=lambda fault: chance_of(asked.found.now.odds, fault))
    return (found,)


def _counted(asked: Counsel) -> tuple[tuple[Fact[ReadingTaken], ...], tuple[str, ...]]:
    """Readings since the repair that count, and the checks of those that do not."""
    counted, misplaced = [], []
    for fact in asked.state.readings:
        check = asked.found.description.checks[fact.body.check]
        if as_used(check) and _out_of_use(asked.state, fact.event):
            misplaced.append(check.id)
        else:
            counted.append(fact)
    return tuple(counted), tuple(misplaced)


def _out_of_use(state: CallState, event: str) -> bool:
    """Whether the machine stood out of its place or open when an event was written; no, when nothing was tracked."""
    # Corrections written later still tell how it stood then
    known = [e for e in state.events if e.id <= event or isinstance(e.body, Corrected)]
    then = fold(known).safety
    return then is not None and (then.place != "in place" or bool(then.panels))


def _left(place: World, cloud: Cloud) -> float:
    """Chance that a cause is left, something not described among them."""
    sick = [bool(faults) for faults in faults_of(place, cloud.population, np.arange(cloud.population.size))]
    log_weight = np.append(cloud.log_weight, cloud.log_unknown)
    weight = np.exp(log_weight - log_weight.max())
    return float(weight[np.append(sick, True)].sum() / weight.sum())


def _missing(asked: Counsel, found: Verdict) -> Iterator[str]:
    if found.planned:
        yield "no repair is recorded"
        return
    for check in found.misplaced:
        yield f"{check} was read with the machine pulled out or open, which proves nothing"
    if not found.used:
        yield "nothing was read as the customer uses it since the repair"
    # A cause unlikely from the start is not proven gone by a reading that could not have shown it
    elif found.now > TELLING * found.at_repair:
        yield f"what was read since tells little: {_percent(found.at_repair)} before it, {_percent(found.now)} now"
    if found.now > asked.shop.limit:
        yield f"a cause is left with {_percent(found.now)}, more than {_percent(asked.shop.limit)}"
    here = asked.state.safety
    if here is not None and here.use != "returned to use" and (here.place != "in place" or here.panels):
        yield f"the machine is not as used: {here.name}"


def _percent(chance: float) -> str:
    return f"{100 * chance:.1f} %"
