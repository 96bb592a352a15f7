"""Simulated calls through several ways of going about them, with intervals and paired differences."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from tundish.diagnosis.odds import start
from tundish.plan.change import Floats
from tundish.plan.chart import printed
from tundish.plan.errors import PlanError
from tundish.plan.rivals import Way, chart_with_odds, informed, likeliest, ours
from tundish.plan.shop import Shop
from tundish.plan.simulated import Bench, Bill, end, start_job
from tundish.population.build import World, build
from tundish.population.hypotheses import priors, shares

# Steps after which a call is given up; no way of going about it should need them. Our choice.
MOST_STEPS = 60
# Two-sided 95 % of a normal mean.
Z95 = 1.959964
WAYS = ("ours", "chart", "chart with our odds", "likeliest part", "information a minute")


@dataclass(frozen=True)
class Figure:
    """A mean over calls with the ends of its 95 % interval (normal approximation)."""

    mean: float
    low: float
    high: float


@dataclass(frozen=True)
class Result:
    """How one way did. first_visit : share of calls settled rightly without a second trip or callback."""

    way: str
    cost: Figure
    minutes: Figure
    checks: Figure
    wrong: Figure
    first_visit: Figure
    bills: tuple[Bill, ...]


@dataclass(frozen=True)
class Trial:
    """All ways on the same calls. saved : way -> paired difference, that way's cost less ours. ratio : ours over each, means."""

    complaint: str
    calls: int
    results: tuple[Result, ...]
    saved: Mapping[str, Figure]
    ratio: Mapping[str, float]


def bench(
    place: World,
    complaint: str,
    shop: Shop,
    *,
    size: int,
    seed: int,
    told: Sequence[str] = (),
    age: float | None = None,
) -> Bench:
    """A bench: the tool's machines from one seed, the calls' machines from another."""
    record = place.description.complaints[complaint]
    share = shares(place.description, record, age, told)
    # Odds must not be made from the very machines they are tried on
    mine, other = build(place, complaint, size, seed), build(place, complaint, size, seed + 1)
    cloud = start(mine, priors(mine.hypotheses, record, share))
    return Bench(place, shop, cloud, other, priors(other.hypotheses, record, share), seed)


def trial(
    made: Bench,
    calls: int,
    *,
    ways: Sequence[str] = WAYS,
    progress: Callable[[float], None] = lambda share: None,
) -> Trial:
    """Run calls through the ways named. Every way meets the same machines, and the same check shows the same on them."""
    if calls < 2:
        raise PlanError(seen=f"{calls} calls", allowed="2 or more", do="give more calls")
    made_ways = {w: _way(made, w) for w in ways}
    bills: dict[str, list[Bill]] = {w: [] for w in ways}
    for number in range(calls):
        # All ways through one call before the next, so that a trial cut short is still in pairs
        for name, way in made_ways.items():
            bills[name].append(played(made, number, way))
        progress((number + 1) / calls)
    results = tuple(_result(name, found) for name, found in bills.items())
    return Trial(made.truth.complaint, calls, results, *_against(bills))


def _way(made: Bench, name: str) -> Way:
    known: dict[str, Callable[[], Way]] = {
        "ours": ours,
        "chart": lambda: printed(made),
        "chart with our odds": lambda: chart_with_odds(made),
        "likeliest part": lambda: likeliest(made),
        "information a minute": lambda: informed(made),
    }
    if name not in known:
        raise PlanError(seen=f"way {name!r}", allowed=", ".join(WAYS), do="name one of these")
    return known[name]()


def played(made: Bench, number: int, way: Way) -> Bill:
    """The bill of one simulated call worked in one way."""
    job = start_job(made, number)
    for _ in range(MOST_STEPS):
        if job.over:
            break
        way(job)
    if not job.over:
        end(job, "stop, unrepaired")
    return job.bill


def _result(way: str, bills: Sequence[Bill]) -> Result:
    settled = [b.settled for b in bills]
    return Result(
        way,
        figure([b.cost for b in bills]),
        figure([b.minutes for b in bills]),
        figure([float(b.checks) for b in bills]),
        figure([float(b.wrong) for b in bills]),
        figure([float(s) for s in settled]),
        tuple(bills),
    )


def figure(values: Sequence[float] | Floats) -> Figure:
    """The mean of values with its 95 % interval.

    >>> figure([1.0, 3.0]).mean
    2.0
    """
    held = np.asarray(values, dtype=np.float64)
    mean, error = float(held.mean()), float(held.std(ddof=1) / np.sqrt(len(held)))
    return Figure(mean, mean - Z95 * error, mean + Z95 * error)


def _against(bills: Mapping[str, Sequence[Bill]]) -> tuple[dict[str, Figure], dict[str, float]]:
    if "ours" not in bills:
        return {}, {}
    mine = np.array([b.cost for b in bills["ours"]])
    others = {w: np.array([b.cost for b in found]) for w, found in bills.items() if w != "ours"}
    return {w: figure(c - mine) for w, c in others.items()}, {
        w: float(mine.mean() / c.mean()) for w, c in others.items()
    }
