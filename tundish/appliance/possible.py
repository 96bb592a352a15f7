"""What makes no sense in a market: a complaint or check that needs a kind of machine which is not found there."""

from __future__ import annotations

from collections.abc import Mapping

from tundish.appliance.records import Check, Complaint, Description


def barred(description: Description, market: str, needs: Mapping[str, str]) -> tuple[str, ...]:
    """Which needs no machine of a market has, such as `mains split`; none where all may be had.

    needs : choice parameters and the name each must have, as a complaint's or check's `requires`.
    """
    return tuple(f"{name} {kind}" for name, kind in needs.items() if not _found(description, market, name, kind))


def complaints_of(description: Description, market: str) -> dict[str, Complaint]:
    """The complaints that make sense in a market."""
    return {c.name: c for c in description.complaints.values() if not barred(description, market, c.requires)}


def checks_of(description: Description, market: str) -> dict[str, Check]:
    """The checks that make sense in a market."""
    return {c.id: c for c in description.checks.values() if not barred(description, market, c.requires)}


def _found(description: Description, market: str, name: str, kind: str) -> bool:
    record = description.parameters[name]
    given = description.markets[market].parameters.get(name, record.distribution)
    if given.kind == "name":
        return given.names[0] == kind
    # A choice that hangs on another is not followed: it counts as found.
    if given.kind != "choice":
        return True
    return dict(zip(given.names, given.numbers, strict=True)).get(kind, 0.0) > 0
