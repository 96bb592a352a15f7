"""Learning at scale: closed calls by the million on each engine, and what learning is worth in simulated calls.

    python -m bench.bench_learning --calls 1e6 1e7 --engine duckdb      seconds and memory of every figure that is learned from
    python -m bench.bench_learning --trial 60                           cost of diagnosis before and after learning
"""

from __future__ import annotations

import argparse
import resource
import tempfile
import time
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from bench.bench_trial import ratio
from tundish.appliance.records import Complaint, Description
from tundish.diagnosis.odds import start
from tundish.history import asked
from tundish.history.counted import Rows, taught_by
from tundish.history.learned import with_shares
from tundish.history.tables import TABLES, microseconds
from tundish.plan.shop import shop_for
from tundish.plan.simulated import Bench, Bill
from tundish.plan.trial import figure, trial
from tundish.population.build import build, world
from tundish.population.hypotheses import priors, shares
from tundish.store.engines import open_engine, rows
from tundish.store.library import families, load
from tundish.store.shelved import schema_of

SEED = 77
DAY = asked.DAY
BEGIN, YEARS = microseconds("2016-01-01T00:00:00.000Z"), 10
# Rows made and written at a time.
CHUNK = 1_000_000
TRIED = ("SLOW", "NOFILL", "NODRAIN")
# How far the other world's shares are from ours: ours are worth so many calls in it. A strange world on purpose.
WORTH = 6.0
TAUGHT = 2_000


def made(folder: Path, calls: int) -> dict[str, list[Path]]:
    """Synthetic tables of so many calls, a cause, a repair and two answers each. Returns table -> files."""
    import pyarrow.parquet as pq

    files: dict[str, list[Path]] = {name: [] for name in TABLES}
    rng = np.random.default_rng(SEED)
    for begun in range(0, calls, CHUNK):
        for name, table in _chunk(rng, begun, min(CHUNK, calls - begun)).items():
            path = folder / f"{name}-{begun:09d}.parquet"
            pq.write_table(table, path, coerce_timestamps="us")
            files[name].append(path)
    return files


