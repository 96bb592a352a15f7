"""What a check or a repair of a description demands of the safety state: its state code and access words read
into demands.

Where a description names several panels, any one of them leads to the part, so several demands stand side by
side and one that is met is enough.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from tundish.appliance.records import Check, Description, Fault
from tundish.plan.lawful_checks import Demand, refusal
from tundish.plan.states import Safety

# Panel -> minutes to open and to close it. Source: common practice, no source.
PANELS: Mapping[str, tuple[float, float]] = {
    "TOP": (4, 4),
    "BACK": (5, 5),
    "FRONT": (12, 12),
    "TOE": (3, 3),
    "INNER": (6, 6),
    "TUB": (60, 60),
}
POWERED = frozenset({"PWR", "FILL", "RUN"})
# A repair that opens nothing asks for no state of its own when it is a setting, a hose route or the house.
UNOPENED = frozenset({"user", "install", "house", "normal"})
# Opened without a panel: a filter, the sump, what lies under the machine. Then it is isolated and without water all the same.
OPENED = frozenset({"filter", "tub", "under", "base"})
# Words in a fault's part that tell it is not ours, and whose domain of `lawful_checks.OTHERS` it is.
FOREIGN: Mapping[str, str] = {
    "electric supply": "house wiring",
    "residual current device": "house wiring",
    "gas train": "gas train",
    "gas valve": "gas train",
    "burner": "gas train",
    "sealed circuit": "sealed circuit",
    "compressor": "sealed circuit",
    "refrigerant": "sealed circuit",
    "magnetron": "microwave high voltage",
    "high voltage": "microwave high voltage",
}


def demands_of_check(check: Check) -> tuple[Demand, ...]:
    """The demands of a check, one of which must be met."""
    touches, panels = _touched(check), _panels(check.access)
    return _side_by_side(check.state, touches, panels, _place(check.access))


def demands_of_repair(fault: Fault) -> tuple[Demand, ...]:
    """The demands of a repair: proven dead behind a panel, isolated with the taps shut for a worn part or what is opened.

    What belongs to a licensed trade is met in no state.
    """
    foreign = domain_of(fault)
    if foreign:
        return (Demand("NONE", of=foreign),)
    panels, place = _panels(fault.access), _place(fault.access)
    if panels:
        return _side_by_side("ISO", "conductor", panels, place)
    closed = fault.kind in UNOPENED and not OPENED & set(fault.access)
    return (Demand("NONE" if closed else "ISO", place=place),)


def domain_of(fault: Fault) -> str:
    """Whose work a fault is, one of `lawful_checks.OTHERS`; empty when it is ours."""
    part = fault.part.casefold()
    return next((domain for word, domain in FOREIGN.items() if word in part), "")


def panels_of(description: Description) -> dict[str, tuple[float, float]]:
    """The panels a family has, with the minutes to open and to close each."""
    words = {word for part in _reached(description) for word in part.access}
    return {panel: minutes for panel, minutes in PANELS.items() if panel in words}


def water_of(description: Description) -> str:
    """The water state of a family on arrival: on where some check is taken while it fills, else none.

    A machine of a dry family that has a water line all the same (an ice maker) is found so by the technician.
    """
    return "on" if any(check.state == "FILL" for check in description.checks.values()) else "none"


def refused(demands: Iterable[Demand], state: Safety, *, who: str) -> str:
    """Why none of the demands is met in a state, by the first of them; empty when one is met."""
    whys = [refusal(demand, state, who=who) for demand in demands]
    return "" if "" in whys else whys[0]


def _touched(check: Check) -> str:
    # Powered with a panel off is live work even for a look: there is no such state with covers on
    if check.live or (check.state in POWERED and _panels(check.access)):
        return "live part"
    if check.state != "ISO" or check.instrument is None:
        return "nothing"
    # Behind a panel an instrument comes near terminals whatever it measures
    probing = check.instrument.dimension == "resistance" or bool(_panels(check.access))
    return "conductor" if probing else "nothing"


def _side_by_side(code: str, touches: str, panels: tuple[str, ...], place: str) -> tuple[Demand, ...]:
    opened = [frozenset({panel}) for panel in panels] or [frozenset[str]()]
    return tuple(Demand(code, touches, panel, place) for panel in opened)


def _reached(description: Description) -> list[Check | Fault]:
    return [*description.checks.values(), *description.faults.values()]


def _panels(access: Iterable[str]) -> tuple[str, ...]:
    return tuple(word for word in access if word in PANELS)


def _place(access: Iterable[str]) -> str:
    return "pulled out" if "OUT" in access else ""
