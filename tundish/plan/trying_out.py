"""The test after a repair as something to do: the machine is tried as the customer uses it."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from tundish.plan.change import Floats
from tundish.plan.cured import complains, drawn_with
from tundish.plan.hidden import Hidden, sleeps
from tundish.plan.problem import CHECK, Action, Outcome
from tundish.population.build import World

TESTING = "test as used"
WORKS, FAILS = "works", "still fails"


def testing(place: World, states: Hidden, cost: float, *, at: frozenset[str]) -> Action:
    """The test as an action. cost : its own money. at : access states as used."""
    works = works_chance(place, states)
    outcomes = (Outcome(WORKS, works), Outcome(FAILS, 1.0 - works))
    return Action(TESTING, CHECK, cost, outcomes, at=at)


def works_chance(place: World, states: Hidden) -> Floats:
    """Chance that the complaint is gone at the test, (h,).

    Nothing left: gone. What was never wrong, and what is not described: as it was. A cause left: gone when it does not
    show the complaint, or sleeps.
    """
    shows = states.shows.copy()
    shows[: len(states.sample.faults)] = _shown(place, states)
    out = np.zeros(len(states.left))
    for i, left in enumerate(states.left[:-1]):
        if left:
            out[i] = 1.0 - shows[i] * (1.0 - sleeps(place.description, left))
        else:
            out[i] = 0.0 if states.sample.sound[states.of[i]] else 1.0
    return out


def _shown(place: World, states: Hidden) -> Floats:
    """Share of each kind's machines that show the complaint, (kinds,)."""
    held = states.sample
    if not len(held.faults):
        return np.zeros(0)
    rows = [held.machines(k, len(held.rows)) for k in range(len(held.faults))]
    left = [held.faults[k] for k, mine in enumerate(rows) for _ in mine]
    drawn = drawn_with(place, held.population, np.concatenate(rows), left, found=False)
    seen = complains(place, drawn, place.description.complaints[held.population.complaint])
    edges = np.cumsum([0, *(len(mine) for mine in rows)])
    return np.array([seen[a:b].mean() for a, b in pairwise(edges)])
