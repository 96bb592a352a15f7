"""The call in the pocket against the full odds and the full planner.

    python -m bench.bench_pocket [--calls 200] [--asked 40] [--whole 60] [--family NAME]

For each family, its first complaint: the largest difference of any cause's odds over random calls with none to four readings; how often
the pocket's next action is the planner's, and what another one costs by the planner's own figure; and whole calls simulated both
ways on the same machines (the pocket until the first repair, the planner after it). Times in a browser's engine need Node.
"""

from __future__ import annotations

import argparse
import shutil
import subprocess
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from tools.pocket_vectors import read_on
from tundish.appliance.possible import complaints_of
from tundish.diagnosis.odds import odds as full_odds
from tundish.diagnosis.odds import weigh as full_weigh
from tundish.diagnosis.reading import NOT_THERE, Reading
from tundish.plan import rivals, simulated
from tundish.plan.advise import Planned, planned
from tundish.plan.demands import water_of
from tundish.plan.pocket import Case, pack
from tundish.plan.pocket_kernel import Pocket, odds, opened, weigh
from tundish.plan.pocket_next import Place, Way, board
from tundish.plan.shop import shop_for
from tundish.plan.standing import Standing
from tundish.plan.states import Safety
from tundish.plan.trial import MOST_STEPS, Figure, bench, figure
from tundish.population.build import world
from tundish.store import library

SIZE, SEED, SURE = 20_000, 7, 200.0
# Calls below which no interval is worth its name; fewer skip the whole calls.
FEWEST = 10
# Calls whose every action is rated: the planner is asked at each step.
MOST_RATED = 40
KERNEL = Path(__file__).parents[1] / "tundish" / "web" / "static" / "kernel.js"
TIMES = """
import { readFileSync } from "node:fs";
const [kernel, pack] = process.argv.slice(-2);
const { board, odds, unpack, weigh } = await import(kernel);
const pocket = await unpack(readFileSync(pack));
const looks = [...pocket.checks.values()].filter((c) => !c.errors).slice(0, 6);
const readings = looks.map((c) => ({ check: c.id, answer: c.answers[0], value: null, bound: "exact" }));
const middle = (run) => {
  const all = [];
  for (let i = 0; i < 15; i++) {
    const t = performance.now();
    run();
    all.push(performance.now() - t);
  }
  return all.sort((a, b) => a - b)[7].toFixed(1);
};
console.log(middle(() => odds(weigh(pocket, readings))), middle(() => board(weigh(pocket, []), {})));
"""


@dataclass(frozen=True)
class Answered:
    """One next action asked of both. same : whether it is the planner's.

    extra : money more, by the planner's figures; None when it has none.
    """

    same: bool
    extra: float | None


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the figures of every family."""
    wanted = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else "")
    wanted.add_argument("--calls", type=int, default=200)
    wanted.add_argument("--asked", type=int, default=40)
    wanted.add_argument("--whole", type=int, default=60)
    wanted.add_argument("--family", action="append", help="one of the families; all without it")
    given = wanted.parse_args(arguments)
    for family in given.family or library.families():
        told(family, given.calls, given.asked, given.whole)
    return 0


def told(family: str, calls: int, asked: int, whole: int) -> None:
    """Print the figures of a family."""
    description = library.load(family)
    market = next(iter(description.markets))
    complaint = next(iter(complaints_of(description, market)))
    place, shop = world(description, market), shop_for(description.markets[market])
    made = bench(place, complaint, shop, size=SIZE, seed=SEED)
    standing = Standing(safety=Safety(water=water_of(description)))
    case = Case(place, made.cloud, made.cloud, (), shop, standing)
    file = pack(case, np.random.default_rng(SEED))
    pocket = opened(file)
    print(f"\n{family}, {market}, {complaint}: {len(file):,} bytes, {len(pocket.prior):,} machines")
    rng = np.random.default_rng(SEED)
    drawn = [random_call(case, pocket, rng) for _ in range(calls)]
    gaps = np.array([gap(case, pocket, readings) for readings in drawn])
    good = gaps[gaps[:, 1] >= SURE, 0]
    print(
        f"odds: largest {gaps[:, 0].max():.3f}, of the {len(good)} sure calls {good.max():.3f}, median {np.median(gaps[:, 0]):.4f}"
    )
    both = [answer(case, pocket, r) for r, g in zip(drawn, gaps, strict=True) if g[1] >= SURE][:asked]
    extra = [a.extra for a in both if a.extra is not None]
    print(
        f"action: {sum(a.same for a in both)} of {len(both)} the same; extra {spread(figure(extra))} {shop.currency}"
    )
    print(f"node, ms: odds and next action {times(file)}", flush=True)
    if whole < FEWEST:
        return
    pairs = [(run(made, n, pocket), run(made, n, None)) for n in range(whole)]
    mine, ours = (np.array([p[i] for p in pairs]) for i in (0, 1))
    less = [lost(made, n, pocket) for n in range(min(whole, MOST_RATED))]
    print(
        f"by the planner's figures its actions cost {spread(figure(less))} {shop.currency} more, {len(less)} calls"
    )
    print(
        f"whole calls: {mine.mean():.0f} against {ours.mean():.0f}; extra {spread(figure(mine - ours))} {shop.currency}",
        flush=True,
    )


def random_call(case: Case, pocket: Pocket, rng: np.random.Generator) -> list[Reading]:
    """None to four readings of one machine at checks drawn at random."""
    cloud = case.first
    weight = np.exp(cloud.log_weight) / np.exp(cloud.log_weight).sum()
    machine = int(rng.choice(cloud.population.size, p=weight))
    asked = rng.choice(sorted(pocket.checks), int(rng.integers(0, 5)), replace=False).tolist()
    found = [read_on(case.place.description.checks[c], cloud, machine, rng) for c in asked]
    return [replace(r, bound="exact") for r in found]


def gap(case: Case, pocket: Pocket, readings: Sequence[Reading]) -> tuple[float, float]:
    """Largest difference of any cause's odds, and the effective machines behind the full odds."""
    theirs = full_odds(full_weigh(case.first, case.place.description.checks, readings))
    mine = odds(weigh(pocket, readings))
    apart = [abs(theirs.causes.get(c, 0.0) - p) for c, p in mine.causes.items()]
    return max(
        *apart, abs(theirs.nothing - mine.nothing), abs(theirs.unknown - mine.unknown)
    ), theirs.effective


