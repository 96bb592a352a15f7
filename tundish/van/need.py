"""Which sets of parts a call may need, and how likely each is: from the machines that stand for the call."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite

import numpy as np
import numpy.typing as npt

from tundish.diagnosis.odds import Cloud
from tundish.plan.shop import Shop
from tundish.population.build import Population, World
from tundish.van.catalogue import part_of
from tundish.van.errors import VanError
from tundish.van.part import PartKey

Parts = frozenset[PartKey]
Floats = npt.NDArray[np.float64]
# Sums of chances may miss 1 by rounding.
ROUNDING = 1e-9


@dataclass(frozen=True)
class CallNeed:
    """What a call may need.

    sets : set of parts needed together -> chance; not the empty set. unknown : chance of a fault that nobody described, for which no
    van can be loaded. The rest of the chance is that no part is needed. trip : cost of a second trip to this call, money.
    """

    call: str
    sets: Mapping[Parts, float]
    trip: float
    unknown: float = 0.0

    def __post_init__(self) -> None:
        # Written so that a chance that is no number is refused too
        total = sum(self.sets.values()) + self.unknown
        least = min([self.unknown, *self.sets.values()])
        if not (least >= 0 and total <= 1 + ROUNDING):
            raise VanError(
                seen=f"chances from {least:g} up, {total:g} together, for call {self.call}",
                allowed="each 0 or more, 1 or less together",
                do="give chances of sets that exclude each other",
            )
        if not (isfinite(self.trip) and self.trip >= 0) or frozenset() in self.sets:
            raise VanError(
                seen=f"trip {self.trip} and sets of {sorted(map(len, self.sets))} parts for call {self.call}",
                allowed="a trip that costs 0 or more, sets of one part or more",
                do="leave out the empty set: it is the rest of the chance",
            )

    @property
    def nothing(self) -> float:
        """Chance that no part is needed, [-]."""
        return max(1.0 - sum(self.sets.values()) - self.unknown, 0.0)

    def chance(self, part: PartKey) -> float:
        """Chance that a part is needed, alone or with others, [-]."""
        return sum(chance for parts, chance in self.sets.items() if part in parts)


def need(place: World, cloud: Cloud, shop: Shop, *, call: str) -> CallNeed:
    """What a call may need, from its weighted population.

    Every fault that is there wants its part, roots and consequences alike: a machine with two faults needs both parts on one visit.

    Raises VanError when nothing carries weight.
    """
    weight, unknown = _shares(cloud, call)
    keys = {
        f.id: key
        for f in place.description.faults.values()
        if (key := part_of(place.description, f, shop.currency))
    }
    sets: dict[Parts, float] = {}
    for faults, chance in _patterns(cloud.population, weight).items():
        parts = frozenset(keys[f] for f in faults if f in keys)
        # Different faults may want the same parts; a fault without a part wants nothing
        if parts and chance > 0:
            sets[parts] = sets.get(parts, 0.0) + chance
    return CallNeed(call, sets, shop.trip, unknown)


def _shares(cloud: Cloud, call: str) -> tuple[Floats, float]:
    """(m,) weights of the machines and that of the unknown, summing to 1."""
    top = max(float(cloud.log_weight.max(initial=-np.inf)), cloud.log_unknown)
    if not isfinite(top):
        raise VanError(
            seen=f"machines with total log-weight {top} for call {call}",
            allowed="at least one machine, or something not described, that may be",
            do="check the call's readings",
        )
    weight, unknown = np.exp(cloud.log_weight - top), float(np.exp(cloud.log_unknown - top))
    total = float(weight.sum()) + unknown
    return weight / total, unknown / total


def _patterns(population: Population, weight: Floats) -> dict[frozenset[str], float]:
    """Faults there -> chance."""
    slots = population.present.shape[1]
    # A hypothesis and which of its slots are filled make one number, so that machines are summed at once
    code = (population.stratum.astype(np.intp) << slots) + population.present @ (1 << np.arange(slots))
    summed = np.bincount(code, weights=weight)
    found: dict[frozenset[str], float] = {}
    for number in np.flatnonzero(summed):
        listed = population.faults[number >> slots]
        there = frozenset(f for slot, f in enumerate(listed) if f and number >> slot & 1)
        found[there] = found.get(there, 0.0) + float(summed[number])
    return found
