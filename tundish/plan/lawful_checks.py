"""What a check demands of the safety state, by the state code of the description, and why it may not be done
now.

Codes: ISO isolated, taps shut, pressure let off; PWR powered, no water; FILL powered and filling; RUN running
in the phase named; STAT water on, nothing running; NONE only looking and asking.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from tundish.plan.errors import PlanError
from tundish.plan.states import SAFE_POWER, Safety, may

NO_WATER, FLOWING = frozenset({"none", "off", "relieved"}), frozenset({"none", "on"})
RUNNING = frozenset({"on"})
# Facet -> values it may have. Panels open or closed are asked apart.
CODES: Mapping[str, Mapping[str, frozenset[str]]] = {
    "ISO": {"power": SAFE_POWER, "water": frozenset({"none", "relieved"})},
    "PWR": {"power": RUNNING, "water": NO_WATER},
    "FILL": {"power": RUNNING, "water": frozenset({"on"})},
    "RUN": {"power": RUNNING, "water": FLOWING},
    "STAT": {"power": SAFE_POWER | RUNNING, "water": frozenset({"on"})},
    "NONE": {},
}
# What the reading touches -> power it needs. Ohms on a live or merely unplugged machine are never lawful.
TOUCHES: Mapping[str, frozenset[str]] = {
    "nothing": frozenset({"on", "isolated", "dead", "discharged"}),
    "conductor": frozenset({"dead", "discharged"}),
    "stored energy": frozenset({"discharged"}),
    "live part": frozenset({"live"}),
}
# What the reading touches -> who may do it, at least (words of `states.WHO`).
LEAST: Mapping[str, str] = {
    "nothing": "any",
    "conductor": "trained",
    "stored energy": "trained",
    "live part": "qualified",
}
# What is not ours to work on, and who takes over.
OTHERS: Mapping[str, str] = {
    "gas train": "a licensed gas fitter",
    "sealed circuit": "a certified refrigerant technician",
    "microwave high voltage": "a specialist workshop",
    "house wiring": "a licensed electrician",
}


@dataclass(frozen=True)
class Demand:
    """What a check needs. code : one of CODES. touches : one of TOUCHES. panels : those that must be open.

    place : "in place" or "pulled out" when it matters. hand_in : hands where it may be hot. of : one of
    OTHERS, or "".
    heats : flame, heat gun or a tool that sparks.
    """

    code: str
    touches: str = "nothing"
    panels: frozenset[str] = frozenset()
    place: str = ""
    hand_in: bool = False
    of: str = ""
    heats: bool = False

    def __post_init__(self) -> None:
        """Refuse a word the tables do not hold."""
        for word, table in ((self.code, CODES), (self.touches, TOUCHES), (self.of or "gas train", OTHERS)):
            if word not in table:
                raise PlanError(seen=repr(word), allowed=", ".join(table), do="correct the check's demand")


def refusal(demand: Demand, state: Safety, *, who: str) -> str:
    """Why a check may not be done in a state, in one sentence; empty when it may."""
    # What is not ours comes first: no state makes it lawful
    if demand.of:
        return f"the {demand.of} is not ours: hand over to {OTHERS[demand.of]}"
    if not may(who, LEAST[demand.touches]):
        return f"touching a {demand.touches} is only for somebody {LEAST[demand.touches]}"
    if demand.heats and state.refrigerant == "flammable":
        return "no flame, heat or sparking tool near flammable refrigerant"
    if state.hazard == "unknown" and demand.code != "NONE":
        return "look, smell and ask for hazards first"
    if state.hazard == "seen" or state.use != "in hand":
        return (
            "a hazard was seen: put the machine out of use"
            if state.hazard == "seen"
            else f"a machine in hand, not a machine {state.use}"
        )
    return next(_wrong_state(demand, state), "")


def lawful_states(demand: Demand, states: Mapping[str, Safety], *, who: str) -> frozenset[str]:
    """Names of the states in which a check may be done: the `at` of the planner's action."""
    return frozenset(n for n, state in states.items() if not refusal(demand, state, who=who))


def _wrong_state(demand: Demand, state: Safety) -> Iterator[str]:
    for facet, values in _facets(demand).items():
        seen = getattr(state, facet)
        if seen not in values:
            wanted = " or ".join(sorted(values)) or "what no state is: the check contradicts itself"
            yield f"{facet} is {seen}, must be {wanted}"
    # More panels open than asked is lawful: another check may need them
    missing = demand.panels - state.panels
    if missing:
        yield f"{', '.join(sorted(missing))} must be open"
    if state.power == "on" and state.panels:
        yield "powered with a cover off"
    if demand.hand_in and state.heat == "hot":
        yield "hot: let it cool to 40 C at the point of work"


def _facets(demand: Demand) -> dict[str, frozenset[str]]:
    """Facets asked by the code, the touch and the place together."""
    # The code says what runs and flows, the touch what must be dead; both must hold
    asked = dict(CODES[demand.code])
    touch = TOUCHES[demand.touches]
    # A live reading is taken with the machine on in the phase its code names, covers off: power `live` stands
    # for `on`
    asked["power"] = touch if demand.touches == "live part" else asked.get("power", touch) & touch
    if demand.place:
        asked["place"] = frozenset({demand.place})
    return asked
