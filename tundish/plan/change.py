"""How an act may turn the machine into another one: P(state after | state before), sparse."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tundish.plan.errors import PlanError

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Change:
    """Entry i says: state source[i] becomes target[i] with chance[i]. All (m,); the chances of a source sum
    to 1.
    """

    source: Ints
    target: Ints
    chance: Floats


def becoming(n: int, source: Sequence[int], target: Sequence[int], chance: Sequence[float]) -> Change:
    """State source[i] of n becomes target[i] with chance[i]; what is left of it, and every other state,
    stays.

    >>> carry(becoming(2, [0], [1], [0.9]), np.array([1.0, 0.0])).round(3).tolist()
    [0.1, 0.9]
    """
    there = np.asarray(source, dtype=np.int64)
    moving = np.asarray(chance, dtype=np.float64)
    # What is not said to move stays, so that the chances of each state sum to 1
    stay = 1.0 - np.bincount(there, weights=moving, minlength=n)
    if len(stay) != n or moving.min(initial=0.0) < 0 or stay.min() < -1e-9:
        raise PlanError(
            seen=f"states up to {there.max(initial=0)} of {n} and least chance to stay {stay.min():.3g}",
            allowed="states below n, chances from 0 that sum to at most 1 for a state",
            do="check the chances of this change",
        )
    here = np.arange(n, dtype=np.int64)
    return Change(
        np.concatenate([here, there]),
        np.concatenate([here, np.asarray(target, dtype=np.int64)]),
        np.concatenate([np.maximum(stay, 0.0), moving]),
    )


def carry(change: Change, weights: Floats) -> Floats:
    """Weights (n,) of the states after the change."""
    # Entries with one target are added up; bincount is the fastest way numpy has
    moved = weights[change.source] * change.chance
    landed: Floats = np.bincount(change.target, weights=moved, minlength=len(weights)).astype(np.float64)
    return landed


def carry_all(changes: Sequence[Change], weights: Floats) -> Floats:
    """Weights (n,) after several changes, one after the other."""
    for change in changes:
        weights = carry(change, weights)
    return weights
