"""Cost as machines go 1k, 10k, 100k, 1M; opening a call from the cache; a reading to new odds. Front-load washer, all checks."""

from __future__ import annotations

import resource
import tempfile
import time
from pathlib import Path
from typing import Any

from tundish.diagnosis.odds import odds, start, weigh
from tundish.diagnosis.reading import Reading
from tundish.population.build import build, world
from tundish.population.hypotheses import priors, shares
from tundish.store.library import load
from tundish.store.shelf import SEED, population_for

FAMILY, MARKET, COMPLAINT = "front-load washer", "EU", "SLOW"
SIZES = (1_000, 10_000, 100_000, 1_000_000)


def run() -> list[dict[str, Any]]:
    """One row a size. Times in seconds, memory in MB (largest so far in this process)."""
    return [_row(size) for size in SIZES]


def _row(size: int) -> dict[str, Any]:
    place = world(load(FAMILY), MARKET)
    record = place.description.complaints[COMPLAINT]
    row: dict[str, Any] = {"machines asked": size}
    if size <= 100_000:
        with tempfile.TemporaryDirectory() as folder:
            row["build and keep"] = _took(lambda: population_for(place, COMPLAINT, Path(folder), size=size, seed=SEED))
            row["open from cache"] = _took(lambda: population_for(place, COMPLAINT, Path(folder), size=size, seed=SEED))
            population = population_for(place, COMPLAINT, Path(folder), size=size, seed=SEED)
            row |= _reading(place, record, population)
    else:
        began = time.perf_counter()
        population = build(place, COMPLAINT, size, SEED)
        row["build and keep"] = round(time.perf_counter() - began, 2)
        row |= _reading(place, record, population)
    row["memory MB"] = round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024)
    return row


def _reading(place: Any, record: Any, population: Any) -> dict[str, Any]:
    cloud = start(population, priors(population.hypotheses, record, shares(place.description, record, None, ())))
    readings = [Reading("C07.cold", 2.6e5)]
    return {
        "machines": population.size, "checks": len(population.checks),
        "reading to odds": min(_took(lambda: odds(weigh(cloud, place.description.checks, readings)), 4) for _ in range(5)),
    }


def _took(work: Any, digits: int = 3) -> float:
    began = time.perf_counter()
    work()
    return round(time.perf_counter() - began, digits)
