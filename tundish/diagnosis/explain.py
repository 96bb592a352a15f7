"""What each reading did to a cause.

The weight of evidence of a reading is the change of the cause's log-odds, in decibans (10 times the common logarithm; Good 1950). It is
taken in the order of the readings, so the steps of one cause add up from its odds before any reading to its odds now.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from tundish.diagnosis.course import Step
from tundish.diagnosis.odds import Odds
from tundish.diagnosis.reading import Reading
from tundish.population.hypotheses import NOTHING, UNDESCRIBED

# Words by size of the change in decibans; a factor of 10 is 10 decibans. Our choice of words.
WORDS = (
    (1.0, "changes little"),
    (3.0, "speaks a little"),
    (10.0, "speaks"),
    (20.0, "speaks strongly"),
    (np.inf, "all but decides"),
)
MOST_DECIBANS = 100.0


@dataclass(frozen=True)
class Influence:
    """What one reading did to one cause: chance before and after, and decibans for (+) or against (-)."""

    reading: Reading
    before: float
    after: float
    decibans: float

    @property
    def words(self) -> str:
        """The size and direction of the change in words.

        >>> Influence(Reading("C05"), 0.2, 0.02, -11.0).words
        'speaks strongly against'
        """
        size = next(word for limit, word in WORDS if abs(self.decibans) < limit)
        return size if size == WORDS[0][1] else f"{size} {'for' if self.decibans > 0 else 'against'}"


def chance_of(known: Odds, cause: str) -> float:
    """The chance of a cause, of `nothing wrong` or of `something not described`; 0 for a cause never in question.

    >>> chance_of(Odds(np.array([1.0]), {"S04": 0.7}, 0.1, 0.2, 1.0, 0.0), "nothing wrong")
    0.1
    """
    return {NOTHING: known.nothing, UNDESCRIBED: known.unknown}.get(cause, known.causes.get(cause, 0.0))


def influences(steps: Sequence[Step], cause: str) -> list[Influence]:
    """What each reading of a course did to a cause, in order."""
    found = []
    for before, after in pairwise(steps):
        first, second = chance_of(before.odds, cause), chance_of(after.odds, cause)
        if after.reading is not None:
            found.append(Influence(after.reading, first, second, decibans(second) - decibans(first)))
    return found


def decibans(chance: float) -> float:
    """Log-odds of a chance in decibans, held within +-100.

    >>> round(decibans(0.9), 2)
    9.54
    """
    # A chance of exactly 0 or 1 would be infinite decibans; no reading is worth that.
    tiny = 10.0 ** (-MOST_DECIBANS / 10.0)
    held = min(max(chance, tiny), 1.0 - tiny)
    return float(10.0 * np.log10(held / (1.0 - held)))
