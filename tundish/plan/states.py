"""Safety and access states as one table: what there is, how one comes from one to the next, with proof and
minutes.

Read by the planner, the call, the tests and the pages. Local law and licensed practice outrank every row.
Sources: GS38 = HSE Guidance Note GS38, 4th ed. 2015; DOE = DOE Electrical Safety Handbook, section 2.13.2;
29 CFR 1910.333 = work practices on or near exposed energised parts; CP = common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from tundish.plan.errors import PlanError

# Order as in the trade: from running to safe
# The values of each facet. `live` is energised with covers off, the last resort.
FACETS: Mapping[str, tuple[str, ...]] = {
    "power": ("on", "isolated", "dead", "discharged", "live"),
    "water": ("none", "on", "off", "relieved"),
    "place": ("in place", "pulled out"),
    "heat": ("cold", "hot"),
    "gas": ("none", "present"),
    "refrigerant": ("none", "plain", "flammable"),
    "hazard": ("unknown", "none seen", "seen"),
    "supply": ("plug", "breaker"),
    "use": ("in hand", "returned to use", "out of use"),
}
# Who may do it: anybody, somebody trained for work on dead machines, somebody authorised for live work as
# well.
WHO = ("any", "trained", "qualified")
SAFE_POWER = frozenset({"isolated", "dead", "discharged"})


@dataclass(frozen=True)
class Safety:
    """The state of the machine and its surroundings. panels : those open; none is reassembled."""

    power: str = "on"
    water: str = "on"
    place: str = "in place"
    heat: str = "cold"
    gas: str = "none"
    refrigerant: str = "none"
    hazard: str = "none seen"
    supply: str = "plug"
    use: str = "in hand"
    panels: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        """Refuse a value no facet has."""
        for facet, values in FACETS.items():
            if getattr(self, facet) not in values:
                raise PlanError(
                    seen=f"{facet} {getattr(self, facet)!r}", allowed=", ".join(values), do=f"correct {facet}"
                )

    @property
    def name(self) -> str:
        """The state in words."""
        usual = Safety()
        # Power and water are always told, the rest only when it is not as usual
        told = [f"power {self.power}", "" if self.water == "none" else f"water {self.water}"]
        told += [
            f"{facet} {getattr(self, facet)}"
            if facet in ("gas", "refrigerant", "hazard")
            else getattr(self, facet)
            for facet in ("place", "heat", "gas", "refrigerant", "hazard", "use")
            if getattr(self, facet) != getattr(usual, facet)
        ]
        told += [f"{panel} open" for panel in sorted(self.panels)]
        return ", ".join(t for t in told if t)


@dataclass(frozen=True)
class Step:
    """One way from a value of a facet to another.

    needs : facet -> values it may have; "panels" -> "closed" when all must be closed. minutes : usual, from
    and to.
    who : least of WHO. proof : what must be seen before the new state may be claimed. moves_machine : it may
    change the machine itself.
    """

    name: str
    facet: str
    start: str
    end: str
    minutes: tuple[float, float]
    proof: str
    source: str
    needs: Mapping[str, frozenset[str]] = field(default_factory=dict)
    who: str = "any"
    moves_machine: bool = False

    @property
    def usual(self) -> float:
        """Minutes counted, the middle of the range."""
        return sum(self.minutes) / 2


CLOSED = {"panels": frozenset({"closed"})}
NO_HAZARD = {"hazard": frozenset({"none seen"})}
DEAD = "0 V on all pairs at the point of work, tester proved before and after on a known source"
WARM = "at most 40 C at the point of work, by thermometer"
TO_USE = {
    "power": frozenset({"on"}),
    "water": frozenset({"none", "on"}),
    "place": frozenset({"in place"}),
    **CLOSED,
    **NO_HAZARD,
}

STEPS: tuple[Step, ...] = (
    Step(
        "look, smell and ask",
        "hazard",
        "unknown",
        "none seen",
        (8, 8),
        "no smell of gas, no smoke, no shock, no water on live parts, outlet whole",
        "CP",
    ),
    Step(
        "pull the plug",
        "power",
        "on",
        "isolated",
        (2, 2),
        "plug out and in sight",
        "CP; GS38",
        needs={"supply": frozenset({"plug"})},
    ),
    Step(
        "breaker off, locked and tagged",
        "power",
        "on",
        "isolated",
        (6, 6),
        "lock and tag on, both poles off, tried to start",
        "CP; GS38",
        needs={"supply": frozenset({"breaker"})},
        who="trained",
    ),
    Step("prove dead", "power", "isolated", "dead", (3, 4), DEAD, "minutes CP; DOE; GS38", who="trained"),
    Step(
        "discharge",
        "power",
        "dead",
        "discharged",
        (2, 10),
        "below 5 V d.c. after 60 s rest; springs and drum blocked",
        "CP",
        who="trained",
    ),
    Step(
        "energise",
        "power",
        "isolated",
        "on",
        (1, 1),
        "nobody in contact",
        "CP",
        needs={**CLOSED, **NO_HAZARD},
    ),
    Step("energise", "power", "dead", "on", (1, 1), "nobody in contact", "CP", needs={**CLOSED, **NO_HAZARD}),
    Step(
        "energise",
        "power",
        "discharged",
        "on",
        (1, 1),
        "nobody in contact",
        "CP",
        needs={**CLOSED, **NO_HAZARD},
    ),
    Step(
        "energise open, leads clipped on dead",
        "power",
        "dead",
        "live",
        (4, 4),
        "written reason why it cannot be read isolated; second adult aware; under 60 s energised",
        "CP; 29 CFR 1910.333(a)(1)",
        needs=NO_HAZARD,
        who="qualified",
    ),
    Step("off again", "power", "live", "isolated", (3, 3), "plug out and in sight", "CP", who="qualified"),
    Step("shut the taps", "water", "on", "off", (1, 1), "taps shut by hand", "CP"),
    Step("let off the pressure", "water", "off", "relieved", (2, 2), "no drip into towel or tray", "CP"),
    Step("open the taps", "water", "off", "on", (1, 1), "joints dry", "CP", needs=NO_HAZARD),
    Step("open the taps", "water", "relieved", "on", (1, 1), "joints dry", "CP", needs=NO_HAZARD),
    Step(
        "pull the machine out",
        "place",
        "in place",
        "pulled out",
        (2, 4),
        "hoses seen and photographed before; two persons over 70 kg",
        "CP",
        moves_machine=True,
    ),
    Step(
        "push the machine back",
        "place",
        "pulled out",
        "in place",
        (2, 4),
        "hoses seen to lie in smooth bends",
        "CP",
        moves_machine=True,
    ),
    Step("let it cool", "heat", "hot", "cold", (10, 60), WARM, "CP", needs={"power": SAFE_POWER}),
    Step(
        "return to use",
        "use",
        "in hand",
        "returned to use",
        (15, 60),
        "function and proof in the as-used state",
        "CP",
        needs=TO_USE,
    ),
    Step(
        "put out of use",
        "use",
        "in hand",
        "out of use",
        (1, 5),
        "plug tagged or breaker off, customer told in writing",
        "CP",
        needs={"power": SAFE_POWER},
    ),
)
PANEL_PROOF = "earths refitted first, covers and clips back, no spare screws, photo"


def open_panel(panel: str, minutes: float) -> Step:
    """The step that opens a panel: only when isolated."""
    return Step(
        f"open {panel}",
        "panels",
        "closed",
        panel,
        (minutes, minutes),
        "photo before",
        "minutes of the description",
        needs={"power": SAFE_POWER},
    )


def close_panel(panel: str, minutes: float) -> Step:
    """The step that closes a panel again: only when isolated."""
    return Step(
        f"close {panel}",
        "panels",
        panel,
        "closed",
        (minutes, minutes),
        PANEL_PROOF,
        "minutes of the description",
        needs={"power": SAFE_POWER},
    )


def may(who: str, least: str) -> bool:
    """Whether somebody ranked `who` may do what asks for at least `least`. PlanError for another word."""
    if who not in WHO:
        raise PlanError(seen=repr(who), allowed=", ".join(WHO), do="say who works on the machine")
    return WHO.index(who) >= WHO.index(least)


def refusal(step: Step, state: Safety, *, who: str) -> str:
    """Why a step may not be made from a state; empty when it may."""
    # Who may do it comes before whether it can be done
    if not may(who, step.who):
        return f"{step.name}: only for somebody {step.who}"
    if state.use != "in hand":
        return f"{step.name}: the machine is {state.use}"
    if not _is(state, step.facet, step.start, opening=step.facet == "panels"):
        return f"{step.name}: needs {step.facet} {step.start}"
    for facet, values in step.needs.items():
        seen = ("open" if state.panels else "closed") if facet == "panels" else getattr(state, facet)
        if seen not in values:
            return f"{step.name}: {facet} is {seen}, must be {' or '.join(sorted(values))}"
    return ""


def made(step: Step, state: Safety, *, who: str) -> Safety:
    """The state after a step. PlanError when it may not be made."""
    why = refusal(step, state, who=who)
    if why:
        raise PlanError(seen=why, allowed="a lawful step", do=f"first leave: {state.name}")
    if step.facet != "panels":
        changed_facet: dict[str, Any] = {step.facet: step.end}
        return replace(state, **changed_facet)
    # Panels are a set, not a value: each opens and closes by itself
    changed = state.panels - {step.start} if step.end == "closed" else state.panels | {step.end}
    return replace(state, panels=changed)


def _is(state: Safety, facet: str, value: str, *, opening: bool) -> bool:
    if opening:
        return value == "closed" or value in state.panels
    return bool(getattr(state, facet) == value)
