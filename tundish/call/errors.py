"""What is said when a call's events are refused."""

from __future__ import annotations


class CallError(ValueError):
    """A refusal in three parts: what was seen, what is allowed, what to do next."""

    def __init__(self, *, seen: str, allowed: str, do: str) -> None:
        super().__init__(f"saw {seen}; allowed: {allowed}; {do}")
        self.seen = seen
        self.allowed = allowed
        self.do = do


class EventError(CallError):
    """A record or a line that is not a sound event."""


class MoveError(CallError):
    """An event that may not follow the events already there."""


class HandleError(CallError):
    """A short name that leads to no call, or to more than one."""
