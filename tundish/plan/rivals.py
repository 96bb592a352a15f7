"""Ways to go about a call that the planner is held against, on the same bill.

printed chart (`chart`) : a fixed order of checks, each of which names a part. chart with our odds : the same order, but parts
named and tried by the tool's odds from the chart's readings. likeliest : the likeliest part first, no checks. informed : the
check with most information a minute until one remedy is sure enough. All but the printed chart are given the tool's own odds.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from tundish.appliance.records import Check
from tundish.diagnosis.odds import Cloud, weigh
from tundish.plan.advise import USUAL, planned
from tundish.plan.change import Floats
from tundish.plan.chart import NAMED, UNLIKELY, chart_lines, new_abnormal, next_line, remedies_left
from tundish.plan.demands import demands_of_check
from tundish.plan.lookahead import Budget
from tundish.plan.problem import ORDER
from tundish.plan.remedies import Remedy, check_minutes
from tundish.plan.samples import sample
from tundish.plan.simulated import Bench, Job, apply, chances, end, order, take
from tundish.plan.wired import check_tables

# One step of a call: does something to the job.
Way = Callable[[Job], None]
# Sure enough to repair; too little information. Our choice.
SURE, NOTHING_LEARNT = 0.8, 0.005


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


def chart_with_odds(bench: Bench) -> Way:
    """The chart's order of checks with the tool's odds.

    At an abnormal reading the part it names is fitted at once when that reading alone makes it likelier than not; else the
    chart goes on. At its end parts are tried by the tool's own odds from all its readings, then another machine is advised.
    """
    lines = {line.check.id: line for line in chart_lines(bench)}

    def step(job: Job) -> None:
        last = new_abnormal(lines, job)
        job.noted = len(job.readings)
        named = None
        if last is not None:
            named = _likeliest(weigh(bench.cloud, bench.description.checks, [last]), job, NAMED)
        check = next_line(lines, job)
        if named is not None:
            apply(job, named)
        elif check is not None:
            take(job, check)
        else:
            _try_or_replace(job, _likeliest(job.cloud, job, UNLIKELY))

    return step


def likeliest(bench: Bench) -> Way:
    """The likeliest part first, without a check, by odds that know which repairs have failed."""

    def step(job: Job) -> None:
        _try_or_replace(job, _likeliest(job.cloud, job, UNLIKELY))

    return step


def informed(bench: Bench) -> Way:
    """The check with most information a minute, its way counted, until one remedy is sure enough; then remedies by chance over cost."""

    def step(job: Job) -> None:
        chance = _chances(job.cloud, job)
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


def _likeliest(cloud: Cloud, job: Job, least: float) -> Remedy | None:
    """The remedy with the greatest chance that is left to try, None when that is below `least`."""
    chance = _chances(cloud, job)
    best = max(chance, key=lambda r: chance[r], default=None)
    return best if best is not None and chance[best] >= least else None


def _chances(cloud: Cloud, job: Job) -> dict[Remedy, float]:
    """Chance of the faults each remedy is for, those tried often enough left out."""
    return chances(remedies_left(job.bench.remedies, job), cloud)


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
