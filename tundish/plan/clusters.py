"""Repairs that can be had together: behind the same panel, or with the same order of parts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt

from tundish.plan.change import Floats, Ints
from tundish.plan.frame import Frame, Option, Situation, granted, reach, usable_now
from tundish.plan.problem import ORDER

# Stands for "cannot be reached" in sums, where an infinity times no chance would be undefined.
FAR = 1e12


class Clusters(NamedTuple):
    """Clusters seen from an access state with the tokens held, whatever is done. z clusters, r repairs.

    via : (z,) the order that must come first, -1 for none. node : (z,) access state. opening : (z,) money
    before.
    member : (z, r). again : (z, r) money to come back to the node after the repair.
    """

    via: Ints
    node: Ints
    opening: Floats
    member: npt.NDArray[np.bool_]
    again: Floats


_Row = tuple[int, int, float, npt.NDArray[np.bool_], Floats]


def clusters(frame: Frame, situation: Situation, repairs: Sequence[int]) -> Clusters | None:
    """All clusters of a situation: with what is held, and after each single order; None if there is none."""
    # Orders are weighed one by one; an order of two parts is an action of its own
    orders = [a for a, action in enumerate(frame.problem.actions) if action.kind == ORDER]
    rows = _behind(frame, situation, repairs, order=-1)
    for order in orders:
        if usable_now(frame, situation, order):
            rows += _behind(frame, situation, repairs, order=order)
    if not rows:
        return None
    via, node, opening, member, again = zip(*rows, strict=True)
    whole = np.int64
    return Clusters(
        np.array(via, whole), np.array(node, whole), np.array(opening), np.array(member), np.array(again)
    )


def nearest(frame: Frame, situation: Situation, action: int, *, toward: int | None = None) -> Option | None:
    """The option of this action that lies best on the way to an access state."""
    cost = frame.problem.access.cost
    found = reach(frame, situation.node, action)
    # Not the nearest for itself: the one that makes the whole way to `toward` shortest
    return min(found, key=lambda o: o.move + (0.0 if toward is None else cost[o.node, toward]), default=None)


def _behind(frame: Frame, situation: Situation, repairs: Sequence[int], *, order: int) -> list[_Row]:
    """The clusters after one order (-1 for none), nearest access state first, those with the same repairs
    once.
    """
    paid, then = 0.0, situation
    if order >= 0:
        option = nearest(frame, situation, order)
        if option is None:
            return []
        node = option.node if frame.leaves[order] < 0 else frame.leaves[order]
        paid = option.move + frame.cost[order]
        then = Situation(node, situation.done, situation.held | granted(frame, order))
    # What must be in hand is judged as if the order were already back
    usable = np.array([usable_now(frame, then, r) for r in repairs], dtype=np.bool_)
    cost = frame.problem.access.cost
    rows: dict[bytes, _Row] = {}
    for node in np.argsort(cost[then.node], kind="stable").tolist():
        member = usable & np.array([node in frame.at[r] for r in repairs], dtype=np.bool_)
        if np.isfinite(cost[then.node, node]) and member.any():
            # States with the same repairs differ in price only; the first met is the cheapest
            opening = paid + float(cost[then.node, node])
            rows.setdefault(
                member.tobytes(), (order, node, opening, member, _again(frame, repairs, member, node))
            )
    return list(rows.values())


def _again(frame: Frame, repairs: Sequence[int], member: npt.NDArray[np.bool_], node: int) -> Floats:
    cost = frame.problem.access.cost
    back = [0.0 if frame.leaves[r] < 0 else float(cost[frame.leaves[r], node]) for r in repairs]
    return np.where(member, np.minimum(back, FAR), 0.0)
