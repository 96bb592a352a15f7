"""Sections `complaints` and `circumstances`: what the user sees and tells."""

from __future__ import annotations

from collections.abc import Iterable

from tundish.appliance.bindings import choice_code, choice_name, numeric_name, requires
from tundish.appliance.fields import NOT_NEGATIVE, SHARE, keys, mapping, number, some, table, text
from tundish.appliance.lines import Fields, Node, Text
from tundish.appliance.measures import Scale, in_si
from tundish.appliance.owners import Owners, choices
from tundish.appliance.records import Circumstance, Clause, Complaint

_AGES = ("age_above", "age_below")
_LIMITS = ("above", "below")


def complaints(node: Node | None, known: Owners, faults: Iterable[str]) -> dict[str, Complaint]:
    """Every complaint by name; `faults` are the ids that may have a share."""
    ids = list(faults)
    return {name: _complaint(name, entry, known, ids=ids) for name, entry in mapping(node).items()}


def circumstances(node: Node | None, faults: Iterable[str]) -> dict[str, Circumstance]:
    """Every circumstance by name."""
    ids = list(faults)
    return {name: _circumstance(name, entry, ids) for name, entry in mapping(node).items()}


def _complaint(name: str, node: Node, known: Owners, *, ids: list[str]) -> Complaint:
    given = keys(node, ("title", "when", "shares", "two", "undescribed", "proof"), ("requires",))
    return Complaint(
        name,
        text(given.get("title")),
        tuple(_clause(item, known) for item in some(given.get("when"), "clause")),
        _shares(given.get("shares"), ids),
        number(given.get("two"), SHARE),
        number(given.get("undescribed"), SHARE),
        text(given.get("proof")),
        requires(given.get("requires"), known),
    )


def _shares(node: Node | None, ids: list[str]) -> dict[str, float]:
    found = table(node, ids, "fault", within=NOT_NEGATIVE)
    # A share may be 0, to keep a fault in the table, but not every share.
    if isinstance(node, Fields) and sum(found.values()) <= 0:
        node.refuse("shares that sum above 0", "give a fault a share", seen="shares that sum to 0")
    return found


def _clause(node: Node, known: Owners) -> Clause:
    given = mapping(node)
    # Ways within ways are allowed, so a clause may hold clauses.
    if "any" in given:
        ways = some(keys(node, ("any",)).get("any"), "clause")
        return Clause(any=tuple(_clause(item, known) for item in ways))
    quantity = given.get("quantity")
    # What is named tells which limits make sense, even where they are left out.
    named = isinstance(quantity, Text) and quantity.text in choices(known)
    return _choice_clause(node, known) if named or "is" in given else _number_clause(node, known)


def _choice_clause(node: Node, known: Owners) -> Clause:
    given = keys(node, ("quantity", "is"))
    name = choice_name(given.get("quantity"), known)
    return Clause(name, name=choice_code(given.get("is"), known[name]) if name else None)


def _number_clause(node: Node, known: Owners) -> Clause:
    given = keys(node, ("quantity",), _LIMITS)
    name = numeric_name(given.get("quantity"), known)
    if isinstance(node, Fields) and not set(_LIMITS) & set(given):
        advice = "say above or below what, with a unit"
        node.refuse("above, below or is", advice, seen="a clause without a limit")
    if not name:
        return Clause()
    scale = Scale(known[name].unit)
    above, below = (in_si(given[key], scale) if key in given else None for key in _LIMITS)
    if above is not None and below is not None and above >= below:
        seen = f"above {given['above'].shown}, below {given['below'].shown}"
        node.refuse("above lower than below", "swap the two, or use any: for either", seen=seen)
    return Clause(name, above, below)


def _circumstance(name: str, node: Node, ids: list[str]) -> Circumstance:
    # What is told by the machine's age need not be asked.
    by_age = any(key in mapping(node) for key in _AGES)
    given = keys(node, ("times",) if by_age else ("ask", "times"), ("ask", *_AGES))
    times = given.get("times")
    if isinstance(times, Fields) and not times.entries:
        times.refuse("at least one fault and its factor", "say which faults it makes likelier or rarer")
    above, below = (number(given[key], NOT_NEGATIVE) if key in given else None for key in _AGES)
    if above is not None and below is not None and above >= below:
        node.refuse(
            "age_above lower than age_below", "swap the two", seen=f"above {above:g}, below {below:g}"
        )
    factors = table(times, ids, "fault", within=NOT_NEGATIVE)
    return Circumstance(name, text(given.get("ask")), factors, above, below)
