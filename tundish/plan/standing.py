"""Where a call stands when the next action is asked for."""

from __future__ import annotations

from dataclasses import dataclass, field

from tundish.plan.states import Safety


@dataclass(frozen=True)
class Proved:
    """How far the last repair is proven. proven : nothing is missing in the readings. checks : those that would prove it."""

    proven: bool
    checks: tuple[str, ...] = ()


@dataclass(frozen=True)
class Standing:
    """Where a call stands.

    safety : state of the machine. read : checks already taken. repaired : faults whose repair was done, as often
    as it was.
    parts : faults whose part is in hand though it is not usually on the van. phone : the visit has not begun.
    works : whether it worked at the test since the last repair, None when it was not tried. proof : how far that repair is
    proven, None when nobody worked it out. refer : who takes over where a hazard was seen.
    """

    safety: Safety = field(default_factory=Safety)
    read: frozenset[str] = frozenset()
    repaired: tuple[str, ...] = ()
    parts: frozenset[str] = frozenset()
    phone: bool = False
    works: bool | None = None
    proof: Proved | None = None
    refer: tuple[str, ...] = ()
