"""What stands in a call after corrections."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, TypeVar

from tundish.call.bodies import Body

B = TypeVar("B", bound=Body)


@dataclass(frozen=True)
class Fact(Generic[B]):
    """What stands after corrections, at the place of the event that first said it.

    event, device, at : of that event. body : what stands.
    corrected : id of the correction that put it there, or None.
    """

    event: str
    device: str
    at: str
    body: B
    corrected: str | None = None
