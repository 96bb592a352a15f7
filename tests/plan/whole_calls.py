"""Whole calls played through the planner and the record of the call, every proposal held against rules written here anew.

The truth is a simulated machine of another seed than those the odds come from. What was done is recorded with the same
words a technician types, so a proposal that the record refuses is found too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from tundish.appliance.records import Check, Description
from tundish.call.bodies import Body, CallOpened, CircumstanceAdded, ReadingTaken
from tundish.call.deals import ConsentGiven, ConsentRefused
from tundish.call.doing import Said, doing
from tundish.call.doings import CircumstanceDenied, HandedOver
from tundish.call.events import Event
from tundish.call.fold import CallState, fold
from tundish.call.hazards import hazards, safety_of
from tundish.call.identity import moment, uuid7
from tundish.call.lawful import before_reading, way_to
from tundish.call.moves import check as check_move
from tundish.call.quotes import Quoted, QuoteLine
from tundish.call.readings import lacking, stages
from tundish.call.safety import unsafe_to_leave
from tundish.diagnosis.odds import start, weigh
from tundish.diagnosis.reading import NOT_THERE, Reading
from tundish.plan.advise import Advice, Proposal, advise, planned
from tundish.plan.base import worth
from tundish.plan.demands import demands_of_check, panels_of
from tundish.plan.frame import Situation
from tundish.plan.lacking import without
from tundish.plan.lump import gather
from tundish.plan.proof import as_customer_uses
from tundish.plan.remedies import Remedy
from tundish.plan.shop import shop_for
from tundish.plan.simulated import Bench, Job, apply, start_job, take
from tundish.plan.standing import Standing
from tundish.plan.states import Safety, Step, made, refusal
from tundish.plan.trial import bench
from tundish.plan.way import way
from tundish.population.build import world
from tundish.population.hypotheses import priors, shares
from tundish.store.counsel import Asked, Counsel, Followed, followed, standing_of, with_proof
from tundish.store.desk import Diagnosis
from tundish.store.library import load
from tundish.store.proving import proving
from tundish.store.verdict import Verdict, sorted_out

MACHINES, SEED = 2_000, 5
DEAD = "0 V on all pairs, tester proved before and after"
COVERS = {"TOP", "BACK", "FRONT", "TOE", "INNER", "TUB"}
# Where the trade may stand for a check of a code: power, then water. Written from the trade's table, not from the planner's.
ALLOWED = {
    "ISO": ({"isolated", "dead", "discharged"}, {"none", "relieved"}),
    "PWR": ({"on"}, {"none", "off", "relieved"}),
    "FILL": ({"on"}, {"on"}),
    "RUN": ({"on"}, {"none", "on"}),
    "STAT": ({"on", "isolated", "dead", "discharged"}, {"on"}),
    "NONE": ({"on", "isolated", "dead", "discharged"}, {"none", "on", "off", "relieved"}),
}


def bench_of(family: str, market: str, complaint: str) -> Bench:
    """A bench of simulated calls, of few machines."""
    place = world(load(family), market)
    return bench(place, complaint, shop_for(place.description.markets[market]), size=MACHINES, seed=SEED)


START = 1_764_000_000_000


def event(number: int, body: Body) -> Event:
    """The event of a number."""
    return Event(uuid7(START + number, bytes(10)), "van", moment(START + number), "k7f3q0000000test", body)


@dataclass
class Visit:
    """A call going on. history : what was done, for whoever has to find out why a call went wrong."""

    bench: Bench
    job: Job
    state: CallState
    age: float | None = None
    tracked: bool = True
    phone: bool = False
    worked: bool = False
    history: list[str] = field(default_factory=list)
    wrong: list[str] = field(default_factory=list)
    kept: dict[object, Followed] = field(default_factory=dict)

    @property
    def description(self) -> Description:
        return self.bench.description

    @property
    def who(self) -> str:
        return self.bench.shop.who

    @property
    def standing(self) -> Standing:
        found = standing_of(self.state, self.description, phone=self.phone)
        return with_proof(self.bench.place, self.state, self.ways(), self.bench.shop, found)

    @property
    def safety(self) -> Safety:
        return standing_of(self.state, self.description).safety

    def ways(self) -> Followed:
        """The machine through its repairs, as `counsel` follows it, without regrowing."""
        # Only what the odds take decides: steps at the machine change nothing
        key = (
            self.state.circumstances,
            stages(self.state),
            lacking(self.state),
            sorted_out(self.state, self.description),
        )
        if key not in self.kept:
            held, record = self.bench.cloud.population, self.bench.complaint
            prior = priors(held.hypotheses, record, shares(self.description, record, self.age, key[0]))
            cloud = weigh(start(held, prior), self.description.checks, key[1][0].readings)
            self.kept[key] = followed(self.bench.place, without(self.bench.place, cloud, key[2]), self.state)
        return self.kept[key]

    def advice(self, seed: int = 1) -> Advice:
        return advise(self.bench.place, self.ways().now, self.bench.shop, self.standing, seed=seed)

    def record(self, body: Body) -> None:
        check_move(self.state, body)
        self.state = fold((*self.state.events, event(len(self.state.events), body)))
        assert not self.state.problems

    def do(self, words: str, why: str = "seen") -> None:
        self.history.append(words)
        for body in doing(self.description, self.state, words, Said(DEAD, why, self.who)):
            self.record(body)

    def walk(self, steps: tuple[Step, ...]) -> None:
        if not self.tracked:
            return
        if self.state.safety is None and steps:
            self.do("look, smell and ask")
        for step in steps:
            self.do(step.name)

    def read(self, reading: Reading) -> None:
        check = self.description.checks[reading.check]
        self.history.append(f"{reading.check} = {reading.answer or reading.value}")
        for claim in before_reading(
            self.description, check, safety_of(self.description, self.state), answer=reading.answer
        ):
            self.record(claim)
        self.record(ReadingTaken(reading.check, reading.value, reading.answer, reading.bound))

    def verdict(self) -> Verdict:
        ways = self.ways()
        found = Diagnosis(None, self.bench.place, (), (), None)  # type: ignore[arg-type]
        return proving(
            Counsel(
                self.state,
                found,
                ways.start,
                ways.now,
                self.bench.shop,
                self.standing,
                Asked(),
                "",
                ways.left,
            )
        )


def opened(bench: Bench, number: int, *, told: tuple[str, ...] = (), age: float | None = None) -> Visit:
    """A call on machine `number` of the bench."""
    place = bench.place
    visit = Visit(bench, start_job(bench, number), fold(()), age)
    visit.record(CallOpened(place.description.family, place.market, bench.truth.complaint, age, told))
    # All work is agreed to beforehand at no charge: what a customer says to a price is tried elsewhere
    visit.record(_quote(place.description, bench.shop.currency))
    visit.record(ConsentGiven(visit.state.events[-1].id, "A. Smith", 0, bench.shop.currency, "spoken"))
    return visit


def _quote(description: Description, currency: str) -> Quoted:
    line = QuoteLine("labour", "work", 1, "job", 0, 0, "", "0", 0, 0)
    return Quoted("Q1", tuple(description.faults), currency, (line,), 0, 0, 0, (), 0.9, (), 0, "9999-12-30")


def wrong_live(visit: Visit, advice: Advice, seed: int) -> Iterator[str]:
    """Live checks among the proposals that save no more than an isolated one does, with sums of their own."""
    live = {o.name for o in advice.options if o.check and visit.description.checks[o.check].live}
    if not live:
        return
    found = planned(visit.bench.place, visit.ways().now, visit.bench.shop, visit.standing, seed=seed)
    frame, base, weights = found.scout.frame, found.scout.base, found.wired.problem.weights

    def after(action: int) -> float:
        known = Situation(frame.start.node, frame.start.done | 1 << action, frame.start.held)
        total = 0.0
        for outcome in frame.problem.actions[action].outcomes:
            joint = outcome.chance * weights
            if joint.sum() > 1e-9:
                total += joint.sum() * worth(base, known, gather(base.lumps, joint / joint.sum()))[0]
        return total

    looks = {a: frame.problem.actions[a] for a in found.lay.checks}
    looks |= {a: x for a, x in enumerate(frame.problem.actions) if x.name in live}
    isolated = min((after(a) for a, x in looks.items() if not x.live), default=np.inf)
    for action, what in looks.items():
        # Less is left to pay after the better answer; what is equal goes to the isolated one
        if what.live and after(action) > isolated - 1e-9:
            yield f"{what.name}: live though an isolated check saves as much"


def wrong_with(visit: Visit, option: Proposal) -> Iterator[str]:
    """What is unlawful about a proposal, by the table of steps and the rules above."""
    here = visit.safety
    for step in option.steps:
        why = refusal(step, here, who=visit.who)
        if why:
            yield f"{option.name}: step {why}"
            return
        here = made(step, here, who=visit.who)
    if visit.standing.phone:
        if option.kind == "check":
            yield f"{option.name}: a check proposed on the phone"
        return
    if here.power == "on" and here.panels:
        yield f"{option.name}: powered with a cover off"
    if option.check:
        yield from _wrong_check(visit, visit.description.checks[option.check], here)
    elif option.kind == "repair":
        yield from _wrong_repair(visit, option, here)
    elif option.kind in ("order", "end"):
        leaving = unsafe_to_leave(here)
        # A hazard is seen to by putting it out of use, which is how the call ends
        if leaving and here.hazard != "seen":
            yield f"{option.name}: {leaving}"
    if here.hazard == "seen" and option.kind not in ("end", "hand over"):
        yield f"{option.name}: proposed where a hazard was seen"
    if here.hazard == "unknown" and option.kind != "end":
        yield f"{option.name}: proposed before it was looked for hazards"


def wrong_closing(visit: Visit, advice: Advice) -> Iterator[str]:
    """Whether the plan closes as proven where the record would refuse it, or the other way round."""
    if not visit.state.repairs or visit.safety.hazard == "seen":
        return
    found, names = visit.verdict(), [o.name for o in advice.options]
    if found.settled and names[0] != "close, proven":
        yield f"proven on record, and proposed is {names[0]}"
    if not found.settled and "close, proven" in names:
        yield f"closing as proven proposed while missing: {found.lacking}"


def _wrong_check(visit: Visit, check: Check, here: Safety) -> Iterator[str]:
    power, water = ALLOWED[check.state]
    covers = COVERS & set(check.access)
    ohms = check.instrument is not None and check.instrument.dimension == "resistance"
    live = check.live or (check.state in ("PWR", "FILL", "RUN") and bool(covers))
    if live:
        power = {"live"}
        if visit.who != "qualified":
            yield f"{check.id}: live work for somebody {visit.who}"
    elif ohms or (covers and check.instrument is not None):
        power = power & {"dead", "discharged"}
    if here.power not in power or here.water not in water:
        yield f"{check.id} ({check.state}, live {live}, ohms {ohms}): done while {here.name}"
    if covers and not covers & here.panels:
        yield f"{check.id}: needs {covers}, done while {here.name}"
    if "OUT" in check.access and here.place != "pulled out":
        yield f"{check.id}: needs the machine pulled out, done while {here.name}"


def _wrong_repair(visit: Visit, option: Proposal, here: Safety) -> Iterator[str]:
    for fault in (visit.description.faults[f] for f in option.faults):
        covers = COVERS & set(fault.access)
        if "house" in fault.access:
            yield f"{option.name}: a repair of the house"
        if covers and not (
            here.power in ("dead", "discharged")
            and here.water in ("none", "relieved")
            and covers & here.panels
        ):
            yield f"{option.name}: behind {covers}, done while {here.name}"
        if "OUT" in fault.access and here.place != "pulled out":
            yield f"{option.name}: needs the machine pulled out, done while {here.name}"


def carry_out(visit: Visit, option: Proposal, rng: np.random.Generator, *, wild: float = 0.0) -> None:
    """Do what was proposed. wild : chance that a reading is drawn at random instead of by the simulator."""
    visit.history.append(f"-> {option.name}")
    if visit.phone and option.kind != "question":
        visit.phone = False
        visit.history.append("came")
        return
    if option.kind == "question" and not option.check:
        body = CircumstanceAdded if rng.random() < 0.5 else CircumstanceDenied
        visit.record(body(option.name))
    elif option.check:
        visit.walk(option.steps)
        visit.read(shown(visit, visit.description.checks[option.check], rng, wild=wild))
    elif option.kind == "test":
        visit.walk(option.steps)
        visit.do("tested works" if visit.worked else "tested still fails")
    elif option.kind == "repair":
        visit.walk(option.steps)
        _repair(visit, option)
    elif option.kind == "order":
        visit.walk(option.steps)
        _order(visit, option)
    elif option.kind == "hand over":
        visit.do(f"hand over {option.faults[0]}")
        close(visit, "handed over")
    else:
        visit.walk(option.steps)
        _end(visit, option, rng)


def shown(visit: Visit, check: Check, rng: np.random.Generator, *, wild: float = 0.0) -> Reading:
    """What the technician writes down."""
    job = visit.job
    before = len(job.readings)
    if rng.random() < wild:
        return anything(check, rng)
    take(job, check)
    if len(job.readings) == before or job.readings[-1].check != check.id:
        return Reading(check.id, answer=NOT_THERE)
    return job.readings[-1]


def anything(check: Check, rng: np.random.Generator) -> Reading:
    """A reading that has nothing to do with the machine."""
    if check.instrument is None:
        return Reading(check.id, answer=check.answers[int(rng.integers(len(check.answers)))].name)
    tool = check.instrument
    if rng.random() < 0.1:
        return Reading(check.id, np.inf)
    if tool.log:
        low = max(tool.low, tool.high * 1e-6)
        return Reading(check.id, float(np.exp(rng.uniform(np.log(low), np.log(tool.high)))))
    return Reading(check.id, float(rng.uniform(tool.low, tool.high)))


def _remedy(visit: Visit, faults: tuple[str, ...]) -> Remedy | None:
    """The bench's remedy for these faults; it may cure more of one part than the call has in question."""
    return next((r for r in visit.bench.remedies if set(faults) <= set(r.faults)), None)


