"""Which machines still have a cause left after a repair: one with which the customer's complaint is still there, or comes back.

A second cause may be so mild that the machine does what it should without being rid of it: a valve a little less than open, a screen
a little dirty. It is told, but it is no cause of this complaint, and no check can bring its chance down since nothing shows it.
"""

from __future__ import annotations

from collections.abc import Collection

import numpy as np
import numpy.typing as npt

from tundish.appliance.records import Description
from tundish.plan.cured import complains, drawn_with
from tundish.plan.samples import faults_of
from tundish.population.build import Population, World

Bools = npt.NDArray[np.bool_]


def anything_left(place: World, population: Population) -> Bools:
    """(m,) whether any fault is there, however mild."""
    return np.array([bool(f) for f in faults_of(place, population, np.arange(population.size))], dtype=np.bool_)


def troubled(place: World, population: Population, repaired: Collection[str]) -> Bools:
    """(m,) whether a fault is there with which the user still complains, or which breaks again what was repaired.

    An intermittent fault counts as acting: it will, some day.
    """
    rows = np.arange(population.size)
    left = faults_of(place, population, rows)
    drawn = drawn_with(place, population, rows, left, found=False)
    shows = complains(place, drawn, place.description.complaints[population.complaint])
    again = dragging(place.description, repaired)
    return np.array([bool(f) and (s or not again.isdisjoint(f)) for f, s in zip(left, shows, strict=True)], dtype=np.bool_)


def dragging(description: Description, repaired: Collection[str]) -> frozenset[str]:
    """The faults that drag one of those repaired: left as they are they would break it again."""
    return frozenset(f.id for f in description.faults.values() if not set(f.drags).isdisjoint(repaired))

