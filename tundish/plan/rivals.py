"""Ways to go about a call that the planner is held against, on the same bill.

chart : a fixed order of checks, as on a printed chart. likeliest : the likeliest part first, no checks. informed : the
check with most information a minute until one remedy is sure enough. Each is given what is good about it: the chart its
trade's own first checks and only checks that tell something about the complaint; the other two the tool's own odds.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from tundish.appliance.records import Check
from tundish.diagnosis.odds import Cloud, weigh
from tundish.diagnosis.reading import Reading
from tundish.plan.advise import USUAL, planned
from tundish.plan.change import Floats
from tundish.plan.demands import PANELS, demands_of_check
from tundish.plan.lookahead import Budget
from tundish.plan.problem import ORDER
from tundish.plan.remedies import Remedy, check_minutes
from tundish.plan.samples import sample
from tundish.plan.simulated import Bench, Job, apply, end, order, take
from tundish.plan.wired import check_tables

# One step of a call: does something to the job.
Way = Callable[[Job], None]
# First checks of the trade for a complaint, common practice, no source; those a family has not are passed over.
FIRST = {
    "SLOW": ("C02", "C13.cold", "C03"),
    "COLD/HOT": ("C02", "C13.cold", "C03"),
    "OVER": ("W03",),
    "NODRAIN": ("W08", "W09"),
    "TRIP": ("C22.cold", "C22.warm"),
}
# A cheap outside check of a chart, minutes; a cause worth a line of it; how often a fault must show. Our choice.
CHEAP, LISTED, SHOWN = 10.0, 0.03, 0.5
# Outside this band of healthy readings, or an answer rarer than that among them, a reading is abnormal on a chart.
HEALTHY, RARE = (0.01, 0.99), 0.05
# A part less likely than this is not tried any more; a reading names a part from here; sure enough to repair; too
# little information. Our choice.
UNLIKELY, NAMED, SURE, NOTHING_LEARNT = 0.05, 0.5, 0.8, 0.005


def ours(budget: Budget = USUAL) -> Way:
    """The planner's advice, asked anew after each step."""

    def step(job: Job) -> None:
        bench = job.bench
        seed = bench.seed + job.number
        found = planned(bench.place, job.cloud, bench.shop, job.standing, budget=budget, seed=seed)
        action = found.wired.problem.actions[found.ranked[0].option.action]
        if action.name in found.wired.asked:
            take(job, bench.description.checks[action.name])
        elif action.name in found.wired.cures:
            apply(job, found.wired.cures[action.name])
        elif action.kind == ORDER:
            order(job, next(r for r in found.wired.cures.values() if r.part in action.outcomes[0].grants))
        else:
            end(job, action.name)

    return step


@dataclass(frozen=True)
class Line:
    """A line of a chart: a check, and the readings that are normal: a band in SI, or answers."""

    check: Check
    low: float
    high: float
    answers: frozenset[str]

    def abnormal(self, reading: Reading) -> bool:
        """Whether a reading is outside."""
        if reading.answer is not None:
            return reading.answer not in self.answers
        return reading.value is not None and not self.low <= reading.value <= self.high


def chart(bench: Bench) -> Way:
    """A fixed order: the trade's first checks, cheap outside checks, then the others in the description's order.

    At an abnormal reading the part it names is fitted at once when that reading alone makes it likelier than not; else the
    chart goes on. At its end parts are tried by the tool's own odds from all its readings, then another machine is advised.
    """
    lines = {line.check.id: line for line in _lines(bench)}

    def step(job: Job) -> None:
        named = _named(bench, lines, job)
        # A reading names a part once; when that fails the chart goes on
        job.noted = len(job.readings)
        left = [line.check for name, line in lines.items() if name not in job.read]
        lawful = [c for c in left if np.isfinite(job.way(demands_of_check(c))[0])]
        if named is not None:
            apply(job, named)
        elif lawful:
            take(job, lawful[0])
        else:
            _try_or_replace(job, _likeliest(bench, job.cloud, job, UNLIKELY))

    return step


def _named(bench: Bench, lines: Mapping[str, Line], job: Job) -> Remedy | None:
    """What the last reading names, when it is new, on the chart and abnormal."""
    if not job.readings or job.noted == len(job.readings):
        return None
    last = job.readings[-1]
    if last.check not in lines or not lines[last.check].abnormal(last):
        return None
    return _likeliest(bench, weigh(bench.cloud, bench.description.checks, [last]), job, NAMED)


def likeliest(bench: Bench) -> Way:
    """The likeliest part first, without a check, by odds that know which repairs have failed."""

    def step(job: Job) -> None:
        _try_or_replace(job, _likeliest(bench, job.cloud, job, UNLIKELY))

    return step


def informed(bench: Bench) -> Way:
    """The check with most information a minute, its way counted, until one remedy is sure enough; then remedies by chance over cost."""

    def step(job: Job) -> None:
        chance = _chances(bench, job.cloud, job)
        best = max(chance.values(), default=0.0)
        # Above that more information is not bought
        if best < SURE:
            check = _most_informative(job)
            if check is not None:
                take(job, check)
                return
        ranked = sorted(chance, key=lambda r: -chance[r] / (_cost(job, r)))
        good = [r for r in ranked if chance[r] >= UNLIKELY]
        if not good and _nothing_wrong(bench, job.cloud) > 0.5 and not job.tried:
            end(job, "nothing is wrong")
            return
        _try_or_replace(job, good[0] if good else None)

    return step


