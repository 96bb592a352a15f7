"""The next action of a call, from the machines that agree with all readings: what to do, why, and what it may lead to."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tundish.diagnosis.odds import Cloud
from tundish.plan.base import worth
from tundish.plan.change import Floats
from tundish.plan.choice import Ranked, decided
from tundish.plan.demands import demands_of_check, refused
from tundish.plan.exact import solve
from tundish.plan.frame import Option, Situation, after, after_change, arrive, rows_of
from tundish.plan.guide import Guide, after_that, guide
from tundish.plan.live import barred_live
from tundish.plan.lookahead import Budget, Scout, scout
from tundish.plan.lump import gather
from tundish.plan.problem import LOOKS, ORDER, Action
from tundish.plan.shop import Shop
from tundish.plan.standing import Standing
from tundish.plan.states import Step
from tundish.plan.trying_out import TESTING
from tundish.plan.way import power_last
from tundish.plan.wired import PHONE, UNPROVEN, Wired, tries, wire
from tundish.population.build import World
from tundish.population.hypotheses import NOTHING, UNDESCRIBED

# Looking a few steps ahead on top of whole courses buys little here; a caller with time may give more.
USUAL = Budget(evaluations=0)
# Outcomes rarer than this are not told; proposals told with what they lead to; causes named. Our choice.
RARE, TOLD, CAUSES = 0.01, 3, 3
# A cause this likely needs no further check before its repair; an answer this likely is worth asking for; a check comes
# before the repair while the whole call costs at most this share more by it. Our choice.
CONFIRMED, LIKELY_ANSWER, HARDLY = 0.9, 0.2, 0.01
# A cause less likely than this is not repaired on a machine that most likely works. Our choice.
SELDOM = 0.1
AGAIN = "This was done before and did not cure: look over the work and the part that was fitted before doing it anew."
# How the planner names closing as proven, and the kind of the test after a repair.
PROVEN, TEST = "close, proven", "test"
UNQUALIFIED = "live work: only for somebody qualified, and only when no isolated check is as good"


@dataclass(frozen=True)
class Lead:
    """What an outcome leads to. then : name of the next action, empty when the call ends. causes : (id, chance), likeliest first."""

    outcome: str
    chance: float
    then: str
    causes: tuple[tuple[str, float], ...]


@dataclass(frozen=True)
class Proposal:
    """Something to do now.

    kind : check, question, test, repair, hand over, order or end. check : its id, or "". faults : those it may cure, or orders
    a part for.
    cost, minutes : its own, with the way there. promise : expected money of the whole call from now on.
    saves : money less than the best course that asks no check. steps : safety steps before it.
    """

    name: str
    kind: str
    check: str
    faults: tuple[str, ...]
    cost: float
    minutes: float
    promise: float
    saves: float
    steps: tuple[Step, ...]
    cautions: tuple[str, ...]
    leads: tuple[Lead, ...]
    why: str


@dataclass(frozen=True)
class Barred:
    """What may not be done now, and why."""

    name: str
    why: str


@dataclass(frozen=True)
class Advice:
    """options : best first, never empty. promise : expected money of the whole call that the first one keeps."""

    options: tuple[Proposal, ...]
    barred: tuple[Barred, ...]
    promise: float


@dataclass(frozen=True, eq=False)
class Planned:
    """A wired problem with its options rated, best first. unasked : expected cost of the best course without any check."""

    wired: Wired
    scout: Scout
    lay: Guide
    ranked: tuple[Ranked, ...]
    unasked: float


def advise(
    place: World,
    cloud: Cloud,
    shop: Shop,
    standing: Standing,
    *,
    budget: Budget = USUAL,
    exact: bool = False,
    seed: int = 0,
) -> Advice:
    """The next action.

    cloud : the machine as it is now; after a repair `proof.as_left`, weighed by the readings since. exact : solve the
    small problem exactly (PlanError when it is too large). seed : of the machines drawn to stand for the cloud; the same
    seed, cloud and standing give the same advice.
    """
    found = planned(place, cloud, shop, standing, budget=budget, seed=seed, exact=exact)
    # The leads of every option would cost more time than the decision itself
    told = [
        _proposal(place, found, ranked, shop, standing, leads=number < TOLD)
        for number, ranked in enumerate(_by_name(found))
    ]
    return Advice(tuple(told), barred(place, found, shop, standing), told[0].promise)


def planned(
    place: World,
    cloud: Cloud,
    shop: Shop,
    standing: Standing,
    *,
    budget: Budget = USUAL,
    seed: int = 0,
    exact: bool = False,
) -> Planned:
    """The problem of a call and its rated options, without words."""
    wired = wire(place, cloud, shop, standing, np.random.default_rng(seed))
    ready = scout(wired.problem)
    situation, weights = ready.frame.start, wired.problem.weights
    unasked = worth(ready.base, situation, gather(ready.base.lumps, weights))[0]
    lay = guide(ready, situation)
    ranked = decided(lay, situation, weights, budget=budget)
    if exact:
        ranked = _exactly(wired, ready, ranked)
    else:
        spared = _spared(wired, ranked) if standing.repaired else ranked
        ranked = _looked_first(wired, spared, shop.limit, judged=standing.proof is not None)
    ranked = _as_proven(wired, ranked, standing)
    return Planned(wired, ready, lay, ranked, unasked)


def _as_proven(wired: Wired, ranked: tuple[Ranked, ...], standing: Standing) -> tuple[Ranked, ...]:
    """Closing as proven first where the record proves it, and nowhere else; then first what would prove it."""
    proof, actions = standing.proof, wired.problem.actions
    if proof is None or not standing.repaired:
        return ranked
    rest = tuple(r for r in ranked if actions[r.option.action].name != PROVEN)
    if proof.proven:
        return (*(r for r in ranked if r not in rest), *rest)
    top = actions[ranked[0].option.action]
    # The plan would close, or look further at a machine that works: what is missing is what proves it
    closing = top.name in (PROVEN, UNPROVEN)
    wanted = (*proof.checks, TESTING, UNPROVEN) if closing else proof.checks
    if not closing and not (standing.works and top.kind in LOOKS):
        return rest
    return next(
        (_put_first(r, rest) for w in wanted for r in rest if actions[r.option.action].name == w), rest
    )


def _put_first(option: Ranked, ranked: tuple[Ranked, ...]) -> tuple[Ranked, ...]:
    return (option, *(r for r in ranked if r != option))


def _spared(wired: Wired, ranked: tuple[Ranked, ...]) -> tuple[Ranked, ...]:
    """Once the machine most likely works, repairs of what is hardly there come last: they would only stand for a proof."""
    weights = wired.problem.weights
    if float(wired.states.sick @ weights) > 0.5:
        return ranked
    names = [wired.problem.actions[r.option.action].name for r in ranked]
    hardly = [n in wired.cures and float(_with(wired, n) @ weights) < SELDOM for n in names]
    return tuple(r for _, r in sorted(zip(hardly, ranked, strict=True), key=lambda pair: pair[0]))


def _with(wired: Wired, remedy: str) -> npt.NDArray[np.bool_]:
    """(h,) whether a state has a cause that the remedy is for."""
    cured = wired.cures[remedy].faults
    return np.array([not left.isdisjoint(cured) for left in wired.states.left])


def _looked_first(
    wired: Wired, ranked: tuple[Ranked, ...], limit: float, *, judged: bool
) -> tuple[Ranked, ...]:
    """The check that would confirm the cause before its repair, or prove the repair before it is left unproven.

    A repair on a guess leaves other causes open, which the proof then has to settle; the plan does not reckon with that.
    """
    actions, best, weights = wired.problem.actions, ranked[0], wired.problem.weights
    name = actions[best.option.action].name
    # Where the record was asked what would prove it, that is put first later
    if name == UNPROVEN and not judged:
        sick = wired.states.sick * weights
        return _first(wired, ranked, lambda look: _proves(look, sick, weights, limit=limit))
    if name not in wired.cures:
        return ranked
    there = _with(wired, name) * weights
    dear = best.cost * (1.0 + HARDLY)
    near = {r.option.action for r in ranked if r.cost <= dear} if there.sum() < CONFIRMED else set[int]()
    hardly = {actions[a].name for a in near}
    return _first(wired, ranked, lambda look: look.name in hardly and _confirms(look, there, weights))


def _first(wired: Wired, ranked: tuple[Ranked, ...], good: Callable[[Action], bool]) -> tuple[Ranked, ...]:
    """The best check that is good for it, then the others as they were; unchanged when there is none."""
    for option in ranked[1:]:
        action = wired.problem.actions[option.option.action]
        if action.kind in LOOKS and not action.live and good(action):
            return _put_first(option, ranked)
    return ranked


def _confirms(look: Action, there: Floats, weights: Floats) -> bool:
    """Whether a likely outcome leaves little doubt. there : (h,) weight of the states with the cause."""
    shown = [(float(o.chance @ weights), float(o.chance @ there)) for o in look.outcomes]
    return any(p >= LIKELY_ANSWER and cause >= CONFIRMED * p for p, cause in shown)


def _proves(look: Action, sick: Floats, weights: Floats, *, limit: float) -> bool:
    """Whether the likeliest outcome leaves no more than the shop's limit. sick : (h,) weight of the states with a cause."""
    shown = [(float(o.chance @ weights), float(o.chance @ sick)) for o in look.outcomes]
    p, left = max(shown)
    return left <= limit * p