def _chunk(rng: np.random.Generator, begun: int, n: int) -> dict[str, Any]:
    import pyarrow as pa

    names = np.array(list(families()))
    ended = BEGIN + rng.integers(YEARS * 365 * DAY, size=n)
    back = ended + rng.integers(60 * DAY, size=n)
    fault = np.array([f"F{one:02d}" for one in range(60)])[np.minimum(rng.geometric(0.06, n) - 1, 59)]
    right = rng.random(n) < 0.8
    held = {
        "call": np.char.add("c", np.char.zfill((begun + np.arange(n)).astype(str), 9)),
        "family": names[rng.integers(len(names), size=n)], "market": np.array(["EU", "NA"])[rng.integers(2, size=n)],
        "complaint": np.array([f"C{one:02d}" for one in range(20)])[rng.integers(20, size=n)],
        "month": np.char.replace((ended // 1000).astype("datetime64[ms]").astype("datetime64[M]").astype(str), " ", ""),
        "age": rng.integers(20, size=n).astype(float), "told": np.array(["", "house move", "new hose"])[rng.integers(3, size=n)],
        "ended": ended, "back": pa.array(back, mask=rng.random(n) > 0.1),
        "ended_at": ended, "opened_at": ended - DAY, "ended_as": np.where(right, "proven", "unproven"),
        "visits": rng.integers(1, 3, n), "minutes": rng.lognormal(3.5, 0.4, n), "asked": np.full(n, 60.0),
        "currency": np.full(n, "EUR"), "revenue": rng.integers(5_000, 30_000, n), "labour": np.full(n, 5_000),
        "parts": np.full(n, 1_000), "due": rng.integers(0, 2, n) * 500, "quoted": np.full(n, True),
        "refused": rng.random(n) < 0.2, "callback_of": np.full(n, ""), "named": fault, "odds": rng.uniform(0.5, 0.99, n),
        "proven": np.where(right, fault, ""), "shares": np.full(n, ""), "cause": fault, "how": np.where(right, "proven", "unproven"),
        "chance": rng.uniform(0.5, 0.99, n), "check": np.array([f"C{one:02d}" for one in range(40)])[rng.integers(40, size=n)],
        "answer": np.array(["wet", "dry", "torn"])[rng.integers(3, size=n)], "value": np.full(n, np.nan), "spell": np.zeros(n, int),
        "proof": rng.uniform(0.9, 1.0, n), "fault": fault, "alone": np.full(n, True), "part": fault, "count": np.ones(n, int),
        "each": rng.integers(1_000, 9_000, n),
    }  # fmt: skip
    made = {}
    for name, columns in TABLES.items():
        schema = schema_of(name)
        arrays = [
            pa.array(held[column]).cast(schema.field(column).type, safe=False)
            if column not in ("ended_at", "opened_at")
            else pa.array(np.asarray(held[column]), pa.timestamp("us", tz="UTC"))
            for column in columns
        ]
        made[name] = pa.Table.from_arrays(arrays, schema=schema)
    return made


def figures(tables: Mapping[str, Any], until: int) -> dict[str, Any]:
    """Every figure that learning, honesty and the weeks ask for."""
    return {
        "causes": asked.causes(tables["causes"], until),
        "returns": asked.returns(tables["repairs"], until),
        "minutes": asked.minutes(tables["repairs"], until),
        "prices": asked.prices(tables["parts"], until),
        "looks": asked.looks(tables["checks"], until),
        "bands": asked.bands(tables["calls"], until),
        "said by family": asked.said_by(tables["calls"], until, "family"),
        "said by check": asked.said_by(tables["checks"], until, "check"),
        "weeks": asked.weeks(tables["calls"], until),
    }


def scale(calls: int, engine: str, folder: Path | None = None) -> Iterator[dict[str, object]]:
    """A row for each figure: seconds, rows; then all together with the peak memory of this process (a server's is its own)."""
    with tempfile.TemporaryDirectory(dir=folder) as place:
        # Made by another process, so that its memory is not counted here
        with ProcessPoolExecutor(1) as pool:
            files = pool.submit(made, Path(place), calls).result()
        size = sum(path.stat().st_size for some in files.values() for path in some)
        began = time.perf_counter()
        opened = open_engine(engine, files)
        load_seconds, total = time.perf_counter() - began, 0.0
        for name, expression in figures(opened.tables, BEGIN + YEARS * 365 * DAY).items():
            began = time.perf_counter()
            found = rows(expression)
            took = time.perf_counter() - began
            total += took
            yield {"engine": engine, "calls": calls, "figure": name, "rows": len(found), "seconds": round(took, 2)}
        opened.close()
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20
        yield {
            "engine": engine, "calls": calls, "figure": "all", "opening": round(load_seconds, 1), "seconds": round(total, 1),
            "Parquet MB": round(size / 1e6), "peak GB": round(peak, 2),
        }  # fmt: skip


def other(complaint: Complaint, rng: np.random.Generator) -> Complaint:
    """The complaint as it is in another world."""
    base = np.array(list(complaint.shares.values()))
    drawn = np.maximum(rng.dirichlet(WORTH * np.maximum(base, 1e-9) / base.sum()), 1e-6) * (base > 0)
    return replace(complaint, shares=dict(zip(complaint.shares, (drawn / drawn.sum()).tolist(), strict=True)))


def learned_from(description: Description, complaint: Complaint, calls: int, rng: np.random.Generator) -> Complaint:
    """What is learned of a complaint from so many of its calls, each of weight 0.95."""
    true = np.array(list(complaint.shares.values()))
    counts = rng.multinomial(calls, true / true.sum())
    held = [
        {"family": description.family, "complaint": complaint.name, "age": None, "told": "", "cause": cause, "weight": 0.95 * n}
        for cause, n in zip(complaint.shares, counts.tolist(), strict=True)
        if n
    ]
    return with_shares(description.complaints[complaint.name], taught_by(Rows(held, (), ()), description))


def worth_of_learning(n: int, complaints: Sequence[str] = TRIED, machines: int = 8_000) -> Iterator[dict[str, object]]:
    """Cost of n calls of each complaint in another world, with the shares shipped, learned, and known; each belief meets the same calls."""
    description = load("front-load washer")
    market = next(iter(description.markets))
    place, shop = world(description, market), shop_for(description.markets[market])
    bills: dict[str, list[Bill]] = {"shipped": [], "learned": [], "known": []}
    for number, name in enumerate(complaints):
        rng = np.random.default_rng([SEED, number])
        shipped, there = description.complaints[name], other(description.complaints[name], rng)
        believed = {"shipped": shipped, "learned": learned_from(description, there, TAUGHT, rng), "known": there}
        mine, machines_there = build(place, name, machines, SEED), build(place, name, machines, SEED + 1)

        def chances(record: Complaint, drawn: Any) -> list[float]:
            return priors(drawn.hypotheses, record, shares(description, record, None, ()))

        for belief, record in believed.items():
            cloud = start(mine, chances(record, mine))
            made = Bench(place, shop, cloud, machines_there, chances(there, machines_there), SEED)
            bills[belief] += trial(made, n, ways=["ours"]).results[0].bills
    cost = {belief: np.array([bill.cost for bill in some]) for belief, some in bills.items()}
    for belief, some in cost.items():
        mean, against = figure(some), figure(some - cost["known"])
        yield {
            "belief": belief, "calls": len(some), "cost": f"{mean.mean:.1f} ({mean.low:.1f}-{mean.high:.1f})",
            "above known": f"{against.mean:.1f} ({against.low:.1f}-{against.high:.1f})", "of shipped": ratio(some, cost["shipped"]),
            "first visit": float(np.mean([bill.settled for bill in bills[belief]])),
        }  # fmt: skip


def run(calls: int = 200_000) -> list[dict[str, object]]:
    """The embedded engine, in short."""
    return list(scale(calls, "duckdb"))


def main() -> None:
    """Print the rows asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--calls", type=float, nargs="*", default=[])
    parser.add_argument("--engine", default="duckdb")
    parser.add_argument("--trial", type=int, default=0, help="calls of each complaint")
    wanted = parser.parse_args()
    for calls in wanted.calls or ([] if wanted.trial else [1e6]):
        for row in scale(int(calls), wanted.engine):
            print(row, flush=True)
    for row in worth_of_learning(wanted.trial) if wanted.trial else ():
        print(row, flush=True)


if __name__ == "__main__":
    main()
