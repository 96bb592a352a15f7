"""What is said when a number with a unit is refused."""

from __future__ import annotations


class QuantityError(ValueError):
    """A refusal in three parts: what was seen, what is allowed, what to do next.

    Examples
    --------
    >>> print(QuantityError(seen="'68'", allowed="a number and its unit", do="write 68 psi"))
    saw '68'; allowed: a number and its unit; write 68 psi
    """

    def __init__(self, *, seen: str, allowed: str, do: str) -> None:
        super().__init__(f"saw {seen}; allowed: {allowed}; {do}")
        self.seen = seen
        self.allowed = allowed
        self.do = do


def quoted(text: str) -> str:
    """A typed text as it goes into a message: in quotes, cut to 40 characters.

    Examples
    --------
    >>> quoted("68 psy")
    "'68 psy'"
    """
    return repr(text if len(text) <= 40 else text[:37] + "...")
