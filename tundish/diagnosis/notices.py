"""Which notices of a description a reading asks for: law and danger do not wait for the odds."""

from __future__ import annotations

from collections.abc import Sequence

from tundish.appliance.records import Description, Notice
from tundish.diagnosis.reading import Reading


def asks(notice: Notice, reading: Reading) -> bool:
    """Whether a reading asks for a notice: by its answer, or by its value above or below the limit.

    >>> gas = Notice("gas", ("C7",), "Everybody out.", "CP", answers=("smell",))
    >>> asks(gas, Reading("C7", answer="smell")), asks(gas, Reading("C7", answer="none"))
    (True, False)
    """
    if reading.check not in notice.checks:
        return False
    if reading.answer is not None:
        return reading.answer in notice.answers
    value = reading.value if reading.value is not None else 0.0
    high = notice.above is not None and value > notice.above
    return high or (notice.below is not None and value < notice.below)


def asked_for(description: Description, readings: Sequence[Reading]) -> tuple[Notice, ...]:
    """The notices that some of the readings ask for, in the description's order."""
    return tuple(n for n in description.notices.values() if any(asks(n, r) for r in readings))
