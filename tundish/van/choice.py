"""Taking one of two, and what each part on the load is worth: what the day costs otherwise."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tundish.van.errors import VanError
from tundish.van.kit import Kit, valued
from tundish.van.part import PartKey
from tundish.van.tour import Tour


@dataclass(frozen=True)
class Worth:
    """What a part of the load is good for.

    loses : rise of the day's expected cost when all its pieces stay at home and all else is as loaded, money. fill_without : expected
    share of calls without a second trip then, [-].
    """

    part: PartKey
    pieces: int
    loses: float
    fill_without: float


@dataclass(frozen=True)
class OneOfTwo:
    """A choice between two parts, one piece of each; expected cost of the day, money, all else as loaded."""

    first: PartKey
    second: PartKey
    cost_first: float
    cost_second: float
    cost_both: float
    cost_neither: float

    @property
    def take(self) -> PartKey:
        """The better of the two; the first when they are equal."""
        return self.first if self.cost_first <= self.cost_second else self.second

    @property
    def wrong(self) -> float:
        """What the worse of the two costs more than the better, money."""
        return abs(self.cost_first - self.cost_second)


def worths(problem: Tour, kit: Kit) -> tuple[Worth, ...]:
    """Every part of a load, the one missed most first, ties by name.

    The losses do not sum up: of two parts that are only of use together each loses the whole.
    """
    # All pieces of a part go: the last of several is rarely missed, the part may be
    found = [_worth(problem, kit, part) for part in kit.load]
    return tuple(sorted(found, key=lambda worth: (-worth.loses, worth.part)))


def _worth(problem: Tour, kit: Kit, part: PartKey) -> Worth:
    left = valued(problem, {key: count for key, count in kit.load.items() if key != part})
    return Worth(part, kit.load[part], left.cost - kit.cost, left.fill)


def swapped(problem: Tour, load: Mapping[PartKey, int], *, out: PartKey, into: PartKey) -> tuple[Kit, float]:
    """The load with one piece of a part replaced by one of another, and what that adds to the day's expected cost, money.

    Raises VanError when the part that is to stay at home is not on the load.
    """
    if load.get(out, 0) < 1:
        raise VanError(
            seen=f"{out}, not on the load",
            allowed=", ".join(map(str, load)) or "nothing: the load is empty",
            do="name a part that is on the load",
        )
    after = valued(problem, _with(load, {out: -1, into: 1}))
    return after, after.cost - valued(problem, load).cost


def one_of_two(problem: Tour, load: Mapping[PartKey, int], first: PartKey, second: PartKey) -> OneOfTwo:
    """What the day costs with either of two parts, one piece; what else the load holds of them is left out."""
    rest = {part: count for part, count in load.items() if part not in (first, second)}
    cost = [
        valued(problem, _with(rest, dict.fromkeys(parts, 1))).cost
        for parts in ((first,), (second,), (first, second), ())
    ]
    return OneOfTwo(first, second, *cost)


def _with(load: Mapping[PartKey, int], change: Mapping[PartKey, int]) -> dict[PartKey, int]:
    after = dict(load)
    for part, count in change.items():
        after[part] = after.get(part, 0) + count
    return {part: count for part, count in after.items() if count > 0}
