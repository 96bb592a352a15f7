"""Weeks of calls played through: how often the first visit is enough, loaded by plan or by habit.

What each call really needs is drawn from the same chances that the plan saw, so this measures loading, not diagnosis.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import sqrt

import numpy as np
import numpy.typing as npt

from tundish.van.errors import VanError
from tundish.van.kit import best
from tundish.van.need import CallNeed, Parts
from tundish.van.part import Part, PartKey
from tundish.van.tour import tour

Load = Mapping[PartKey, int]
Catalogue = Mapping[PartKey, Part]
Loader = Callable[[Sequence[CallNeed]], Load]


@dataclass(frozen=True)
class Weeks:
    """What came of a way to load."""

    calls: int
    fixed: int
    cost: float
    space: float

    @property
    def rate(self) -> float:
        """Share of calls fixed on the first visit, as far as parts go, [-]."""
        return self.fixed / self.calls if self.calls else 1.0

    @property
    def error(self) -> float:
        """Standard error of the rate, [-]."""
        return sqrt(self.rate * (1 - self.rate) / self.calls) if self.calls else 0.0


def by_plan(parts: Catalogue, space: float = np.inf) -> Loader:
    """Load for each day what is best for its calls."""

    def load(calls: Sequence[CallNeed]) -> Load:
        return best(tour(calls, parts), space).load

    return load


def by_price(parts: Catalogue, carried: float, *, pieces: int = 1) -> Loader:
    """The usual stock: so many pieces of every part up to a price, whatever the calls are."""
    kept = {key: pieces for key, part in parts.items() if part.price <= carried}
    return lambda calls: kept


def simulate(
    days: Sequence[Sequence[CallNeed]], parts: Catalogue, load: Loader, rng: np.random.Generator
) -> Weeks:
    """Play days with what each call needs drawn anew; the van is filled up every evening.

    To compare loaders give each a generator of the same seed: they then meet the same needs.
    """
    done = calls = 0
    # The cost met is counted from what came home, not from the figures the load was chosen by
    cost = space = 0.0
    for day in days:
        taken = load(day)
        needs = [drawn(call, rng) for call in day]
        served, left = visited(taken, needs)
        done, calls = done + sum(served), calls + len(day)
        cost += sum(call.trip for call, ok in zip(day, served, strict=True) if not ok)
        cost += sum(
            parts[key].holding * count + parts[key].unused * left.get(key, 0) for key, count in taken.items()
        )
        space += sum(parts[key].space * count for key, count in taken.items())
    number = max(len(days), 1)
    return Weeks(calls, done, cost / number, space / number)


def drawn(call: CallNeed, rng: np.random.Generator) -> Parts | None:
    """What a call turns out to need: its parts, none of them, or None where no van could have helped."""
    # One number a call, so that loaders with generators of one seed meet the same needs
    at = rng.random()
    for parts, chance in call.sets.items():
        at -= chance
        if at < 0:
            return parts
    return None if at < call.unknown else frozenset()


def visited(load: Load, needs: Sequence[Parts | None]) -> tuple[list[bool], dict[PartKey, int]]:
    """Which calls of a tour are served, in their order, and the pieces left; a call that waits keeps what it got.

    >>> pump, hose = PartKey("dishwasher", "drain pump"), PartKey("any", "fill hose")
    >>> visited({pump: 1, hose: 1}, [frozenset({pump}), frozenset({pump, hose}), frozenset({hose}), frozenset(), None])
    ([True, False, False, True, False], {PartKey(family='dishwasher', name='drain pump'): 0, PartKey(family='any', name='fill hose'): 0})
    """
    left = dict(load)
    served = []
    for needed in needs:
        there = {part for part in needed or () if left.get(part, 0) > 0}
        served.append(needed is not None and len(there) == len(needed))
        for part in there:
            left[part] -= 1
    return served, left


def mixed(
    pool: Sequence[CallNeed], share: npt.ArrayLike, rng: np.random.Generator, *, days: int, calls: int
) -> list[list[CallNeed]]:
    """Days of calls drawn from a pool, each with its share of all calls.

    Raises VanError unless there is one share of 0 or more for each, above 0 in all.
    """
    weight = np.asarray(share, dtype=np.float64)
    if weight.shape != (len(pool),) or not (weight >= 0).all() or not weight.sum() > 0:
        raise VanError(
            seen=f"shares {weight.tolist()} for {len(pool)} calls",
            allowed="one of 0 or more for each, above 0 in all",
            do="give each call of the pool its share",
        )
    drawn_calls = rng.choice(len(pool), size=(days, calls), p=weight / weight.sum())
    return [[pool[index] for index in day] for day in drawn_calls]