def _exactly(wired: Wired, ready: Scout, ranked: tuple[Ranked, ...]) -> tuple[Ranked, ...]:
    solution = solve(wired.problem)
    option = solution.policy(ready.frame.start, wired.problem.weights)
    if option is None:
        return ranked
    rest = tuple(r for r in ranked if r.option != option)
    return (Ranked(option, solution.cost), *rest)


def _by_name(found: Planned) -> list[Ranked]:
    """The ranked options, each action once, in the state where it is cheapest."""
    first: dict[int, Ranked] = {}
    for ranked in found.ranked:
        first.setdefault(ranked.option.action, ranked)
    return list(first.values())


def _proposal(
    place: World, found: Planned, ranked: Ranked, shop: Shop, standing: Standing, *, leads: bool
) -> Proposal:
    wired, option = found.wired, ranked.option
    action = wired.problem.actions[option.action]
    asked, remedy = wired.asked.get(action.name), wired.cures.get(action.name)
    check = asked.check if asked else None
    told = _leads(found, option) if leads else ()
    faults = remedy.faults if remedy else _ordered(wired, action)
    mended = remedy.faults if remedy else ()
    after = tuple(line for f in mended for line in place.description.faults[f].after)
    again = (AGAIN,) if remedy and tries(remedy, standing.repaired) else ()
    return Proposal(
        name=action.name,
        kind=remedy.kind if remedy else TEST if action.name == TESTING else action.kind,
        check=check.id if check else "",
        faults=faults,
        cost=option.move + action.cost,
        minutes=wired.minutes.get(action.name, 0.0) + _way_minutes(wired, option, shop),
        promise=ranked.cost,
        saves=max(found.unasked - ranked.cost, 0.0),
        steps=power_last(_steps(wired, option), standing.safety, shop.who),
        cautions=check.cautions if check else (*again, *dict.fromkeys(after)),
        leads=told,
        why=_why(place, found, ranked, told, shop),
    )


