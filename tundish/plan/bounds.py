"""What must at least be paid: each machine known for what it is still pays the cheapest act that can end its
call.

References: the lower bound of Vomlelova & Vomlel 2003, Soft Computing 7:357 (from memory), without access
costs.
"""

from __future__ import annotations

import numpy as np

from tundish.plan.change import Change, Floats
from tundish.plan.frame import Frame


def floor(frame: Frame) -> Floats | None:
    """(n,) a cost no plan can go below, by state; None where a step that does not end the call may earn
    money.
    """
    # Infinity stands until some ending of that state is found
    low = np.full(frame.table.shape[1], np.inf)
    for action in range(len(frame.cost)):
        for row in range(frame.first[action], frame.first[action + 1]):
            happens = frame.table[row] > 0
            told = frame.problem.actions[action].outcomes[row - frame.first[action]].toll
            toll = np.where(happens, 0.0 if told is None else told, 0.0)
            # The act that ends the call is paid whatever came before it
            if frame.ends[row]:
                low = np.where(happens, np.minimum(low, frame.cost[action] + toll), low)
            elif frame.cost[action] < 0 or toll.min() < 0:
                # A step that earns could pay for others: then no such floor holds
                return None
    return _through_changes(frame, low) if np.isfinite(low).all() else None


def _through_changes(frame: Frame, low: Floats) -> Floats:
    """A state that may become a cheaper one is worth no more than that one."""
    found = [c for c in (*frame.change, *frame.problem.access.changes.values()) if c is not None]
    changes: list[Change] = list({id(c): c for c in found}.values())
    # Repeated until nothing falls: a state may reach a cheaper one through several changes
    while changes:
        lower = low.copy()
        for change in changes:
            possible = change.chance > 0
            np.minimum.at(lower, change.source[possible], low[change.target[possible]])
        if (lower == low).all():
            break
        low = lower
    return low
