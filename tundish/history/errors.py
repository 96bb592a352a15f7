"""The error of this package."""

from __future__ import annotations


class HistoryError(ValueError):
    """Counts or records that nothing can be learned from. Says what was seen, what is allowed and what to do."""

    def __init__(self, *, seen: str, allowed: str, do: str) -> None:
        super().__init__(f"saw {seen}; allowed: {allowed}; {do}")
        self.seen, self.allowed, self.do = seen, allowed, do
