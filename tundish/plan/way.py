"""The shortest lawful way from one safety state to another that does what is wanted."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from heapq import heappop, heappush
from itertools import count

from tundish.plan.safe_graph import steps_for
from tundish.plan.states import Safety, Step, made, refusal

# What a technician changes on his way; gas, refrigerant and supply are facts, and use is how the call ends.
ON_THE_WAY = frozenset({"hazard", "power", "water", "place", "heat"})
# The step after which the machine may run.
ON = "energise"


def way(
    start: Safety,
    wanted: Callable[[Safety], bool],
    panels: Mapping[str, tuple[float, float]],
    *,
    who: str,
) -> tuple[Step, ...] | None:
    """Steps of least minutes to a state where `wanted` holds; none needed is (), no way is None.

    panels : name -> minutes to open, to close. who : any, trained or qualified.
    """
    table, order = steps_for(panels, ON_THE_WAY), count()
    queue: list[tuple[float, int, Safety, tuple[Step, ...]]] = [(0.0, next(order), start, ())]
    seen: set[Safety] = set()
    # Dijkstra 1959, doi:10.1007/BF01386390; the counter makes equal minutes come out in the table's order
    while queue:
        minutes, _, here, steps = heappop(queue)
        if wanted(here):
            # Looking for hazards is lawful wherever one stands, so it is told first
            return power_last(tuple(sorted(steps, key=lambda step: step.facet != "hazard")), start, who)
        if here in seen:
            continue
        seen.add(here)
        for step in table:
            if step.end not in here.panels and not refusal(step, here, who=who):
                there = made(step, here, who=who)
                heappush(queue, (minutes + step.usual, next(order), there, (*steps, step)))
    return None


def power_last(steps: tuple[Step, ...], start: Safety, who: str) -> tuple[Step, ...]:
    """The same steps with the power put on as the last of them, where that is lawful: nobody moves a machine that is on."""
    order = (*(s for s in steps if s.name != ON), *(s for s in steps if s.name == ON))
    here = start
    for step in order:
        if refusal(step, here, who=who):
            return steps
        here = made(step, here, who=who)
    return order