def answer(case: Case, pocket: Pocket, readings: Sequence[Reading]) -> Answered:
    """The next action of both."""
    cloud = full_weigh(case.first, case.place.description.checks, readings)
    standing = replace(case.standing, read=frozenset(r.check for r in readings))
    found = planned(case.place, cloud, case.shop, standing)
    shown = board(weigh(pocket, readings), Place())
    if not shown.options:
        return Answered(False, None)
    best, costs = rated(found)
    mine = named(pocket, shown.options[0])
    return Answered(best == mine, costs[mine] - costs[best] if mine in costs else None)


def rated(found: Planned) -> tuple[str, dict[str, float]]:
    """The planner's action, and what the whole call costs with each that it rates."""
    actions = found.wired.problem.actions
    costs: dict[str, float] = {}
    for ranked in found.ranked:
        name = actions[ranked.option.action].name
        costs[name] = min(costs.get(name, np.inf), ranked.cost)
    return actions[found.ranked[0].option.action].name, costs


def named(pocket: Pocket, option: Way) -> str:
    """An option of the pocket by the planner's name."""
    parts = {r["name"]: r["part"] for r in pocket.head["remedies"]}
    return f"order {parts[option.what]}, return" if option.kind == "order" else option.what


def lost(made: simulated.Bench, number: int, pocket: Pocket) -> float:
    """What the pocket's actions until the first repair cost more than the planner's, by the planner's figures.

    An action that the planner does not rate counts nothing. Far steadier than the bill, in which luck has the greater part.
    """
    job, total = simulated.start_job(made, number), 0.0
    for _ in range(MOST_STEPS):
        first = None if job.over or job.tried else first_of(job, pocket)
        if first is None:
            break
        best, costs = rated(planned(made.place, job.cloud, made.shop, job.standing, seed=made.seed + number))
        total += costs.get(named(pocket, first), costs[best]) - costs[best]
        do(job, first)
    return total


def run(made: simulated.Bench, number: int, pocket: Pocket | None) -> float:
    """Money of a call: by the pocket until the first repair, or by the planner alone."""
    job, full = simulated.start_job(made, number), rivals.ours()
    for _ in range(MOST_STEPS):
        if job.over:
            break
        if pocket is None or job.tried or not step(job, pocket):
            full(job)
    if not job.over:
        simulated.end(job, "stop, unrepaired")
    return job.bill.cost


def step(job: simulated.Job, pocket: Pocket) -> bool:
    """Do what the pocket says; False when it says nothing."""
    first = first_of(job, pocket)
    if first is not None:
        do(job, first)
    return first is not None


def first_of(job: simulated.Job, pocket: Pocket) -> Way | None:
    """What the pocket says; None when it says nothing."""
    lacking = [Reading(c, answer=NOT_THERE) for c in sorted(job.read - {r.check for r in job.readings})]
    shown = board(weigh(pocket, [*job.readings, *lacking]), Place(job.state.name, frozenset(job.held)))
    return next((o for o in shown.options if o.what not in job.read), None)


def do(job: simulated.Job, first: Way) -> None:
    """Do an option of the pocket."""
    remedy = next((r for r in job.bench.remedies if r.name == first.what), None)
    if first.kind == "check":
        simulated.take(job, job.bench.description.checks[first.what])
    elif remedy is None:
        simulated.end(job, first.what)
    else:
        (simulated.order if first.kind == "order" else simulated.apply)(job, remedy)


def times(file: bytes) -> str:
    """Milliseconds of six readings weighed, and of a next action, in Node."""
    node = shutil.which("node")
    if node is None:
        return "not measured, no Node"
    with tempfile.TemporaryDirectory() as folder:
        script, content = Path(folder) / "times.mjs", Path(folder) / "call.pack"
        script.write_text(TIMES, encoding="utf-8")
        content.write_bytes(file)
        done = subprocess.run(
            [node, script, KERNEL.as_uri(), content], capture_output=True, text=True, check=True
        )
    return done.stdout.strip()


def spread(found: Figure) -> str:
    """A mean with its interval."""
    return f"{found.mean:.1f} ({found.low:.1f} to {found.high:.1f})"


if __name__ == "__main__":
    raise SystemExit(main())
