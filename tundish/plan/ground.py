"""The few safety states a call needs, and what it costs to come from one to another.

The table of steps allows hundreds of states; a plan visits a few. A panel is opened only once the machine is proven
dead and the water let off, which the table leaves open and the trade asks for; at most two stand open at a time.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np

from tundish.plan.access import Access, Move, access, way
from tundish.plan.change import Change
from tundish.plan.safe_graph import steps_for
from tundish.plan.states import Safety, Step, made, refusal

# What stands against the wall is opened only when it is pulled out.
BEHIND = frozenset({"BACK", "TUB"})
MOST_OPEN = 2
USED = frozenset({"power", "water", "place"})
# Where a repair is tested: as the customer uses it.
AS_USED = Safety()


@dataclass(frozen=True, eq=False)
class Ground:
    """All states that a call may pass. access : money between each two. steps : (from, to) -> the step between them."""

    access: Access
    states: Mapping[str, Safety]
    steps: Mapping[tuple[str, str], Step]

    def way(self, start: str, end: str) -> tuple[Step, ...]:
        """The steps of the cheapest way."""
        names = self.access.names
        passed = way(self.access, names.index(start), names.index(end))
        return tuple(self.steps[names[a], names[b]] for a, b in pairwise(passed))

    def cost(self, start: str, end: str) -> float:
        """Money of the cheapest way, infinite when there is none."""
        names = self.access.names
        return float(self.access.cost[names.index(start), names.index(end)])


def ground(start: Safety, panels: Mapping[str, tuple[float, float]], rate: float, *, who: str) -> Ground:
    """The states of a call that starts in `start`. panels : those in question, name -> minutes to open, to close."""
    return _ground(start, tuple(sorted(panels.items())), rate, who)


@lru_cache(maxsize=64)
def _ground(
    start: Safety, panels: tuple[tuple[str, tuple[float, float]], ...], rate: float, who: str
) -> Ground:
    table = steps_for(dict(panels), _facets(start))
    states, steps = {start.name: start}, dict[tuple[str, str], Step]()
    todo = [start]
    while todo:
        here = todo.pop()
        for step, there in _next(here, table, who):
            steps[here.name, there.name] = step
            if there.name not in states:
                states[there.name] = there
                todo.append(there)
    moves = [Move(a, b, rate * step.usual) for (a, b), step in steps.items()]
    return Ground(access(list(states), moves), states, steps)


def _facets(start: Safety) -> frozenset[str]:
    """Facets that may change; heat and hazard only where there is something to see to."""
    hot = {"heat"} if start.heat == "hot" else set()
    unknown = {"hazard"} if start.hazard == "unknown" else set()
    return USED | hot | unknown


def _next(here: Safety, table: Iterable[Step], who: str) -> Iterable[tuple[Step, Safety]]:
    for step in table:
        # A step is tried only where the table allows it; what is left out besides is ours (see `_wanted`)
        if step.end not in here.panels and not refusal(step, here, who=who):
            there = made(step, here, who=who)
            # Off again from live is never left out, or whoever read live could not go on
            if _wanted(there) or len(there.panels) < len(here.panels) or here.power == "live":
                yield step, there


def _wanted(state: Safety) -> bool:
    if not state.panels:
        return True
    dead = state.power in ("dead", "discharged") and state.water in ("none", "relieved")
    reached = state.place == "pulled out" or not state.panels & BEHIND
    return len(state.panels) <= MOST_OPEN and reached and (dead or state.power == "live")


def shortened(whole: Ground, kept: Iterable[str], moving: Change | None) -> Access:
    """The access graph over some of the states, each hop the cheapest way. moving : what pulling the machine out changes."""
    places = [i for i, name in enumerate(whole.access.names) if name in set(kept)]
    names = tuple(whole.access.names[i] for i in places)
    cost = whole.access.cost[np.ix_(places, places)]
    # Every hop is the whole cheapest way, so a way has one hop and is never walked again
    follow = np.where(np.isfinite(cost), np.arange(len(places)), -1).astype(np.int64)
    out = [whole.states[name].place == "pulled out" for name in names]
    changes = {
        (i, j): moving
        for i in range(len(places))
        for j in range(len(places))
        if moving is not None and not out[i] and out[j]
    }
    # Seen from in place, every state outside lies behind the change; seen from outside, none does
    outlook = tuple(int(o) if changes else 0 for o in out)
    return Access(names, cost, follow, changes, outlook)


def met_in(whole: Ground, lawful: Callable[[Safety], bool]) -> frozenset[str]:
    """Names of the states in which something is lawful, those with more panels open than need be left in."""
    return frozenset(name for name, state in whole.states.items() if lawful(state))
