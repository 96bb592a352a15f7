"""What is wrong in a description: every fault found, with its line."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from difflib import get_close_matches


@dataclass(frozen=True)
class Refusal:
    """One thing wrong in the file.

    file, line : where, the line counted from 1.
    field : the path of keys to it, joined by dots; list items count from 0 in brackets.
    seen, allowed, do : what stands there, what may stand there, what to do next.

    >>> print(Refusal("toy.yaml", 17, "checks.C05.minutes", '"six"', "a number above 0", "write a number"))
    toy.yaml:17: checks.C05.minutes: saw "six"; allowed: a number above 0; write a number
    """

    file: str
    line: int
    field: str
    seen: str
    allowed: str
    do: str

    def __str__(self) -> str:
        """The refusal on a line of its own."""
        line = f"{self.file}:{self.line}: {self.field}: saw {self.seen}; allowed: {self.allowed}; {self.do}"
        # A text of the file may hold line ends and signs that a terminal would obey.
        return "".join(sign if sign.isprintable() else " " for sign in line)


class DescriptionError(ValueError):
    """A description that cannot be used; `refusals` holds every fault found, in the order of the file."""

    def __init__(self, refusals: Sequence[Refusal]) -> None:
        """The message has one line a refusal."""
        super().__init__("\n".join(str(refusal) for refusal in refusals))
        self.refusals = tuple(refusals)


@dataclass
class Ledger:
    """Collects refusals while a file is read, so that one run shows them all."""

    file: str
    refusals: list[Refusal] = field(default_factory=list)

    def finish(self) -> None:
        """Raise DescriptionError when anything was refused."""
        if self.refusals:
            # Two readers may ask the same field; equal refusals are said once, in the order of the file.
            found = dict.fromkeys(self.refusals)
            raise DescriptionError(sorted(found, key=lambda refusal: refusal.line))


def near(name: str, allowed: Iterable[str]) -> str:
    """Advice for an unknown name: the names it may have been meant to be, else nothing.

    >>> near("presure", ["pressure", "flow"])
    'did you mean "pressure"?'
    """
    # Three are enough to choose from.
    close = get_close_matches(name, list(allowed), n=3)
    return "did you mean " + " or ".join(f'"{match}"' for match in close) + "?" if close else ""


def one(thing: str) -> str:
    """The thing with its article.

    >>> one("voltage"), one("angle")
    ('a voltage', 'an angle')
    """
    return f"an {thing}" if thing[:1] in "aeiou" else f"a {thing}"


def listed(names: Iterable[str], most: int = 40) -> str:
    """Names in one line, cut after `most`.

    >>> listed(["a", "b", "c"], most=2)
    'a, b and 1 more'
    """
    every = list(names)
    more = f" and {len(every) - most} more" if len(every) > most else ""
    return ", ".join(every[:most]) + more
