"""From what a technician types to a reading of a check."""

from __future__ import annotations

import math
from collections.abc import Iterable

from tundish.appliance.possible import barred, complaints_of
from tundish.appliance.records import Check, Description
from tundish.appliance.refusals import listed, near
from tundish.diagnosis.reading import NOT_THERE, Reading
from tundish.quantity.limits import check as within_sense
from tundish.quantity.parse import parse
from tundish.quantity.show import show
from tundish.quantity.units import dimension_of


class EntryError(ValueError):
    """Something typed that cannot be taken as a reading."""


def check_named(description: Description, name: str) -> Check:
    """The check of an id. Raises EntryError with near matches."""
    if name in description.checks:
        return description.checks[name]
    advice = near(name, description.checks) or "see `tundish handbook` for all checks"
    raise EntryError(f"check: saw {name!r}; allowed: a check of the {description.family}; {advice}")


def reading_of(check: Check, typed: str) -> Reading:
    """The reading of a check from its text, such as "68 psi", "> 20 Mohm", "OL", an answer's name or "not there".

    Raises EntryError, or QuantityError for a wrong unit or an impossible value.
    """
    if " ".join(typed.split()).casefold() == NOT_THERE:
        return _not_there(check, typed)
    if check.is_look:
        return Reading(check.id, answer=_answer(check, typed))
    found = parse(typed, dimension_of(check.unit))
    within_sense(found)
    _within_range(check, found.value, typed)
    return Reading(check.id, found.value, bound=found.bound)


def _not_there(check: Check, typed: str) -> Reading:
    """That the machine has not what the check needs; only of a check that some machines lack."""
    if not check.requires:
        raise EntryError(
            f"{check.id} ({check.title}): saw {typed!r}; allowed: what it showed, since every machine of the family has "
            "what it needs; read it, or leave it"
        )
    return Reading(check.id, answer=NOT_THERE)


def _within_range(check: Check, value: float, typed: str) -> None:
    """An instrument cannot show less than the foot of its range, nor a number beyond its end."""
    if check.instrument is None:
        return
    low, high = check.instrument.low, check.instrument.high
    if value < low or high < value < math.inf:
        unit = check.unit
        raise EntryError(
            f"{check.id} ({check.title}): saw {typed!r}; allowed: {show(low, unit)} to {show(high, unit)}, the range of the "
            f"{check.instrument.name}; read again, or enter OL when the instrument showed over range"
        )


def _answer(check: Check, typed: str) -> str:
    names = [a.name for a in check.answers]
    # Blanks and capitals are how one types with gloves on; they change no answer.
    said = " ".join(typed.split()).casefold()
    for name in names:
        if name.casefold() == said:
            return name
    advice = near(typed, names) or "name one of these"
    raise EntryError(f"{check.id} ({check.title}): saw {typed!r}; allowed: {listed(names)}; {advice}")


def one_of(named: str, known: Iterable[str], what: str) -> str:
    """The name as the description writes it; capitals do not matter. Raises EntryError with near matches.

    >>> one_of("slow", ["NOFILL", "SLOW"], "complaint")
    'SLOW'
    """
    names = list(known)
    for name in names:
        if name.casefold() == named.casefold():
            return name
    advice = near(named, names) or "choose one of these"
    raise EntryError(f"{what}: saw {named!r}; allowed: {listed(names)}; {advice}")


def complaint_in(description: Description, market: str, named: str) -> str:
    """The complaint of a name. Raises EntryError for one that is unknown, or makes no sense in the market, with what is allowed."""
    found = one_of(named, description.complaints, "complaint")
    lacks = barred(description, market, description.complaints[found].requires)
    if lacks:
        raise EntryError(
            f"complaint: saw {found} ({description.complaints[found].title}) in market {market}, where no machine has "
            f"{' and '.join(lacks)}; allowed: {listed(complaints_of(description, market))}; choose one of these, or another --market"
        )
    return found


def check_in(description: Description, market: str, named: str) -> Check:
    """The check of an id. Raises EntryError for one that is unknown, or makes no sense in the market."""
    check = check_named(description, named)
    lacks = barred(description, market, check.requires)
    if lacks:
        raise EntryError(
            f"check: saw {check.id} ({check.title}) in market {market}, where no machine has {' and '.join(lacks)}; "
            f"allowed: checks that make sense there; see `tundish handbook --market {market}` for them"
        )
    return check


def market_named(description: Description, named: str | None) -> str:
    """The market of a name, or the family's first."""
    return one_of(named, description.markets, "market") if named else next(iter(description.markets))
