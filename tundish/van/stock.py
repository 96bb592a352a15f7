"""What is on the van: a ledger of movements, and the levels that follow from it.

A movement is never changed; a wrong one is put right by counting. Two ledgers merge by union, so a merged ledger may hold more takes
than the van ever had. Such a level reads 0 and says by how much the ledger is `short`, until the part is counted.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace

from tundish.van.errors import VanError
from tundish.van.part import PartKey


@dataclass(frozen=True)
class Level:
    """How a part stands.

    balance : pieces by the ledger, below 0 where it contradicts itself. on_order : ordered and not yet there.
    minimum : pieces below which it is ordered again.
    """

    balance: int = 0
    on_order: int = 0
    minimum: int = 0

    @property
    def on_van(self) -> int:
        """Pieces there, as far as is known."""
        return max(self.balance, 0)

    @property
    def short(self) -> int:
        """Pieces taken more than there were; above 0 the part must be counted."""
        return max(-self.balance, 0)

    @property
    def position(self) -> int:
        """Pieces there and coming."""
        return self.on_van + self.on_order


@dataclass(frozen=True)
class Movement:
    """One line of the ledger.

    kind : receive (bought, put on the van), take (used), count (so many are there), order, arrive (an order), cancel (an order),
    send_back, minimum. count : pieces. call : the call it was used on, for a take.
    """

    kind: str
    part: PartKey
    count: int
    call: str = ""

    def __post_init__(self) -> None:
        if self.kind not in STEPS:
            raise VanError(
                seen=f"movement {self.kind!r}", allowed=", ".join(STEPS), do="use one of these words"
            )
        # A count of none is a finding; a take of none is a slip
        least = 0 if self.kind in SETTING else 1
        if self.count < least:
            raise VanError(
                seen=f"{self.kind} {self.count} of {self.part}",
                allowed=f"whole pieces, {least} or more",
                do="give the number of pieces; to take a mistake back, count the part",
            )


Levels = Mapping[PartKey, Level]


def _arrived(level: Level, count: int) -> Level:
    return replace(level, balance=level.balance + count, on_order=max(level.on_order - count, 0))


# Kind of movement -> the level after it.
STEPS: Mapping[str, Callable[[Level, int], Level]] = {
    "receive": lambda level, count: replace(level, balance=level.balance + count),
    "take": lambda level, count: replace(level, balance=level.balance - count),
    "send_back": lambda level, count: replace(level, balance=level.balance - count),
    "count": lambda level, count: replace(level, balance=count),
    "order": lambda level, count: replace(level, on_order=level.on_order + count),
    "arrive": _arrived,
    "cancel": lambda level, count: replace(level, on_order=max(level.on_order - count, 0)),
    "minimum": lambda level, count: replace(level, minimum=count),
}
# Those that state a number; the others change one.
SETTING = frozenset({"count", "minimum"})
# Kinds that take from a number: which one, and what to do when it is too small.
LIMITED: Mapping[str, tuple[str, str]] = {
    "take": ("on_van", "receive the part, or count it if more are there"),
    "send_back": ("on_van", "receive the part, or count it if more are there"),
    "arrive": ("on_order", "use receive for pieces that were not ordered"),
    "cancel": ("on_order", "look at what is on order"),
}


def fold(movements: Iterable[Movement]) -> dict[PartKey, Level]:
    """Levels after a ledger, in the order given, whatever it holds; new lines are refused by `checked`, not here.

    >>> pump = PartKey("dishwasher", "drain pump")
    >>> fold([Movement("receive", pump, 2), Movement("take", pump, 1, call="c1"), Movement("order", pump, 3)])[pump]
    Level(balance=1, on_order=3, minimum=0)
    """
    levels: dict[PartKey, Level] = {}
    for movement in movements:
        levels[movement.part] = moved(levels.get(movement.part, Level()), movement)
    return levels


def moved(level: Level, movement: Movement) -> Level:
    """A level after one movement."""
    return STEPS[movement.kind](level, movement.count)


def checked(levels: Levels, movement: Movement) -> Level:
    """The level after a new movement.

    Raises VanError when it takes more than there is, with what to do instead.
    """
    level = levels.get(movement.part, Level())
    # Only here, when it is written: a ledger already on disk must stay readable
    if movement.kind in LIMITED:
        name, cure = LIMITED[movement.kind]
        if movement.count > getattr(level, name):
            raise VanError(
                seen=f"{movement.kind} {movement.count} of {movement.part} with {getattr(level, name)} {name.replace('_', ' ')}",
                allowed=f"up to {getattr(level, name)}",
                do=cure,
            )
    return moved(level, movement)
