"""Cost as machines go 1k, 10k, 100k, 1M; opening a call from the cache; a reading to new odds. Front-load washer, all checks.

Memory is the largest resident size of a process of its own: one that builds, one that only opens a kept population and weighs a reading.
"""

from __future__ import annotations

import json
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

from tundish.diagnosis.odds import odds, start, weigh
from tundish.diagnosis.reading import Reading
from tundish.population.build import world
from tundish.population.hypotheses import priors, shares
from tundish.store.library import load
from tundish.store.shelf import SEED, population_for

FAMILY, MARKET, COMPLAINT = "front-load washer", "EU", "SLOW"
SIZES = (1_000, 10_000, 100_000, 1_000_000)


def run() -> list[dict[str, Any]]:
    """One row a size. Times in seconds, memory in MB."""
    return [_row(size) for size in SIZES]


def _row(size: int) -> dict[str, Any]:
    with tempfile.TemporaryDirectory() as folder:
        built, opened = (_alone(size, folder) for _ in range(2))
    return {
        "machines asked": size, "machines": built["machines"], "checks": built["checks"], "build and keep": built["population"],
        "build MB": built["MB"], "open from cache": opened["population"], "reading to odds": opened["reading"],
        "open and weigh MB": opened["MB"],
    }  # fmt: skip


def _alone(size: int, folder: str) -> dict[str, Any]:
    """Measured in a process of its own, so that one run's memory is not the next one's."""
    words = [sys.executable, "-c", f"from bench.bench_population import told; told({size}, {folder!r})"]
    done = subprocess.run(words, capture_output=True, text=True, check=True)
    return dict(json.loads(done.stdout))


def told(size: int, folder: str) -> None:
    """Print what one process measured, as JSON."""
    place = world(load(FAMILY), MARKET)
    record = place.description.complaints[COMPLAINT]
    began = time.perf_counter()
    population = population_for(place, COMPLAINT, Path(folder), size=size, seed=SEED)
    took = time.perf_counter() - began
    cloud = start(population, priors(population.hypotheses, record, shares(place.description, record, None, ())))
    readings = [Reading("C07.cold", 2.6e5)]
    reading = min(_took(lambda: odds(weigh(cloud, place.description.checks, readings))) for _ in range(5))
    memory = round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
    print(json.dumps({
        "machines": population.size, "checks": len(population.checks), "population": round(took, 3),
        "reading": round(reading, 4), "MB": memory,
    }))  # fmt: skip


def _took(work: Any) -> float:
    began = time.perf_counter()
    work()
    return time.perf_counter() - began
