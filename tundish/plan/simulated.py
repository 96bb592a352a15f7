"""A simulated call: a machine whose faults are known to nobody but the bench, and the bill that runs up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from tundish.appliance.records import Check, Complaint, Description
from tundish.diagnosis.likelihood import MISDONE_NOTHING, MISDONE_OVER, Span, noise
from tundish.diagnosis.odds import UNKNOWN_LIKE_HEALTHY, Cloud, reach_of, weigh
from tundish.diagnosis.reading import Reading
from tundish.plan.cured import complains, drawn_with, eased_by_pulling, shown_by
from tundish.plan.demands import PANELS, demands_of_check, refused, water_of
from tundish.plan.ground import Ground, ground
from tundish.plan.hidden import RETURNS, cost_of, sleeps
from tundish.plan.lawful_checks import Demand
from tundish.plan.proof import as_left
from tundish.plan.remedies import Remedy, check_minutes, remedies
from tundish.plan.samples import faults_of
from tundish.plan.shop import Shop
from tundish.plan.standing import Standing
from tundish.plan.states import Safety
from tundish.plan.wired import EXPLAIN_MINUTES
from tundish.population.build import Population, World
from tundish.population.needs import needed_parameters


@dataclass(frozen=True, eq=False)
class Bench:
    """What all simulated calls of a trial share.

    cloud : the tool's machines before any reading. truth : other machines, from which the calls are drawn. prior : (h,)
    chance of each hypothesis of `truth`.
    """

    place: World
    shop: Shop
    cloud: Cloud
    truth: Population
    prior: Sequence[float]
    seed: int

    @property
    def description(self) -> Description:
        """The family."""
        return self.place.description

    @property
    def complaint(self) -> Complaint:
        """The complaint of all calls."""
        return self.description.complaints[self.truth.complaint]

    @cached_property
    def remedies(self) -> tuple[Remedy, ...]:
        """Every remedy for what may be there."""
        return remedies(self.description, self.shop, {f for faults in self.truth.faults for f in faults if f})

    @cached_property
    def water(self) -> str:
        """Water on the machine as used: none where the family has no tap."""
        return water_of(self.description)

    @cached_property
    def ground(self) -> Ground:
        """The states a call may pass, all panels counted."""
        used = {p for c in self.description.checks.values() for p in c.access}
        used |= {p for r in self.remedies for d in r.demands for p in d.panels}
        return ground(
            Safety(water=self.water),
            {p: PANELS[p] for p in used if p in PANELS},
            self.shop.rate,
            who=self.shop.who,
        )

    @cached_property
    def needed(self) -> dict[str, np.ndarray]:
        """Parameters that checks require -> their values on the machines of `truth`."""
        names = {n for c in self.description.checks.values() for n in c.requires}
        rows = np.arange(self.truth.size)
        if not names:
            return {}
        faults = faults_of(self.place, self.truth, rows)
        drawn = drawn_with(self.place, self.truth, rows, faults, found=True)
        machines = self.place.machines(drawn, needed_parameters(self.description, names))
        return {n: machines.value(n) for n in names}


@dataclass
class Bill:
    """What a call came to. wrong : remedies tried that cured nothing. right : it ended with nothing left, or rightly with
    nothing wrong.
    """

    cost: float = 0.0
    minutes: float = 0.0
    checks: int = 0
    wrong: int = 0
    trips: int = 0
    callbacks: int = 0
    right: bool = False
    end: str = ""

    @property
    def settled(self) -> bool:
        """Whether it was settled rightly without a second trip or a callback."""
        return self.right and not self.trips and not self.callbacks


@dataclass
class Job:
    """A call going on. machine : row of `truth`, None for one that is not described. left : faults still there.

    noted : readings a way has dealt with. named : remedies that a chart's readings have named.
    """

    bench: Bench
    number: int
    machine: int | None
    left: frozenset[str]
    cloud: Cloud
    prior: Cloud
    state: Safety = field(default_factory=Safety)
    moved: bool = False
    readings: list[Reading] = field(default_factory=list)
    read: set[str] = field(default_factory=set)
    tried: list[Remedy] = field(default_factory=list)
    held: set[str] = field(default_factory=set)
    noted: int = 0
    named: list[Remedy] = field(default_factory=list)
    bill: Bill = field(default_factory=Bill)
    shown: dict[tuple[frozenset[str], bool], np.ndarray] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """A family without a tap stands without water from the start."""
        if self.bench.water == "none":
            self.state = replace(self.state, water="none")

    @property
    def standing(self) -> Standing:
        """Where the call stands."""
        repaired = tuple(f for r in self.tried for f in r.faults)
        # A call goes on after a repair only when the test failed
        works = False if repaired else None
        return Standing(self.state, frozenset(self.read), repaired, frozenset(self.held), works=works)

    @property
    def over(self) -> bool:
        """Whether the call has ended."""
        return bool(self.bill.end)

    def way(self, demands: Sequence[Demand]) -> tuple[float, str]:
        """Money and the state of the nearest place where one of the demands is met; infinite when there is none."""
        whole, start = self.bench.ground, self.state.name
        met = [n for n, s in whole.states.items() if not refused(demands, s, who=self.bench.shop.who)]
        return min(((whole.cost(start, n), n) for n in met), default=(np.inf, ""))

    def luck(self, name: str) -> np.random.Generator:
        """Random numbers of this call for one thing: the same whoever asks, so that policies are compared in pairs."""
        return np.random.default_rng([self.bench.seed, self.number, *name.encode()])


def chances(wanted: Sequence[Remedy], cloud: Cloud, which: np.ndarray | None = None) -> dict[Remedy, float]:
    """Chance that a fault each remedy is for is there. which : (n,) only among these machines, none of them undescribed."""
    top = max(float(cloud.log_weight.max(initial=-np.inf)), cloud.log_unknown)
    weight = np.exp(cloud.log_weight - top)
    total = float(weight.sum()) + float(np.exp(cloud.log_unknown - top))
    if which is not None:
        weight = weight * which
        total = max(float(weight.sum()), 1e-300)
    ids, codes = cloud.population.fault_codes
    out = {}
    for remedy in wanted:
        mine = np.isin(codes, [ids.index(f) for f in remedy.faults if f in ids])
        there = (mine[cloud.population.stratum] & cloud.population.present).any(axis=1)
        out[remedy] = float(weight[there].sum()) / total
    return out


def start_job(bench: Bench, number: int) -> Job:
    """A call with a machine drawn by the prior."""
    rng = np.random.default_rng([bench.seed, number])
    chance = np.asarray(bench.prior) / np.sum(bench.prior)
    which = int(rng.choice(len(chance), p=chance))
    rows = np.flatnonzero(bench.truth.stratum == which)
    # No machines stand for what is not described
    if not len(rows):
        return Job(bench, number, None, frozenset(), bench.cloud, bench.cloud)
    machine = int(rng.choice(rows))
    left = faults_of(bench.place, bench.truth, np.array([machine]))[0]
    return Job(bench, number, machine, left, bench.cloud, bench.cloud)


def take(job: Job, check: Check) -> None:
    """Take a check: go there, pay, write down what it shows and weigh it."""
    _go(job, demands_of_check(check), what=check.id)
    minutes = check_minutes(check.minutes, check.access)
    _pay(job, minutes=minutes)
    job.bill.checks += 1
    job.read.add(check.id)
    reading = _reading(job, check)
    if reading is not None:
        job.readings.append(reading)
        job.read.add(reading.check)
        job.cloud = weigh(job.prior, job.bench.description.checks, job.readings)


def apply(job: Job, remedy: Remedy) -> bool:
    """Try a remedy and test; True when the machine works, which ends the call. A part not at hand is ordered first."""
    bench = job.bench
    if remedy.order and job.held.isdisjoint(remedy.faults):
        order(job, remedy)
    _go(job, remedy.demands, what=remedy.name)
    _pay(job, minutes=remedy.minutes, money=remedy.price)
    # Refitting is in the labour; the test is made as the customer uses it
    job.state = _as_used(job)
    before = job.left
    # A second try has luck of its own
    dice = job.luck(f"{remedy.name} {job.tried.count(remedy) or ''}".rstrip())
    cured = {
        f for f in sorted(before & set(remedy.faults)) if dice.random() < bench.description.faults[f].cure
    }
    job.left = before - cured
    # The part is used up, whether it helped or not
    job.held.difference_update(remedy.faults)
    job.bill.wrong += not cured
    job.tried.append(remedy)
    works = _works(job, before, dice)
    if works:
        _close(job, remedy)
    else:
        job.bill.trips += not remedy.seen
        _pay(job, money=0.0 if remedy.seen else bench.shop.trip)
        rng = np.random.default_rng([bench.seed, job.number, len(job.tried)])
        # Every way learns the same from a failed repair: the tool's own odds after it
        job.cloud = as_left(bench.place, job.cloud, remedy.faults, rng, works=False)
        job.prior, job.readings, job.noted = job.cloud, [], 0
    return works


def order(job: Job, remedy: Remedy) -> None:
    """Close up, order its part, come back with it."""
    home = _as_used(job)
    _pay(job, money=job.bench.ground.cost(job.state.name, home.name) + job.bench.shop.trip)
    job.state = home
    job.bill.trips += 1
    job.held.update(remedy.faults)


def end(job: Job, name: str) -> None:
    """End the call without a remedy: another machine, nothing wrong, or stopping."""
    shop, sick = job.bench.shop, bool(job.left) or job.machine is None
    _pay(job, money=job.bench.ground.cost(job.state.name, _as_used(job).name))
    job.bill.end = name
    if name in ("nothing is wrong", "close, proven"):
        explained = EXPLAIN_MINUTES if name == "nothing is wrong" else 0.0
        _pay(job, minutes=explained, money=(shop.callback + shop.stop_value) if sick else 0.0)
        job.bill.callbacks += sick
        job.bill.right = not sick
    else:
        _pay(job, money=shop.stop_value if name.startswith("stop") else shop.replace)


def _close(job: Job, remedy: Remedy) -> None:
    job.bill.end = "fixed" if remedy.seen else "handed over"
    job.bill.right = not job.left
    if job.left:
        # Quiet for now: a cause left comes back and has to be cured then
        chance = RETURNS if not _shows(job) else 1.0
        shop = job.bench.shop
        rest = sum(
            min((cost_of(shop, r) for r in job.bench.remedies if f in r.faults), default=shop.replace)
            for f in job.left
        )
        _pay(job, money=chance * (shop.callback + rest))
        job.bill.callbacks += 1


def _go(job: Job, demands: Sequence[Demand], *, what: str) -> None:
    cost, name = job.way(demands)
    if not np.isfinite(cost):
        raise ValueError(f"simulated call: saw {what} where no lawful way leads; choose what is lawful")
    whole = job.bench.ground
    for step in whole.way(job.state.name, name):
        job.moved |= step.moves_machine
    _pay(job, money=cost)
    job.state = whole.states[name]


def _pay(job: Job, *, minutes: float = 0.0, money: float = 0.0) -> None:
    job.bill.minutes += minutes
    job.bill.cost += money + minutes * job.bench.shop.rate


def _as_used(job: Job) -> Safety:
    return replace(job.state, power="on", water=job.bench.water, place="in place", panels=frozenset())


def _works(job: Job, before: frozenset[str], dice: np.random.Generator) -> bool:
    if job.machine is None:
        return False
    if not job.left:
        return bool(before)
    awake = dice.random() >= sleeps(job.bench.description, job.left)
    return not (awake and (job.left == before or _shows(job)))


def _shows(job: Job) -> bool:
    bench = job.bench
    drawn = drawn_with(bench.place, bench.truth, np.array([job.machine]), [job.left], found=False)
    return bool(complains(bench.place, drawn, bench.complaint)[0])


def _reading(job: Job, check: Check) -> Reading | None:
    """What the technician writes down; None when the machine has not what the check needs."""
    bench, rng = job.bench, job.luck(check.id)
    reach = reach_of(bench.cloud.population, check)
    if job.machine is None:
        wild = rng.random() >= UNKNOWN_LIKE_HEALTHY
        shown = rng.choice(bench.truth.healthy[bench.truth.checks.index(check.id)])
    else:
        missing = _missing(job, check)
        if missing:
            return missing[0]
        wild, shown = False, _true(job, check)
    if wild or rng.random() < check.misdone:
        return _anything(check, reach, rng)
    value = float(noise(check, np.array([shown], dtype=np.float32), rng)[0])
    return (
        Reading(check.id, answer=check.answers[int(value)].name)
        if check.is_look
        else Reading(check.id, value)
    )


def _missing(job: Job, check: Check) -> list[Reading | None]:
    """What is learnt when the machine lacks what a check needs: the answer of the look at just that, if there is one."""
    for name, value in check.requires.items():
        names = job.bench.description.parameters[name].names
        has = names[int(job.bench.needed[name][job.machine])]
        if has != value:
            looks = [c for c in job.bench.description.checks.values() if c.is_look and c.reads == name]
            free = [c for c in looks if c.id not in job.read]
            return [Reading(free[0].id, answer=has) if free else None]
    return []


def _true(job: Job, check: Check) -> float:
    bench = job.bench
    whole = faults_of(bench.place, bench.truth, np.array([job.machine]))[0]
    moved = job.moved and _eases(job)
    if job.left == whole and not moved:
        return float(bench.truth.row(check.id)[job.machine])
    # Simulating one machine costs as much as a hundred; each state of it is simulated once
    if (job.left, moved) not in job.shown:
        drawn = drawn_with(bench.place, bench.truth, np.array([job.machine]), [job.left], found=True)
        job.shown[job.left, moved] = shown_by(bench.place, drawn, bench.truth.checks, np.array([moved]))[:, 0]
    return float(job.shown[job.left, moved][bench.truth.checks.index(check.id)])


def _eases(job: Job) -> bool:
    drawn = drawn_with(job.bench.place, job.bench.truth, np.array([job.machine]), [job.left], found=True)
    return bool(eased_by_pulling(job.bench.place, drawn)[0])


def _anything(check: Check, reach: Span, rng: np.random.Generator) -> Reading:
    if check.instrument is None:
        return Reading(check.id, answer=check.answers[int(rng.integers(len(check.answers)))].name)
    u = rng.random()
    if u < MISDONE_OVER:
        return Reading(check.id, np.inf)
    if u < MISDONE_OVER + MISDONE_NOTHING and not check.instrument.log:
        return Reading(check.id, check.instrument.low)
    at = rng.uniform(reach.low, reach.high)
    value = float(np.exp(at)) if check.instrument.log else float(at)
    return Reading(check.id, float(np.clip(value, check.instrument.low, check.instrument.high)))
