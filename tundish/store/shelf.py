"""Populations on the shelf: built once, kept in the cache by what made them, memory-mapped when used again."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from importlib.resources import files
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from tundish.diagnosis.odds import Cloud
from tundish.population.build import Population, World, build
from tundish.population.hypotheses import Hypothesis
from tundish.store.cache import load_or_build

# The packages whose code decides what a machine is, and how it is weighed. A change in them makes new populations, or new clouds.
MAKING = ("quantity", "physics", "appliance", "population")
WEIGHING = ("diagnosis",)
SIZE = 100_000
SEED = 20_260_101

Arrays = Mapping[str, npt.NDArray[Any]]
Tell = Callable[[str], None]


def population_for(
    place: World, complaint: str, folder: Path, *, size: int = SIZE, seed: int = SEED, tell: Tell = lambda words: None
) -> Population:
    """The population of a complaint, from the cache if it is there. tell : is told what went wrong with the cache, if anything."""
    key = key_of(place, complaint, size, seed)
    loaded = load_or_build(key, lambda: to_arrays(build(place, complaint, size, seed)), folder)
    for notice in loaded.notices:
        tell(f"{notice.seen}; {notice.done}")
    return from_arrays(loaded)


def cloud_for(key: str, make: Callable[[], Cloud], folder: Path, tell: Tell) -> Cloud:
    """A regrown cloud by its key, from the cache if it is there."""

    def arrays() -> dict[str, npt.NDArray[Any]]:
        cloud = make()
        weights = {"log_weight": cloud.log_weight, "log_unknown": np.array([cloud.log_unknown])}
        return {**to_arrays(cloud.population), **weights}

    named = hashlib.sha256((code_digest(WEIGHING) + key).encode()).hexdigest()
    loaded = load_or_build(named, arrays, folder)
    for notice in loaded.notices:
        tell(f"{notice.seen}; {notice.done}")
    return Cloud(from_arrays(loaded), loaded["log_weight"], float(loaded["log_unknown"][0]))


def key_of(place: World, complaint: str, size: int, seed: int) -> str:
    """A hash of all that decides a population: description, code, market, complaint, size and seed."""
    # The library version counts too: another numpy may draw or round otherwise.
    text = json.dumps(
        [place.description.digest, code_digest(MAKING), np.__version__, place.market, complaint, size, seed]
    )
    return hashlib.sha256(text.encode()).hexdigest()


def code_digest(packages: Sequence[str]) -> str:
    """A hash of the source of packages, 64 hexadecimal digits."""
    total = hashlib.sha256()
    for package in packages:
        for file in sorted(files(f"tundish.{package}").iterdir(), key=lambda f: f.name):
            if file.name.endswith(".py"):
                total.update(file.name.encode() + file.read_bytes())
    return total.hexdigest()


def to_arrays(population: Population) -> dict[str, npt.NDArray[Any]]:
    """A population as named arrays."""
    # Names travel as bytes in an array of their own, so that a cache entry is arrays and nothing else.
    head = {
        "market": population.market,
        "complaint": population.complaint,
        "checks": population.checks,
        "hypotheses": [[h.kind, h.roots] for h in population.hypotheses],
        "faults": population.faults,
        "lost": population.lost,
    }
    return {
        "head": np.frombuffer(json.dumps(head).encode(), dtype=np.uint8),
        "stratum": population.stratum,
        "latent": population.latent,
        "present": population.present,
        "predicted": population.predicted,
        "healthy": population.healthy,
        "acceptance": population.acceptance,
    }


def from_arrays(arrays: Arrays) -> Population:
    """The population of named arrays."""
    head = json.loads(bytes(arrays["head"]))
    return Population(
        head["market"],
        head["complaint"],
        tuple(head["checks"]),
        tuple(Hypothesis(kind, tuple(roots)) for kind, roots in head["hypotheses"]),
        arrays["stratum"],
        arrays["latent"],
        arrays["present"],
        arrays["predicted"],
        arrays["healthy"],
        arrays["acceptance"],
        tuple(tuple(f) for f in head["faults"]),
        head["lost"],
    )
