"""Learning at scale: closed calls by the million on each engine, and what learning is worth in simulated calls.

    python -m bench.bench_learning --calls 1e6 1e7 --engine duckdb      seconds and memory of every figure that is learned from
    python -m bench.bench_learning --score 3000                         log score of the truth before and after learning
    python -m bench.bench_learning --trial 200                          cost of diagnosis before and after learning (hours)
"""

from __future__ import annotations

import argparse
import resource
import tempfile
import time
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

import numpy as np

from bench.worth import bills, costs, scores
from tundish.history import asked
from tundish.history.noisy import FAILED
from tundish.history.tables import TABLES, microseconds
from tundish.store.engines import open_engine, rows
from tundish.store.library import families
from tundish.store.shelved import schema_of

SEED = 77
DAY = asked.DAY
BEGIN, YEARS = microseconds("2016-01-01T00:00:00.000Z"), 10
# Rows made and written at a time.
CHUNK = 1_000_000
# Files whose calls are drawn anew.
FRESH = 5
# Complaints whose shares lean on the house, the user and the installer, so that a region may differ in them.
TRIED = ("NODRAIN", "NOFILL", "NOSPIN")
MACHINES = 4_000


def made(folder: Path, calls: int, together: int = CHUNK) -> dict[str, list[Path]]:
    """Synthetic tables of so many calls, a cause, a repair and an answer each. together : calls of a file. Returns table -> files."""
    import pyarrow.parquet as pq

    files: dict[str, list[Path]] = {name: [] for name in TABLES}
    rng = np.random.default_rng(SEED)
    for number, begun in enumerate(range(0, calls, together)):
        # Making is dearer than reading: after some files the same calls come again under other names
        tables = (
            _chunk(rng, begun, min(together, calls - begun))
            if number < FRESH
            else {name: _renamed(pq.read_table(some[number % FRESH]), number) for name, some in files.items()}
        )
        for name, table in tables.items():
            path = folder / f"{name}-{begun:09d}.parquet"
            pq.write_table(table, path, coerce_timestamps="us")
            files[name].append(path)
    return files


def _renamed(table: Any, number: int) -> Any:
    import pyarrow.compute as pc

    calls = pc.replace_substring_regex(table["call"], "^c", f"d{number}-")
    return table.set_column(0, table.schema.field("call"), calls)


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
        "proof": rng.uniform(0.9, 1.0, n), "fault": fault, "before": rng.uniform(0.5, 0.95, n),
        "lift": rng.choice([0.0, 3.0, FAILED], n, p=[0.6, 0.35, 0.05]), "part": fault, "count": np.ones(n, int),
        "paid": rng.lognormal(3.5, 0.4, n),
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


def scale(sizes: Sequence[int], engine: str, folder: Path | None = None) -> Iterator[dict[str, object]]:
    """Rows of `timed` for each number of calls, multiples of the least; the tables are made once, for the most of them."""
    together = min([CHUNK, *sizes])
    with tempfile.TemporaryDirectory(dir=folder) as place:
        # Processes of their own, so that the memory of making and of other sizes is not counted
        with ProcessPoolExecutor(1) as pool:
            files = pool.submit(made, Path(place), max(sizes), together).result()
        for calls in sizes:
            mine = {name: some[: calls // together] for name, some in files.items()}
            with ProcessPoolExecutor(1) as pool:
                yield from pool.submit(timed, calls, engine, mine).result()


def timed(calls: int, engine: str, files: Mapping[str, Sequence[Path]]) -> list[dict[str, object]]:
    """A row for each figure: seconds, rows; then all together with the peak memory of this process (a server's is its own)."""
    size = sum(path.stat().st_size for some in files.values() for path in some)
    began, found = time.perf_counter(), list[dict[str, object]]()
    opened = open_engine(engine, files)
    opening, total = time.perf_counter() - began, 0.0
    for name, expression in figures(opened.tables, BEGIN + YEARS * 365 * DAY).items():
        began = time.perf_counter()
        many = len(rows(expression))
        took = time.perf_counter() - began
        total += took
        found.append({"engine": engine, "calls": calls, "figure": name, "rows": many, "seconds": round(took, 2)})
    opened.close()
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20
    whole = {
        "engine": engine, "calls": calls, "figure": "all", "opening": round(opening, 1), "seconds": round(total, 1),
        "Parquet MB": round(size / 1e6), "peak GB": round(peak, 2),
    }  # fmt: skip
    return [*found, whole]


def run(calls: int = 200_000) -> list[dict[str, object]]:
    """The embedded engine, in short."""
    return list(scale([calls], "duckdb"))


def main() -> None:
    """Print the rows asked for."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--calls", type=float, nargs="*", default=[])
    parser.add_argument("--engine", default="duckdb")
    parser.add_argument("--score", type=int, default=0, help="calls of each complaint")
    parser.add_argument("--trial", type=int, default=0, help="calls of each complaint")
    parser.add_argument("--first", type=int, default=0, help="number of the first call of the trial")
    parser.add_argument("--complaint", nargs="*", default=TRIED, help="complaints of scores and trial")
    wanted = parser.parse_args()
    sizes = [int(calls) for calls in wanted.calls] or ([] if wanted.trial or wanted.score else [CHUNK])
    for row in scale(sizes, wanted.engine) if sizes else ():
        print(row, flush=True)
    for name in wanted.complaint if wanted.score else ():
        for row in scores(name, wanted.score, MACHINES):
            print(row, flush=True)
    for row in costs(list(bills(wanted.complaint, wanted.trial, MACHINES, wanted.first))) if wanted.trial else ():
        print(row, flush=True)


if __name__ == "__main__":
    main()