def _ordered(wired: Wired, action: Action) -> tuple[str, ...]:
    """The faults whose parts an action orders."""
    if action.kind != ORDER:
        return ()
    parts = {token for outcome in action.outcomes for token in outcome.grants}
    return tuple(f for remedy in wired.cures.values() if remedy.part in parts for f in remedy.faults)


def _way_minutes(wired: Wired, option: Option, shop: Shop) -> float:
    # On the phone the way is a drive, whose money the call-out holds
    return 0.0 if wired.problem.start == PHONE else option.move / shop.rate


def _steps(wired: Wired, option: Option) -> tuple[Step, ...]:
    start, end = wired.problem.start, wired.problem.access.names[option.node]
    return () if PHONE in (start, end) else wired.ground.way(start, end)


def _leads(found: Planned, option: Option) -> tuple[Lead, ...]:
    frame, weights = found.scout.frame, found.wired.problem.weights
    there = arrive(frame, frame.start, option, weights)
    out = []
    for row, outcome in zip(
        rows_of(frame, option), frame.problem.actions[option.action].outcomes, strict=True
    ):
        joint = frame.table[row] * there
        chance = float(joint.sum())
        if chance < RARE:
            continue
        then, known = "", tuple[tuple[str, float], ...]()
        if not frame.ends[row]:
            later = after_change(frame, row, joint / chance)
            then = _then(found, after(frame, frame.start, option, row), later)
            known = causes(found.wired, later)
        out.append(Lead(outcome.name, chance, then, known))
    return tuple(out)


