"""The safety states that a pocketed call may pass: names, steps between them, and where each demand is met."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
import numpy.typing as npt

from tundish.plan.demands import PANELS, demands_of_check, refused
from tundish.plan.ground import ground
from tundish.plan.lawful_checks import Demand
from tundish.plan.remedies import Remedy
from tundish.plan.shop import Shop
from tundish.plan.states import Safety, Step
from tundish.population.build import World

Numbers = npt.NDArray[np.uint16]


@dataclass(frozen=True, eq=False)
class Ways:
    """States by number, steps by number. moves : (t, 3) from, to, step. home : number of the state as used.

    useful : (s,) states worth standing in. met : demands -> numbers of the states in which one of them is met.
    """

    states: Mapping[str, Safety]
    steps: tuple[Step, ...]
    moves: Numbers
    home: int
    useful: npt.NDArray[np.uint8]
    who: str
    met: dict[tuple[Demand, ...], int] = field(default_factory=dict)
    lawful: list[list[int]] = field(default_factory=list)

    def meeting(self, demands: Sequence[Demand]) -> int:
        """Number, in `lawful`, of the list of states in which one of the demands is met."""
        wanted = tuple(demands)
        if wanted not in self.met:
            self.met[wanted] = len(self.lawful)
            # Nothing but looking for hazards is lawful before that was done
            self.lawful.append(
                [
                    i
                    for i, s in enumerate(self.states.values())
                    if s.hazard != "unknown" and not refused(wanted, s, who=self.who)
                ]
            )
        return self.met[wanted]


def useful(state: Safety) -> bool:
    """States worth standing in, as the full plan has them: no half ways."""
    if state.water == "off" or (state.power in ("dead", "discharged") and state.water == "on"):
        return False
    return not (state.power == "discharged" and not state.panels)


def ways(place: World, shop: Shop, safety: Safety, cures: Iterable[Remedy]) -> Ways:
    """The states reached from where the call stands, and from its next arrival, when hazards are unknown again."""
    asked = [d for c in place.description.checks.values() for d in demands_of_check(c)]
    named = {p for d in [*asked, *(d for r in cures for d in r.demands)] for p in d.panels} | safety.panels
    panels = {p: PANELS[p] for p in named if p in PANELS}
    water = "none" if safety.water == "none" else "on"
    home = replace(safety, power="on", water=water, place="in place", panels=frozenset(), hazard="none seen")
    found = [
        ground(start, panels, shop.rate, who=shop.who)
        for start in (home, replace(home, hazard="unknown"), safety, replace(safety, hazard="unknown"))
    ]
    states = {name: state for g in found for name, state in g.states.items()}
    edges = {ends: step for g in found for ends, step in g.steps.items()}
    number = {name: i for i, name in enumerate(states)}
    steps = {(s.name, s.start, s.end): s for s in edges.values()}
    which = {key: i for i, key in enumerate(steps)}
    moves = [(number[a], number[b], which[s.name, s.start, s.end]) for (a, b), s in edges.items()]
    good = np.array([useful(s) for s in states.values()], dtype=np.uint8)
    return Ways(
        states, tuple(steps.values()), np.array(moves, "u2").reshape(-1, 3), number[home.name], good, shop.who
    )
