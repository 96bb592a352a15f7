"""Loading the van for a day of eight calls, and simulated weeks by plan and by habit.

    python -m bench.bench_van                    20,000 machines a call, some minutes, most of them to build the populations
    python -m bench.bench_van --machines 3000    fewer

The calls are one of each complaint named below. A plan is the needs from the calls' machines, the day's problem and its best load, with and
without a limit of space; it must take 2 s at most. The weeks draw 8 calls a day from the same complaints, all equally often, for lack of a
published share; each loader meets the same needs. `usual` carries one of every part of the pool up to the shop's price limit.
"""

from __future__ import annotations

import argparse
import time
from collections.abc import Mapping, Sequence

import numpy as np

from tundish.diagnosis.odds import Cloud, start
from tundish.plan.shop import Shop, shop_for
from tundish.population.build import World, build, world
from tundish.population.hypotheses import priors, shares
from tundish.store.library import load
from tundish.van.catalogue import catalogue
from tundish.van.kit import Kit, best
from tundish.van.need import CallNeed, need
from tundish.van.part import Part, PartKey
from tundish.van.tour import Tour, tour
from tundish.van.week import Loader, by_plan, by_price, mixed, simulate

CALLS = (
    ("front-load washer", "SLOW"), ("front-load washer", "NODRAIN"), ("top-load washer", "SLOW"), ("dishwasher", "POORWASH"),
    ("dishwasher", "NOFILL"), ("dryer", "LONG"), ("refrigerator-freezer", "NOTCOLD"), ("oven and hob", "NOHEAT"),
)  # fmt: skip
MARKET, MOST = "EU", 2.0
# Years of every machine: what a call says in the middle of a machine's life. Our choice.
AGE = 8.0
Row = dict[str, object]
Call = tuple[World, Cloud, Shop]


def calls(machines: int, seed: int) -> dict[str, Call]:
    """The calls' places, clouds before any reading, and the shop."""
    found = {}
    for family, complaint in CALLS:
        description = load(family)
        place, record = world(description, MARKET), description.complaints[complaint]
        population = build(place, complaint, machines, seed)
        chance = priors(population.hypotheses, record, shares(description, record, AGE, ()))
        found[f"{family} {complaint}"] = (
            place,
            start(population, chance),
            shop_for(description.markets[MARKET]),
        )
    return found


def parts_of(made: Mapping[str, Call]) -> dict[PartKey, Part]:
    """The catalogue of the calls' families."""
    families = {place.description.family: place.description for place, _, _ in made.values()}
    return catalogue(families.values(), next(iter(made.values()))[2])


def row(name: str, problem: Tour, kit: Kit, seconds: Mapping[str, float]) -> Row:
    """One line of the table of plans."""
    found: Row = {"day": name, "calls": problem.calls, "wants": len(problem.wants)}
    found |= {"pieces possible": len(problem.pieces), "loaded": sum(kit.load.values())}
    found |= {"fill [-]": kit.fill, "cost": kit.cost, **{f"{k} [s]": v for k, v in seconds.items()}}
    return found | {"all [s]": sum(seconds.values())}


def planned(made: Mapping[str, Call], parts: Mapping[PartKey, Part]) -> tuple[list[Row], list[CallNeed]]:
    """The day of these calls, without and with a limit of space: half of what it would take without."""
    begin = time.perf_counter()
    needs = [need(place, cloud, shop, call=name) for name, (place, cloud, shop) in made.items()]
    drawn = time.perf_counter() - begin
    begin = time.perf_counter()
    problem = tour(needs, parts)
    posed = time.perf_counter() - begin
    rows, space = [], np.inf
    for name in ("any space", "half the space"):
        begin = time.perf_counter()
        kit = best(problem, space)
        seconds = {"needs": drawn, "problem": posed, "load": time.perf_counter() - begin}
        rows.append(row(name, problem, kit, seconds))
        space = kit.space / 2
    return rows, needs


def same_eight(needs: Sequence[CallNeed], parts: Mapping[PartKey, Part]) -> list[Row]:
    """Eight calls of one complaint: every part may be wanted up to eight times."""
    rows, space = [], np.inf
    begin = time.perf_counter()
    problem = tour([max(needs, key=lambda n: len(n.sets))] * 8, parts)
    posed = time.perf_counter() - begin
    for name in ("eight alike", "eight alike, half the space"):
        begin = time.perf_counter()
        kit = best(problem, space)
        rows.append(row(name, problem, kit, {"problem": posed, "load": time.perf_counter() - begin}))
        space = kit.space / 2
    return rows


def weeks(
    needs: Sequence[CallNeed], parts: Mapping[PartKey, Part], carried: float, *, number: int, seed: int
) -> list[Row]:
    """Weeks of five days of eight calls by each way to load."""
    wanted = {part for call in needs for each in call.sets for part in each}
    pool = {key: parts[key] for key in sorted(wanted)}
    days = mixed(needs, np.ones(len(needs)), np.random.default_rng(seed), days=5 * number, calls=8)
    room = sum(part.space for part in pool.values() if part.price <= carried)
    ways: dict[str, Loader] = {
        "nothing": by_price(pool, -1.0),
        "usual": by_price(pool, carried),
        "plan in the usual's space": by_plan(pool, room),
        "plan in half of it": by_plan(pool, room / 2),
        "plan": by_plan(pool),
    }
    rows: list[Row] = []
    for name, way in ways.items():
        met = simulate(days, pool, way, np.random.default_rng(seed + 1))
        found: Row = {"loaded by": name, "weeks": number, "first visit [%]": 100 * met.rate}
        rows.append(found | {"error [%]": 100 * met.error, "cost a day": met.cost, "pieces along": met.space})
    return rows


def refuse(rows: Sequence[Row]) -> None:
    """Raise AssertionError when a plan of eight calls takes longer than it may."""
    slow = [
        f"{r['day']} took {r['all [s]']:.2f} s of {MOST}"
        for r in rows
        if isinstance(r["all [s]"], float) and r["all [s]"] > MOST
    ]
    if slow:
        raise AssertionError("; ".join(slow))


def run(machines: int = 20_000, number: int = 20, seed: int = 30) -> list[Row]:
    """Times of plans and first-visit rates of weeks; AssertionError when a plan is too slow."""
    made = calls(machines, seed)
    parts = parts_of(made)
    day, needs = planned(made, parts)
    rows = [*day, *same_eight(needs, parts)]
    refuse(rows)
    carried = next(iter(made.values()))[2].carried
    return [*rows, *weeks(needs, parts, carried, number=number, seed=seed)]


def main() -> None:
    """Run and print."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--machines", type=int, default=20_000)
    parser.add_argument("--weeks", type=int, default=20)
    parser.add_argument("--seed", type=int, default=30)
    args = parser.parse_args()
    for found in run(args.machines, args.weeks, args.seed):
        print(", ".join(f"{k} {v:.4g}" if isinstance(v, float) else f"{k} {v}" for k, v in found.items()))


if __name__ == "__main__":
    main()
