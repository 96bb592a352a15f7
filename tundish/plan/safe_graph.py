"""The planner's access graph, made from the table of safety steps: minutes become money, proofs stay with the
steps.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tundish.plan.access import Access, Move, access
from tundish.plan.change import Change
from tundish.plan.states import STEPS, Safety, Step, close_panel, made, open_panel, refusal


@dataclass(frozen=True, eq=False)
class SafeGraph:
    """access : for the planner. states : its names -> safety states. steps : (from, to) -> the step between
    them.
    """

    access: Access
    states: Mapping[str, Safety]
    steps: Mapping[tuple[str, str], Step]


def steps_for(panels: Mapping[str, tuple[float, float]], facets: frozenset[str]) -> tuple[Step, ...]:
    """Steps of the table on these facets, and opening and closing of panels (name -> minutes to open, to
    close).
    """
    table = [s for s in STEPS if s.facet in facets]
    table += [open_panel(panel, minutes[0]) for panel, minutes in panels.items()]
    return (*table, *(close_panel(panel, minutes[1]) for panel, minutes in panels.items()))


def safe_graph(
    start: Safety,
    panels: Mapping[str, tuple[float, float]],
    rate: float,
    *,
    who: str,
    facets: frozenset[str] = frozenset({"power", "water", "place"}),
    moving: Mapping[str, Change] | None = None,
) -> SafeGraph:
    """All states that can be reached from `start` by lawful steps on these facets.

    rate : money per minute. moving : step name -> what it does to the hidden state (pulling out straightens a
    hose).
    """
    table, states, steps = steps_for(panels, facets), {start.name: start}, dict[tuple[str, str], Step]()
    todo = [start]
    # Only what can lawfully be reached becomes a state; nothing else can be planned
    while todo:
        here = todo.pop()
        for step in table:
            # A panel already open is not opened again
            if refusal(step, here, who=who) or step.end in here.panels:
                continue
            there = made(step, here, who=who)
            steps[here.name, there.name] = step
            if there.name not in states:
                states[there.name] = there
                todo.append(there)
    # One and the same change for all moves of a name: the planner compares ways by identity
    does = moving or {}
    moves = [Move(a, b, rate * step.usual, does.get(step.name)) for (a, b), step in steps.items()]
    return SafeGraph(access(list(states), moves), states, steps)