def _repair(visit: Visit, option: Proposal) -> None:
    remedy = _remedy(visit, option.faults)
    visit.worked = remedy is not None and apply(visit.job, replace(remedy, order=False))
    visit.history.append(f"works: {visit.worked}")
    visit.do(f"repair {'/'.join(option.faults)}")


def _order(visit: Visit, option: Proposal) -> None:
    faults = option.name.split("part for ", 1)[1].split(" ")[0]
    visit.do(f"order {faults}")
    visit.do(f"take {faults}")


def _end(visit: Visit, option: Proposal, rng: np.random.Generator) -> None:
    if option.name == "close, proven":
        prove_and_close(visit, lambda check: shown(visit, check, rng))
    elif option.name == "end unproven":
        prove_and_close(visit, lambda check: shown(visit, check, rng), closing=False)
    elif option.name == "nothing is wrong":
        close(visit, "nothing wrong")
    else:
        close(visit, "replaced" if option.name.startswith("advise") else "stopped")


def prove_and_close(visit: Visit, shown_now: Callable[[Check], Reading], *, closing: bool = True) -> None:
    """Read what the proof asks for as the customer uses it, and end as proven when nothing is missing.

    closing : the planner says that it is proven; else it would leave it unproven, which it does once no reading proves it.
    """
    found = visit.verdict()
    if not found.proven and (closing or found.further.proven):
        for name in found.further.checks:
            check = visit.description.checks[name]
            go_as_used(visit, check)
            here = visit.safety
            if here.place != "in place" or here.panels:
                visit.wrong.append(f"{name}: proof taken while {here.name}")
            visit.read(shown_now(check))
    visit.history.append(f"missing {found.missing} read {found.further.checks}")
    if found.proven:
        close(visit, "proven")
    elif not found.further.checks or not (closing or found.further.proven):
        close(visit, "unproven")


