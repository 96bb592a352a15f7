"""From a cloud of machines to a planner's problem: hidden states, checks worth asking, remedies, orders, endings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from tundish.appliance.records import Check, Complaint
from tundish.diagnosis.odds import Cloud, reach_of
from tundish.diagnosis.reading import NOT_THERE
from tundish.plan import actions
from tundish.plan.access import Access
from tundish.plan.candidates import Trying, bands, chosen, question_chances
from tundish.plan.change import Floats
from tundish.plan.cured import drawn_with, moved_by_pulling, shown_by
from tundish.plan.demands import PANELS, demands_of_check, refused
from tundish.plan.ground import Ground, ground, met_in, shortened
from tundish.plan.hidden import Curing, Hidden, cost_of, hidden, pulling
from tundish.plan.lacking import lacks, present
from tundish.plan.lawful_checks import Demand
from tundish.plan.outcomes import Cuts, chances, cuts, merged, unknown_chances
from tundish.plan.problem import CHECK, ORDER, QUESTION, REPAIR, Action, Outcome, Problem
from tundish.plan.proof import as_customer_uses, taken_as_used
from tundish.plan.remedies import HAND_OVER, HANDING, TEST, Remedy, check_minutes, remedies
from tundish.plan.samples import Sample, sample
from tundish.plan.shop import Shop
from tundish.plan.standing import Standing
from tundish.plan.states import Safety
from tundish.plan.trying_out import testing
from tundish.population.build import World

PHONE, ASK_MINUTES, EXPLAIN_MINUTES = "on the phone", 0.5, 15.0
# To write down for the customer what was done, what is not proven, and when to call. Our choice.
UNPROVEN, UNPROVEN_MINUTES = "end unproven", 15.0
# A check that some machines do not have is weighed only when most have it. Our choice.
MOSTLY = 0.5
# A remedy whose faults are less likely than this is left out. Our choice.
LIKELY = 2e-3
# A repair that failed may be done once more: a new part can be bad and work can be poor. Our choice.
TRIES = 2
# Healthy machines that show what something not described shows half of the time.
HEALTHY = 200


@dataclass(frozen=True, eq=False)
class Asked:
    """A check as the planner asks it. check : its record, None for a circumstance. names : of its outcomes."""

    name: str
    check: Check | None
    names: tuple[str, ...]
    minutes: float
    cut: Cuts


@dataclass(frozen=True, eq=False)
class Wired:
    """A problem with what its names mean."""

    problem: Problem
    ground: Ground
    states: Hidden
    asked: Mapping[str, Asked]
    cures: Mapping[str, Remedy]
    minutes: Mapping[str, float]
    home: str


@dataclass(frozen=True, eq=False)
class Site:
    """What a call is about and where it stands. whole : all states it may pass. home : name of the one as used, or ""."""

    place: World
    cloud: Cloud
    shop: Shop
    standing: Standing
    whole: Ground
    home: str
    met: dict[tuple[Demand, ...], frozenset[str]] = field(default_factory=dict)

    @property
    def complaint(self) -> Complaint:
        """The complaint of the call."""
        return self.place.description.complaints[self.cloud.population.complaint]

    @property
    def halted(self) -> bool:
        """Whether nothing may be done any more but end the call: a hazard was seen, or the machine is not in hand."""
        return self.standing.safety.hazard == "seen" or self.standing.safety.use != "in hand"

    def lawful(self, demands: Sequence[Demand]) -> frozenset[str]:
        """Names of the states in which one of the demands is met; never before it was looked whether there is a hazard."""
        wanted, who = tuple(demands), self.shop.who
        # Dozens of checks ask for the same few things
        if wanted not in self.met:
            self.met[wanted] = met_in(
                self.whole, lambda s: s.hazard != "unknown" and not refused(wanted, s, who=who)
            )
        return self.met[wanted]

    def near(self, demands: Sequence[Demand]) -> float:
        """Money of the cheapest way to where one of the demands is met; infinite when there is none."""
        start = self.standing.safety.name
        return min((self.whole.cost(start, name) for name in self.lawful(demands)), default=np.inf)


def wire(place: World, cloud: Cloud, shop: Shop, standing: Standing, rng: np.random.Generator) -> Wired:
    """The problem of a call. cloud : the machine as it is now; after a repair that of `proof.as_left`."""
    sampled = sample(place, cloud, rng)
    cures = _likely(place, shop, standing, sampled)
    site = Site(place, cloud, shop, standing, *_ground(place, shop, standing, cures))
    states = hidden(place, sampled, cures, pulled_out=standing.safety.place == "pulled out")
    # Repairs come first, since what a check is worth depends on what could be done
    curing = Curing(place.description, states, shop, cures)
    repairs = [_repair(site, curing, r) for r in cures]
    asked = _checks(site, states, _trying(site, states, cures, repairs))
    acts = [*(a for a, _ in asked), *_testing(site, states), *repairs]
    acts += [*_orders(site, len(states.left), cures), *_endings(site, states)]
    graph = _graph(site, acts, states)
    acts = [_within(a, graph) for a in acts]
    start = PHONE if standing.phone else standing.safety.name
    held = frozenset(r.part for r in cures if not standing.parts.isdisjoint(r.faults))
    problem = Problem(states.weight, tuple(acts), graph, start, held, shop.qualified)
    minutes = {a.name: m.minutes for a, m in asked} | {r.name: r.minutes for r in cures}
    return Wired(
        problem,
        site.whole,
        states,
        {m.name: m for _, m in asked},
        {r.name: r for r in cures},
        minutes,
        site.home,
    )


def _ground(place: World, shop: Shop, standing: Standing, cures: Sequence[Remedy]) -> tuple[Ground, str]:
    """The states a call may pass, and the name of the one as used. cures : remedies in question, for the panels they open."""
    safety = standing.safety
    panels = {p for r in cures for d in r.demands for p in d.panels} | safety.panels
    panels |= {p for c in place.description.checks.values() for p in c.access if p in PANELS}
    whole = ground(safety, {p: PANELS[p] for p in panels if p in PANELS}, shop.rate, who=shop.who)
    water = "none" if safety.water == "none" else "on"
    home = replace(safety, power="on", water=water, place="in place", panels=frozenset())
    # What is not known to be safe is looked at before anything is switched on
    if safety.hazard == "unknown":
        home = replace(home, hazard="none seen")
    return whole, home.name if home.name in whole.states else ""


def eligible(place: World, standing: Standing, sampled: Sample) -> Mapping[str, np.ndarray]:
    """Checks that may be asked -> (n,) whether the sampled machines have what they need. Those read are left out."""
    checks = [check for check in place.description.checks.values() if check.id not in standing.read]
    return present(place, sampled.population, sampled.rows, checks)


def _likely(place: World, shop: Shop, standing: Standing, sampled: Sample) -> tuple[Remedy, ...]:
    likely = {f for f, m in sampled.chance().items() if m > LIKELY}
    found = remedies(place.description, shop, likely)
    return tuple(r for r in found if tries(r, standing.repaired) < TRIES)


def tries(remedy: Remedy, repaired: Sequence[str]) -> int:
    """How often a remedy was done, by the fault of it that was repaired most often."""
    return max(repaired.count(f) for f in remedy.faults)


def _trying(site: Site, states: Hidden, cures: Sequence[Remedy], repairs: Sequence[Action]) -> Trying:
    """Remedies as the cheap figure sees them, on the kinds and the undescribed one."""
    seen = [*range(len(states.sample.faults)), len(states.left) - 1]
    shop = site.shop
    cost = [cost_of(shop, r) + _way(site, r) + (shop.trip if r.order else 0.0) for r in cures]
    cured = [a.cures[seen] for a in repairs if a.cures is not None]
    # Saying that nothing is wrong is one of the things to try
    cured.append(np.where(states.sick[seen], 0.0, 1.0))
    cost.append(EXPLAIN_MINUTES * shop.rate)
    return Trying(np.array(cured), np.array(cost), min(shop.replace, shop.stop_value))


def _way(site: Site, remedy: Remedy) -> float:
    near = site.near(remedy.demands)
    return near if np.isfinite(near) else 0.0


def _checks(site: Site, states: Hidden, trying: Trying) -> list[tuple[Action, Asked]]:
    found = _chosen(site, states, trying)
    told = _questions(site, states) if site.standing.phone else []
    rest = _derived(site, states, [t.check for t in found])
    weight = np.append(states.sample.mass, states.sample.unknown)
    made = []
    for table, derived in zip(found, rest, strict=True):
        # The bands are cut by what they are worth here, so they may differ from one decision to the next
        many = not table.check.is_look and len(table.cut.edges) > 0
        keep = bands(trying, table.chances[: len(table.cut.edges) + 1], weight) if many else []
        made.append(_check(site, states, table, keep, derived=derived))
    return made + told


def _derived(site: Site, states: Hidden, checks: Sequence[Check]) -> list[np.ndarray]:
    """True values of each check on the machines that stand for derived states, (d,) each."""
    if not len(states.derived) or not checks:
        return [np.zeros(0, dtype=np.float32)] * len(checks)
    left = [states.left[i] for i in states.owner]
    drawn = drawn_with(site.place, states.sample.population, states.derived, left, found=True)
    moved = states.moved[states.owner]
    names = [c.id for c in checks]
    shown = shown_by(site.place, drawn, names, moved)
    return list(shown)


@dataclass(frozen=True, eq=False)
class Table:
    """P(outcome | kind) of a check, the undescribed last, (r, k + 1). there : (n,) machines that have what it needs."""

    check: Check
    chances: Floats
    cut: Cuts
    has_all: bool


def _chosen(site: Site, states: Hidden, trying: Trying) -> list[Table]:
    """The checks worth planning with."""
    sampled, shop = states.sample, site.shop
    if not len(sampled.rows):
        return []
    tables, costs = [], []
    for table in check_tables(site.place, site.cloud, site.standing, sampled):
        check = table.check
        near = site.near(_demands(site.standing, check)) if shop.qualified or not check.live else np.inf
        if np.isfinite(near) and (not site.standing.phone or "phone" in check.where):
            tables.append(table)
            costs.append(near + shop.rate * check_minutes(check.minutes, check.access))
    weight = np.append(sampled.mass, sampled.unknown)
    # What only moving destroys is weighed while it is still there
    easing = moved_by_pulling(site.place.description) if (sampled.mass @ sampled.eased) > LIKELY else {}
    perishable = [i for i, t in enumerate(tables) if t.check.reads in easing and "OUT" not in t.check.access]
    picked = chosen(trying, [t.chances for t in tables], weight, np.array(costs), perishable=perishable)
    # What proves the repair is always among them, however little it tells about other causes
    proving = site.standing.proof.checks if site.standing.proof else ()
    picked += [i for i, t in enumerate(tables) if t.check.id in proving and i not in picked]
    return [tables[i] for i in picked]


def _demands(standing: Standing, check: Check) -> tuple[Demand, ...]:
    """What a check demands now. Once something was repaired, what the customer would see is read as used: else it proves nothing."""
    found = demands_of_check(check)
    return as_customer_uses(found) if standing.repaired and taken_as_used(check) else found


def check_tables(place: World, cloud: Cloud, standing: Standing, sampled: Sample) -> list[Table]:
    """What every check not read yet may show on the kinds; those that most machines have."""
    found = eligible(place, standing, sampled).items()
    most = MOSTLY * float(sampled.weight.sum())
    checks = place.description.checks
    return [
        _table(cloud, sampled, checks[c], there)
        for c, there in found
        if float(sampled.weight @ there) >= most
    ]


def _table(cloud: Cloud, sampled: Sample, check: Check, there: np.ndarray) -> Table:
    shown = cloud.population.row(check.id)[sampled.rows]
    cut, reach = cuts(check, shown[there]), reach_of(cloud.population, check)
    healthy = cloud.population.healthy[cloud.population.checks.index(check.id)][:HEALTHY]
    each = chances(check, reach, shown, cut)
    unknown = unknown_chances(check, reach, healthy, cut)
    if not there.all():
        # Some have not what it needs: that is an outcome too, of what is not described as often as of the others
        said = lacks(there)
        share = float(sampled.weight @ said / sampled.weight.sum())
        each = np.vstack([each * (1.0 - said), said])
        unknown = np.append(unknown * (1.0 - share), share)
    return Table(check, np.column_stack([sampled.means(each), unknown]), cut, bool(there.all()))


def _check(
    site: Site, states: Hidden, table: Table, keep: list[int], *, derived: np.ndarray
) -> tuple[Action, Asked]:
    """A check as an action. keep : last fine band of each band, none for a look. derived : true values of derived states."""
    check, cut = table.check, table.cut
    after = states.derived_mean(chances(check, reach_of(site.cloud.population, check), derived, cut))
    if not table.has_all:
        after = np.vstack([after, np.zeros((1, after.shape[1]))])
    whole = np.column_stack([table.chances[:, :-1], after, table.chances[:, -1]])
    if keep:
        fine = keep[-1] + 1
        whole = np.vstack([merged(whole[:fine], keep), whole[fine:]])
        cut = Cuts(cut.edges[keep[:-1]])
    names = cut.names(check) if table.has_all else (*cut.names(check), NOT_THERE)
    # Rounding in a mean may leave a sum a hair from 1
    whole = whole / whole.sum(axis=0)
    minutes = check_minutes(check.minutes, check.access)
    outcomes = tuple(Outcome(name, np.ascontiguousarray(row)) for name, row in zip(names, whole, strict=True))
    at = frozenset({PHONE}) if site.standing.phone else site.lawful(_demands(site.standing, check))
    kind = QUESTION if site.standing.phone else CHECK
    action = Action(check.id, kind, minutes * site.shop.rate, outcomes, at=at, live=check.live)
    return action, Asked(check.id, check, names, minutes, cut)


def _questions(site: Site, states: Hidden) -> list[tuple[Action, Asked]]:
    """Circumstances not told yet, asked on the phone."""
    out = []
    for circumstance in site.place.description.circumstances.values():
        points = set(circumstance.times) & set(site.complaint.shares)
        if circumstance.ask and points and circumstance.name not in site.standing.read:
            table = question_chances(circumstance.times, states.left)
            action = actions.question(
                circumstance.name, ASK_MINUTES * site.shop.rate, table.T, at=PHONE, answers=("yes", "no")
            )
            out.append(
                (action, Asked(circumstance.name, None, ("yes", "no"), ASK_MINUTES, Cuts(np.zeros(0))))
            )
    return out


def _repair(site: Site, curing: Curing, remedy: Remedy) -> Action:
    effect = curing.effect(remedy)
    fails = 1.0 - effect.works
    ends = "handed over" if remedy.kind == HAND_OVER else "fixed"
    toll = effect.toll if effect.toll.any() else None
    # A hand over that was wrong shows after the other trade has been: one more trip
    again = None if remedy.seen else np.full(len(fails), site.shop.trip)
    outcomes = (
        Outcome("works", effect.works, toll=toll, ends=ends),
        Outcome("still fails", fails, toll=again, change=effect.change),
    )
    return Action(
        remedy.name,
        REPAIR,
        cost_of(site.shop, remedy),
        outcomes,
        at=site.lawful(remedy.demands),
        leaves=site.home or None,
        needs=frozenset({remedy.part}) if remedy.order else frozenset(),
        cures=effect.cures,
    )


def _testing(site: Site, states: Hidden) -> list[Action]:
    """The test after a repair, until it is recorded."""
    here = site.standing
    if not here.repaired or here.works is not None or site.halted or not site.home:
        return []
    return [testing(site.place, states, TEST * site.shop.rate, at=frozenset({site.home}))]


def _orders(site: Site, n: int, cures: Sequence[Remedy]) -> list[Action]:
    missing = [r.part for r in cures if r.order and site.standing.parts.isdisjoint(r.faults)]
    if not missing or not site.home or site.halted:
        return []
    found = actions.orders(n, missing, site.shop.trip, home=site.home, at_once=1)
    return [replace(a, kind=ORDER, at=frozenset({site.home})) for a in found]


def _endings(site: Site, states: Hidden) -> list[Action]:
    """The endings. An unrepaired call that stops loses the customer what the machine is worth to him."""
    n, shop = len(states.left), site.shop
    at = frozenset({site.home} | ({PHONE} if site.standing.phone else set())) if site.home else None
    sick = states.sick * 1.0
    ends = [actions.end("stop, unrepaired", shop.stop_value, np.zeros(n), as_="stopped", at=at)]
    if site.standing.safety.hazard == "seen":
        told = HANDING * shop.rate
        return [*ends, *(actions.hand_over(n, told, to=who, at=at) for who in site.standing.refer)]
    ends.append(actions.replace(n, shop.replace, at=at))
    # Saying it is well when it is not costs the callback and leaves the customer as he was
    missed = shop.callback + shop.stop_value
    repaired, well = bool(site.standing.repaired), not (states.sick | states.cured).all()
    proof = site.standing.proof
    # Where the readings prove it the record says so; the few machines that are planned with may differ by a hair
    said = proof is not None and proof.proven
    if (said or states.cured.any() or (repaired and well)) and not site.halted:
        proven = frozenset({site.home}) if site.home else frozenset({site.standing.safety.name})
        limit = 1.0 if said else shop.limit
        ends.append(actions.close_proven(sick, missed, limit=limit, at=proven))
    # Without it the way to the shop's limit would be to fit part after part on a machine that works
    if repaired and not site.halted:
        told = UNPROVEN_MINUTES * shop.rate
        ends.append(actions.end(UNPROVEN, told, missed * sick, as_="stopped", at=at))
    # Once something was repaired, only the proof says that it is well
    if well and not repaired and not site.halted:
        cost = EXPLAIN_MINUTES * shop.rate
        ends.append(actions.end("nothing is wrong", cost, missed * sick, as_="nothing wrong", at=at))
    return ends


def _graph(site: Site, acts: Sequence[Action], states: Hidden) -> Access:
    """The access graph over the states that some action needs."""
    safety = site.standing.safety
    # Few states make a quick plan: only those in which something is done, and where it begins and ends
    demanded = {safety.name, site.home} - {""}
    for name in {n for a in acts for n in (a.at or ())} & site.whole.states.keys():
        if _useful(site.whole.states[name]):
            demanded.add(name)
    graph = shortened(site.whole, sorted(demanded), pulling(states))
    return _phoned(graph, site) if site.standing.phone else graph


def _useful(state: Safety) -> bool:
    """States worth standing in: water shut but not let off, or proven dead with the water on, lead nowhere of their own."""
    if state.water == "off" or (state.power in ("dead", "discharged") and state.water == "on"):
        return False
    return not (state.power == "discharged" and not state.panels)


def _phoned(graph: Access, site: Site) -> Access:
    """The graph with the phone call before it: leaving it costs the call-out."""
    start = graph.names.index(site.standing.safety.name)
    m = len(graph.names)
    cost = np.full((m + 1, m + 1), np.inf)
    cost[:m, :m] = graph.cost
    cost[m, :m] = site.shop.call_out + graph.cost[start]
    cost[m, m] = 0.0
    follow = np.full((m + 1, m + 1), -1, dtype=np.int64)
    follow[:m, :m] = graph.follow
    follow[m] = np.where(np.isfinite(cost[m]), np.arange(m + 1), -1)
    moving = next(iter(graph.changes.values()), None)
    out = [graph.changes.get((start, j)) is not None for j in range(m)]
    changes = dict(graph.changes)
    if moving is not None:
        changes |= {(m, j): moving for j in range(m) if out[j]}
    return Access((*graph.names, PHONE), cost, follow, changes, (*graph.outlook, 0))


def _within(action: Action, graph: Access) -> Action:
    """The action in the states of the graph only."""
    return action if action.at is None else replace(action, at=action.at & set(graph.names))
