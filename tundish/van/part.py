"""A part to carry: its name among all families, and what it costs to have it along."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite

from tundish.van.errors import VanError

# The family of what fits any machine.
ANY = "any"
# Names of descriptions that mean the same stock in every family. Common practice, no source: hoses, screens, washers, arresters,
# terminals and leads are bought by thread, bore and section, not by machine.
UNIVERSAL: Mapping[str, str] = {
    "fill hose": "fill hose",
    "drain hose": "drain hose",
    "inlet screen": "inlet screen",
    "inlet screen cold": "inlet screen",
    "inlet screen hot": "inlet screen",
    "stop valve": "tap washer or tail",
    "pipe": "hammer arrester",
    "house filter or softener": "filter cartridge",
    "harness": "lead and terminals",
    "harness or connector": "lead and terminals",
    "branch wiring or harness spade": "lead and terminals",
    "wiring": "lead and terminals",
}


@dataclass(frozen=True, order=True)
class PartKey:
    """What a part is called: the family it fits, or `any`, and the part's name in that family's description.

    >>> str(PartKey("dishwasher", "drain pump"))
    'dishwasher: drain pump'
    """

    family: str
    name: str

    def __str__(self) -> str:
        return f"{self.family}: {self.name}"


@dataclass(frozen=True)
class Part:
    """What one piece of a part costs to have along for one tour, money; nothing is owed for leaving it at home.

    holding : paid whether it is used or not. unused : paid when it comes home again (sent back, put away).
    space : its room on the van, [-] in whatever measure the van's is. price : what it is bought for.
    """

    key: PartKey
    holding: float
    unused: float = 0.0
    space: float = 1.0
    price: float = 0.0

    def __post_init__(self) -> None:
        for name in ("holding", "unused", "space", "price"):
            value = getattr(self, name)
            if not (isfinite(value) and value >= 0):
                raise VanError(
                    seen=f"{name} {value} of {self.key}", allowed="0 or more", do="correct the part's figures"
                )


def key_of(text: str) -> PartKey:
    """The key of its text.

    Raises VanError when there is no family or no name.

    >>> key_of("any: fill hose")
    PartKey(family='any', name='fill hose')
    """
    # The first colon parts them; a name may hold more
    family, _, name = (piece.strip() for piece in text.partition(":"))
    if not (family and name):
        raise VanError(
            seen=f"part {text!r}",
            allowed="FAMILY: PART, as in 'dishwasher: drain pump', or 'any: fill hose'",
            do="write the family, a colon, a space and the part's name",
        )
    return PartKey(family, name)


def shared(family: str, name: str) -> PartKey:
    """The key of a part by its name in a family's description; universal stock loses its family.

    >>> str(shared("dishwasher", "fill hose")), str(shared("dishwasher", "heater"))
    ('any: fill hose', 'dishwasher: heater')
    """
    return PartKey(ANY, UNIVERSAL[name]) if name in UNIVERSAL else PartKey(family, name)