def go_as_used(visit: Visit, check: Check) -> None:
    """To where a proof is read: in place, closed."""
    if visit.tracked and visit.state.safety is not None:
        demands = as_customer_uses(demands_of_check(check))
        steps = way_to(visit.description, demands, visit.safety, who=visit.who)
        assert steps is not None, f"no way to {check.id} from {visit.safety.name}"
        visit.walk(steps)


def close(visit: Visit, how: str) -> None:
    """End the call and leave the machine safe, by steps of the table only."""
    if visit.safety.hazard == "seen":
        leave_hazard(visit)
    elif visit.tracked and visit.state.safety is not None:
        _leave(visit, how)
    if how == "handed over" and not visit.state.handed:
        visit.record(HandedOver("a specialist workshop", "hazard"))
    if how == "refused":
        visit.record(ConsentRefused(0, visit.bench.shop.currency))
    # What was repaired stays on record
    visit.do(
        "end unproven"
        if how in ("stopped", "nothing wrong", "unproven") and visit.state.repairs
        else f"end {how}"
    )


def _leave(visit: Visit, how: str) -> None:
    here, panels = visit.safety, panels_of(visit.description)
    if how in ("proven", "nothing wrong"):
        wanted = _as_used
    else:
        wanted = _may_be_left
    steps = way(here, wanted, {**panels, **dict.fromkeys(here.panels, (1.0, 1.0))}, who=visit.who)
    assert steps is not None, f"no way to leave from {here.name}"
    visit.walk(steps)
    if how in ("proven", "nothing wrong"):
        visit.do("return to use")


def leave_hazard(visit: Visit) -> None:
    """Make safe what a danger leaves: isolated and out of use, or not even its plug touched."""
    found = hazards(visit.description, visit.state)
    if visit.state.safety is None and not any(h.on_site for h in found):
        return
    here, untouched = visit.safety, any(h.leave for h in found)
    wanted = _closed if untouched else _shut
    panels = {**panels_of(visit.description), **dict.fromkeys(here.panels, (1.0, 1.0))}
    steps = way(here, wanted, panels, who=visit.who)
    assert steps is not None, f"no way to make safe from {here.name}"
    for step in steps:
        visit.do(step.name)
    if not untouched:
        visit.do("put out of use")


def _closed(state: Safety) -> bool:
    return state.power != "live" and not state.panels


def _as_used(state: Safety) -> bool:
    closed = state.power == "on" and state.place == "in place" and not state.panels
    return closed and state.water in ("on", "none") and state.hazard == "none seen"


def _shut(state: Safety) -> bool:
    return state.power in ("isolated", "dead", "discharged") and not state.panels


def _may_be_left(state: Safety) -> bool:
    return not unsafe_to_leave(state)
