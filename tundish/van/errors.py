"""The error of this package."""

from __future__ import annotations


class VanError(ValueError):
    """A van, a stock or a day that cannot be. Says what was seen, what is allowed and what to do."""

    def __init__(self, *, seen: str, allowed: str, do: str) -> None:
        super().__init__(f"saw {seen}; allowed: {allowed}; {do}")
        self.seen, self.allowed, self.do = seen, allowed, do