def _cost(job: Job, remedy: Remedy) -> float:
    shop = job.bench.shop
    ordered = shop.trip if remedy.order and job.held.isdisjoint(remedy.faults) else 0.0
    return remedy.price + remedy.minutes * shop.rate + ordered + job.way(remedy.demands)[0]


def _try_or_replace(job: Job, remedy: Remedy | None) -> None:
    if remedy is None:
        end(job, "advise another machine")
    else:
        apply(job, remedy)


def _likeliest(bench: Bench, cloud: Cloud, job: Job, least: float) -> Remedy | None:
    """The remedy with the greatest chance that is left to try, None when that is below `least`."""
    chance = _chances(bench, cloud, job)
    best = max(chance, key=lambda r: chance[r], default=None)
    return best if best is not None and chance[best] >= least else None


def _chances(bench: Bench, cloud: Cloud, job: Job) -> dict[Remedy, float]:
    """Chance of the faults each remedy is for, those tried left out."""
    top = max(float(cloud.log_weight.max(initial=-np.inf)), cloud.log_unknown)
    weight = np.exp(cloud.log_weight - top)
    total = float(weight.sum()) + float(np.exp(cloud.log_unknown - top))
    ids, codes = cloud.population.fault_codes
    out = {}
    for remedy in bench.remedies:
        if remedy in job.tried:
            continue
        mine = np.isin(codes, [ids.index(f) for f in remedy.faults if f in ids])
        there = (mine[cloud.population.stratum] & cloud.population.present).any(axis=1)
        out[remedy] = float(weight[there].sum()) / total
    return out


def _nothing_wrong(bench: Bench, cloud: Cloud) -> float:
    top = max(float(cloud.log_weight.max(initial=-np.inf)), cloud.log_unknown)
    weight = np.exp(cloud.log_weight - top)
    well = np.array([h.kind == "normal" for h in cloud.population.hypotheses])[cloud.population.stratum]
    return float(weight[well].sum()) / (float(weight.sum()) + float(np.exp(cloud.log_unknown - top)))


def _most_informative(job: Job) -> Check | None:
    bench, rng = job.bench, np.random.default_rng([job.bench.seed, job.number, len(job.read)])
    sampled = sample(bench.place, job.cloud, rng)
    best, most = None, NOTHING_LEARNT
    weight = np.append(sampled.mass, sampled.unknown)
    groups = _groups(sampled.faults)
    for table in check_tables(bench.place, job.cloud, job.standing, sampled):
        check = table.check
        if check.live:
            continue
        way = job.way(demands_of_check(check))[0]
        if np.isfinite(way):
            minutes = way / bench.shop.rate + check_minutes(check.minutes, check.access)
            gain = _information(table.chances * weight, groups)
            if gain > NOTHING_LEARNT and gain / minutes > (most if best is not None else 0.0):
                best, most = check, gain / minutes
    return best


def _groups(faults: Sequence[frozenset[str]]) -> np.ndarray:
    """(k + 1,) number of the set of faults of each kind, the undescribed last."""
    number: dict[frozenset[str], int] = {}
    return np.array([number.setdefault(f, len(number)) for f in faults] + [len(faults)])


def _information(joint: Floats, groups: np.ndarray) -> float:
    """Expected fall of the entropy of what is wrong, [nat]. joint : (r, k) chance."""
    summed = np.array([np.bincount(groups, weights=row) for row in joint])
    return _entropy(summed.sum(axis=0)) - sum(float(row.sum()) * _entropy(row) for row in summed)


def _entropy(weight: Floats) -> float:
    p = weight[weight > 0] / max(weight.sum(), 1e-300)
    return float(-(p * np.log(p)).sum())


def _lines(bench: Bench) -> list[Line]:
    """The chart's lines in their order."""
    checks = [c for c in bench.description.checks.values() if not c.live and _tells(bench, c)]
    first = [
        bench.description.checks[c]
        for c in FIRST.get(bench.truth.complaint, ())
        if c in bench.description.checks
    ]
    outside = [c for c in checks if c.minutes <= CHEAP and not set(c.access) & PANELS.keys()]
    ordered = dict.fromkeys([c.id for c in (*first, *outside, *checks)])
    return [_line(bench, bench.description.checks[c]) for c in ordered]


def _line(bench: Bench, check: Check) -> Line:
    sound = bench.cloud.population.healthy[bench.cloud.population.checks.index(check.id)]
    if check.is_look:
        share = np.bincount(sound.astype(int), minlength=len(check.answers)) / len(sound)
        usual = frozenset(a.name for a, s in zip(check.answers, share, strict=True) if s >= RARE)
        return Line(check, 0.0, 0.0, usual)
    low, high = np.quantile(sound, HEALTHY, method="nearest")
    error = 2.0 * (check.instrument.absolute if check.instrument else 0.0)
    return Line(
        check, float(low) * (1 - check.model) - error, float(high) * (1 + check.model) + error, frozenset()
    )


def _tells(bench: Bench, check: Check) -> bool:
    """Whether some cause of the complaint that is worth a line shows at this check."""
    line, population = _line(bench, check), bench.cloud.population
    row, shares = population.row(check.id), bench.complaint.shares
    for index, hypothesis in enumerate(population.hypotheses):
        listed = len(hypothesis.roots) == 1 and shares[hypothesis.roots[0]] >= LISTED * sum(shares.values())
        if not listed or hypothesis.kind != "root":
            continue
        shown = row[population.stratum == index]
        if check.is_look:
            named = np.array([a.name not in line.answers for a in check.answers])[shown.astype(int)]
        else:
            named = (shown < line.low) | (shown > line.high)
        if len(named) and float(named.mean()) >= SHOWN:
            return True
    return False
