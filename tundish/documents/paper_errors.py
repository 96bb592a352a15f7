"""What is said when a paper cannot be printed."""

from __future__ import annotations


class PaperError(ValueError):
    """Facts that no sound paper can be made of. Says what was seen, what is allowed and what to do."""

    def __init__(self, *, seen: str, allowed: str, do: str) -> None:
        super().__init__(f"saw {seen}; allowed: {allowed}; {do}")
        self.seen, self.allowed, self.do = seen, allowed, do
