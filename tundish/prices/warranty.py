"""The warranty clock: days in, days out. It counts whole days from the day the work was closed."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from tundish.prices.errors import PriceError
from tundish.prices.settings import Settings

COVERED = ("labour", "part")


@dataclass(frozen=True)
class Warranty:
    """Begins on `closed`; the last day covered is `labour_until` for labour, `part_until` for the part.

    A part replaced under warranty does not start the clock again (common practice, no source). What the law gives the
    customer stands beside this and comes first.
    """

    closed: date
    labour_until: date
    part_until: date

    def until(self, what: str) -> date:
        """Last day covered. Raises PriceError for anything but labour and part."""
        if what not in COVERED:
            raise PriceError(
                seen=f"warranty on {what!r}", allowed=" or ".join(COVERED), do="ask for one of these"
            )
        return self.labour_until if what == "labour" else self.part_until

    def covers(self, what: str, on: date) -> bool:
        """Whether a day is covered, the first and the last included."""
        return self.closed <= on <= self.until(what)

    def days_left(self, what: str, on: date) -> int:
        """Days still to come after `on`; 0 on the last day and later."""
        # The last day itself has none left
        return max(0, (self.until(what) - on).days)


def warranty(closed: date, settings: Settings) -> Warranty:
    """The warranty of work closed on a day.

    >>> from tundish.prices.settings_usual import usual
    >>> warranty(date(2026, 11, 25), usual("USD")).labour_until
    datetime.date(2027, 2, 23)
    """
    # Days, not months: 90 days is what is promised, and months differ
    return Warranty(
        closed,
        closed + timedelta(days=settings.warranty_labour_days),
        closed + timedelta(days=settings.warranty_part_days),
    )
