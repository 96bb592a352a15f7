"""What was done at the machine: safety steps, parts, the test after a repair, hand over and the end of the call."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from tundish.call.bodies import Body, need_text
from tundish.call.fields import need_one_of
from tundish.plan.states import FACETS, WHO

# How a call may end. `proven` has passed the proof the shop asks for; `unproven` was repaired and has not.
ENDINGS = ("proven", "unproven", "nothing wrong", "handed over", "replaced", "refused", "stopped")


@dataclass(frozen=True)
class StateClaimed(Body):
    """A step of the safety table was made.

    step : its name, `open X` or `close X` for a panel. proof : what was seen that proves it. who : any, trained or
    qualified.
    """

    KIND = "state claimed"
    step: str
    proof: str
    who: str = "trained"

    def __post_init__(self) -> None:
        need_text(self.KIND, "step", self.step)
        need_text(self.KIND, "proof", self.proof)
        need_one_of(self.KIND, "who", self.who, WHO)


@dataclass(frozen=True)
class StateFound(Body):
    """The machine was found in a state nobody here brought it to. facet, value : of the safety table. why : free text."""

    KIND = "state found"
    facet: str
    value: str
    why: str = ""

    def __post_init__(self) -> None:
        need_one_of(self.KIND, "facet", self.facet, (*FACETS, "panel"))
        if self.facet == "panel":
            need_text(self.KIND, "panel", self.value)
        else:
            need_one_of(self.KIND, self.facet, self.value, FACETS[self.facet])


@dataclass(frozen=True)
class CircumstanceDenied(Body):
    """The customer was asked for a circumstance and said no. name : from the description."""

    KIND = "circumstance denied"
    name: str

    def __post_init__(self) -> None:
        need_text(self.KIND, "name", self.name)


@dataclass(frozen=True)
class PartOrdered(Body):
    """A part was ordered, and the technician leaves until it is there. fault : the one it is for."""

    KIND = "part ordered"
    fault: str
    note: str = ""

    def __post_init__(self) -> None:
        need_text(self.KIND, "fault", self.fault)


@dataclass(frozen=True)
class PartTaken(Body):
    """A part is in hand. fault : the one it is for."""

    KIND = "part taken"
    fault: str
    note: str = ""

    def __post_init__(self) -> None:
        need_text(self.KIND, "fault", self.fault)


@dataclass(frozen=True)
class Tested(Body):
    """The machine was tried as the customer uses it, after a repair. works : whether the complaint was gone."""

    KIND = "tested"
    works: bool
    note: str = ""


@dataclass(frozen=True)
class HandedOver(Body):
    """A licensed trade takes over. to : who. why : in words."""

    KIND = "handed over"
    to: str
    why: str

    def __post_init__(self) -> None:
        need_text(self.KIND, "to", self.to)
        need_text(self.KIND, "why", self.why)


@dataclass(frozen=True)
class CallEnded(Body):
    """The call is over. as_ : one of ENDINGS. why : in words."""

    KIND = "call ended"
    SCHEMA = 2
    as_: str
    why: str = ""

    def __post_init__(self) -> None:
        need_one_of(self.KIND, "ending", self.as_, ENDINGS)


def one_ending_more(fields: dict[str, Any]) -> dict[str, Any]:
    """Schema 1 of `call ended` lacks the ending `unproven`; what it says stays as it is."""
    return fields
