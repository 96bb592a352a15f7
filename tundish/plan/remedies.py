"""What may cure: faults brought together by the part or the hand that cures them, with price, minutes and demands."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from tundish.appliance.records import Description, Fault
from tundish.plan.demands import PANELS, demands_of_repair, domain_of
from tundish.plan.lawful_checks import OTHERS, Demand
from tundish.plan.shop import Shop
from tundish.plan.states import STEPS

REPAIR, HAND_OVER = "repair", "hand over"
# Minutes to show the customer what another trade has to do, written. Our choice.
HANDING = 10.0
# The proof is not in the table's labour: 5-15 min, common practice; the shortest, since a failed test ends at once.
TEST = 5.0
# However little is left of a table's minutes once the way there is taken out. Our choice.
LEAST_CHECK, LEAST_REPAIR = 1.0, 3.0
PULLING = next(step.usual for step in STEPS if step.name == "pull the machine out")


@dataclass(frozen=True)
class Remedy:
    """One act that may cure.

    faults : ids it cures. price : part. minutes : beside the way there, test included. order : the part must be
    ordered. seen : whether it shows on this visit that it worked.
    """

    name: str
    kind: str
    faults: tuple[str, ...]
    price: float
    minutes: float
    demands: tuple[Demand, ...]
    order: bool
    seen: bool

    @property
    def part(self) -> str:
        """The token of its part."""
        return f"part for {'/'.join(self.faults)}"


def remedies(description: Description, shop: Shop, faults: Iterable[str]) -> tuple[Remedy, ...]:
    """The remedies for these faults, in the description's order. Worn faults of one part at one price share a new part."""
    wanted = set(faults)
    groups: dict[object, list[Fault]] = {}
    for fault in description.faults.values():
        if fault.id in wanted and fault.kind != "normal":
            # A new part cures whatever was worn on the old one; what users and installers did wrong is undone one by one
            shared = (fault.part, tuple(fault.price.items())) if fault.kind == "wear" else fault.id
            groups.setdefault(shared, []).append(fault)
    return tuple(_remedy(description, shop, group) for group in groups.values())


def way_minutes(access: Iterable[str]) -> float:
    """Minutes of the way to a part that a table's minutes include: the first panel named, and pulling the machine out."""
    words = list(access)
    panel = next((PANELS[w][0] for w in words if w in PANELS), 0.0)
    return panel + (PULLING if "OUT" in words else 0.0)


def check_minutes(minutes: float, access: Iterable[str]) -> float:
    """Minutes of a check once it can be reached; the table's include the way, which the planner pays by itself.

    >>> check_minutes(10.0, ["FRONT"]), check_minutes(6.0, []), check_minutes(10.0, ["TOP"])
    (1.0, 6.0, 6.0)
    """
    return max(minutes - way_minutes(access), min(minutes, LEAST_CHECK))


def _remedy(description: Description, shop: Shop, group: list[Fault]) -> Remedy:
    first = group[0]
    away = bool(domain_of(first)) or "house" in first.access
    ids = tuple(f.id for f in group)
    minutes = max(sum(f.minutes) / 2 for f in group)
    net = HANDING + minutes if away else max(minutes - way_minutes(first.access), LEAST_REPAIR) + TEST
    # One part serves all faults of the group, so it is carried if any of them makes it worth carrying
    carried = any(shop.on_van(description, f) for f in group)
    title = first.title if len(group) == 1 else f"new {first.part}"
    return Remedy(
        name=f"{HAND_OVER if away else REPAIR} {'/'.join(ids)} {title}{_to(first)}",
        kind=HAND_OVER if away else REPAIR,
        faults=ids,
        price=shop.price(first),
        minutes=net,
        demands=(Demand("NONE"),) if away else demands_of_all(group),
        order=not away and not carried,
        seen=not away,
    )


def demands_of_all(group: Sequence[Fault]) -> tuple[Demand, ...]:
    """The demands of one act that cures all of a group, one of which must be met: each fault's own demand is met with it."""
    found = demands_of_repair(group[0])
    for fault in group[1:]:
        own = demands_of_repair(fault)
        # Where no way serves both, the machine is opened and moved as far as both together ask
        found = tuple(d for d in found if d in own) or tuple(_both(a, b) for a in found for b in own)
    return found


def _both(one: Demand, other: Demand) -> Demand:
    stricter = one if one.panels else other
    return replace(stricter, panels=one.panels | other.panels, place=one.place or other.place)


def _to(fault: Fault) -> str:
    domain = domain_of(fault)
    return f" (to {OTHERS[domain]})" if domain else ""