def _then(found: Planned, situation: Situation, weights: Floats) -> str:
    # After a check the remedies stand as they did; after anything else they have to be laid out anew
    looks = sum(1 << a for a in found.lay.checks)
    asked_only = not situation.done & ~looks
    option = after_that(found.lay if asked_only else guide(found.scout, situation), situation, weights)
    return "" if option is None else found.wired.problem.actions[option.action].name


def causes(wired: Wired, weights: Floats) -> tuple[tuple[str, float], ...]:
    """The likeliest causes at these weights (h,), `nothing wrong` and `something not described` among them."""
    held: dict[str, float] = {UNDESCRIBED: float(weights[-1])}
    for left, weight in zip(wired.states.left[:-1], weights[:-1], strict=True):
        for name in left or {NOTHING}:
            held[name] = held.get(name, 0.0) + float(weight)
    likely = sorted(held.items(), key=lambda item: (-item[1], item[0]))
    return tuple((name, chance) for name, chance in likely[:CAUSES] if chance >= RARE)


def _why(place: World, found: Planned, ranked: Ranked, leads: Sequence[Lead], shop: Shop) -> str:
    wired = found.wired
    action = wired.problem.actions[ranked.option.action]
    money = f"{ranked.cost:.0f} {shop.currency}"
    likely = causes(wired, wired.problem.weights)
    top = f"{likely[0][0]} stands at {likely[0][1]:.0%}" if likely else "nothing is known"
    if action.kind in LOOKS:
        saved = found.unasked - ranked.cost
        turns = {lead.then for lead in leads}
        said = "its answer decides what comes next" if len(turns) > 1 else "it narrows the causes"
        return (
            f"{said}; the whole call is then expected to cost {money}, "
            f"{max(saved, 0.0):.0f} less than without any check."
        )
    if action.name in wired.cures:
        works = float(action.outcomes[0].chance @ wired.problem.weights)
        return f"{top}; this works in {works:.0%} of the machines that are left, and the whole call is expected to cost {money}."
    return f"{top}; the whole call is expected to cost {money} this way."


def barred(place: World, found: Planned, shop: Shop, standing: Standing) -> tuple[Barred, ...]:
    """What the complaint would ask for and may not be done, with the reason."""
    # Unsafe, everything but ending is barred; it is said check by check why
    unsafe = standing.safety.hazard == "seen" or standing.safety.use != "in hand"
    unread = [c for c in place.description.checks.values() if c.id not in standing.read]
    out = [Barred(c.id, UNQUALIFIED) for c in unread if c.live and not shop.qualified]
    frame, weights = found.scout.frame, found.wired.problem.weights
    asked_live = any(a.live for a in found.wired.problem.actions)
    live = barred_live(frame, found.scout.base, frame.start, weights) if asked_live else frozenset()
    out += [
        Barred(
            found.wired.problem.actions[a].name, "live work: an isolated check is as good and not used yet"
        )
        for a in sorted(live)
    ]
    out += [
        Barred(check.id, refused(demands_of_check(check), standing.safety, who=shop.who))
        for check in unread
        if unsafe and not check.live
    ]
    return tuple(out)
