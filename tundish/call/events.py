"""The event record: who, when, in which call, and what."""

from __future__ import annotations

import re
from dataclasses import dataclass

from tundish.call.bodies import Body
from tundish.call.errors import EventError
from tundish.call.identity import check_event_id, check_moment

# Room for ids given by hand or by later programs.
CALL = re.compile(r"[a-z0-9][a-z0-9-]{2,63}")
DEVICE_LENGTH = 64


@dataclass(frozen=True)
class Event:
    """One thing that happened in a call.

    id : UUID of version 7; ids order the events of a call.
    device : which device wrote it. at : its clock then, ISO 8601 UTC. call : id of the call.
    """

    id: str
    device: str
    at: str
    call: str
    body: Body

    def __post_init__(self) -> None:
        check_event_id(self.id)
        check_moment(self.at)
        check_call(self.call)
        if not (self.device.strip() and self.device.isprintable() and len(self.device) <= DEVICE_LENGTH):
            raise EventError(
                seen=f"device {self.device!r}",
                allowed=f"1 to {DEVICE_LENGTH} plain characters",
                do="give the device a short plain name",
            )

    @property
    def kind(self) -> str:
        """Kind of the body."""
        return self.body.kind

    @property
    def schema(self) -> int:
        """Version of the body's fields."""
        return self.body.schema


def check_call(call: str) -> None:
    """Refuse what cannot be the id of a call."""
    if not CALL.fullmatch(call):
        raise EventError(
            seen=f"call id {call!r}",
            allowed="3 to 64 small letters, digits and dashes",
            do="use the id the call was opened with",
        )
