"""Times with colons.

"3:40 min" is 3 minutes 40 seconds, "1:05 h" is 1 hour 5 minutes, "1:05:00" has hours first.
"""

from __future__ import annotations

import re

from tundish.quantity import exact
from tundish.quantity.errors import QuantityError, quoted
from tundish.quantity.table import Unit
from tundish.quantity.units import find

_CLOCK = re.compile(r"([0-9]+(?::[0-9]+)+)([.,][0-9]+)?\s*(.*)")
# Seconds in one of the last field, by the unit and the number of fields.
_LAST_FIELD = {("min", 2): 1.0, ("h", 2): exact.MINUTE, ("h", 3): 1.0, ("", 3): 1.0}


def read_clock(text: str) -> tuple[float, Unit] | None:
    """Seconds of a time with colons and the unit it is counted in; None for a text without colons.

    Raises
    ------
    QuantityError : minutes or seconds of 60 and more, or no way to tell hours from minutes.

    Examples
    --------
    >>> read_clock("3:40 min")[0], read_clock("1:05:00 h")[0], read_clock("1:05 h")[0], read_clock("28 s")
    (220.0, 3900.0, 3900.0, None)
    """
    match = _CLOCK.fullmatch(text)
    if match is None:
        return None
    fields = match[1].split(":")
    # Two fields without a unit could be minutes or hours; three can only start with hours.
    last = _LAST_FIELD.get((find(match[3]).symbol if match[3] else "", len(fields)))
    if last is None:
        raise _refusal(text, "add min for minutes:seconds, or h for hours:minutes")
    if any(len(field) != 2 or int(field) > 59 for field in fields[1:]):
        raise _refusal(text, "write two digits from 00 to 59 behind each colon")
    return _total(fields, match[2] or "") * last, find(match[3] or "h")


def _total(fields: list[str], decimals: str) -> float:
    total = 0.0
    for field in fields:
        total = total * 60 + float(field)
    return total + float("0" + decimals.replace(",", "."))


def _refusal(text: str, advice: str) -> QuantityError:
    return QuantityError(seen=quoted(text), allowed="3:40 min, 1:05 h or 1:05:00 h", do=advice)


def show_clock(seconds: float) -> str:
    """A time as minutes and seconds, from two hours on as hours and minutes.

    Parameters
    ----------
    seconds : time, 0 or more, [s]

    Examples
    --------
    >>> show_clock(220.0), show_clock(7500.0)
    ('3:40 min', '2:05 h')
    """
    unit, small = ("min", 1.0) if seconds < 2 * exact.HOUR else ("h", exact.MINUTE)
    big, rest = divmod(round(seconds / small), 60)
    return f"{big}:{rest:02d} {unit}"
