"""Section `faults`: what can be wrong, what it does to the machine, and what the repair takes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from tundish.appliance.effects import effects
from tundish.appliance.fields import (
    NOT_NEGATIVE,
    POSITIVE,
    SHARE,
    keys,
    mapping,
    number,
    pair,
    some,
    table,
    text,
    texts,
    word,
    words,
)
from tundish.appliance.lines import Fields, Items, Node, Text
from tundish.appliance.owners import Owners
from tundish.appliance.records import Effect, Fault, Mode, Parameter

KINDS = ("wear", "house", "user", "install", "normal")
# How a part is reached; docs/description.md says what each word means.
ACCESS = (
    "EXT",
    "TOP",
    "BACK",
    "FRONT",
    "TUB",
    "TOE",
    "OUT",
    "INNER",
    "base",
    "door",
    "house",
    "under",
    "tub",
    "filter",
)
# A machine is drawn with two roots and no more than this many consequences of one root.
MOST_DRAGS = 2
# Keys that every fault needs, that a repair needs, and that may be left out.
_ALWAYS = ("part", "mode", "kind")
_REPAIR = ("price", "minutes", "cure")
_OPTIONAL = ("effects", "modes", "acts", "age", "access", "drags", "mistaken_for", "after", "note")
KEYS = (*_ALWAYS, *_REPAIR, *_OPTIONAL)


@dataclass(frozen=True)
class _Around:
    """What a fault may name."""

    known: Owners
    parameters: Mapping[str, Parameter]
    currencies: tuple[str, ...]
    ids: tuple[str, ...]


def faults(
    node: Node | None, known: Owners, parameters: Mapping[str, Parameter], *, currencies: Iterable[str]
) -> dict[str, Fault]:
    """Every fault by id; `currencies` are those of the markets."""
    given = mapping(node)
    # Sorted, so that refusals list currencies in the same order each time.
    around = _Around(known, parameters, tuple(sorted(set(currencies))), tuple(given))
    return {name: _fault(name, entry, around) for name, entry in given.items()}


def _fault(name: str, node: Node, around: _Around) -> Fault:
    kind = word(mapping(node).get("kind"), KINDS, "kind of fault")
    # Where nothing is wrong nothing is repaired, so a repair need not be described.
    normal = kind == "normal"
    needed, free = (_ALWAYS, _REPAIR) if normal else ((*_ALWAYS, *_REPAIR), ())
    given = keys(node, needed, (*free, *_OPTIONAL))
    return Fault(
        id=name,
        part=text(given.get("part")),
        mode=text(given.get("mode")),
        kind=kind,
        modes=_modes(node, around, normal=normal),
        acts=number(given.get("acts"), SHARE, 1.0),
        age=_age(given.get("age")),
        price=_price(given.get("price"), around.currencies, normal=normal),
        minutes=pair(given.get("minutes"), NOT_NEGATIVE),
        access=words(given.get("access"), ACCESS, "access word"),
        cure=number(given.get("cure"), SHARE, 1.0),
        drags=_drags(given.get("drags"), [other for other in around.ids if other != name]),
        mistaken_for=texts(given.get("mistaken_for")),
        after=texts(given.get("after")),
        note=text(given.get("note")),
    )


def _modes(node: Node, around: _Around, *, normal: bool) -> tuple[Mode, ...]:
    given = mapping(node)
    if "effects" in given and "modes" in given:
        advice = "put the effects into the modes"
        given["modes"].refuse("effects or modes, not both", advice, seen="modes beside effects")
    # Several ways to fail, one of which is drawn; else the effects are the one way.
    if "modes" in given:
        return tuple(_mode(item, around) for item in some(given["modes"], "mode"))
    if isinstance(node, Fields) and "effects" not in given and not normal:
        node.refuse("effects or modes", "say what the fault does to the machine", seen="neither")
    return (Mode("", 1.0, _effects(given.get("effects"), around)),)


def _mode(node: Node, around: _Around) -> Mode:
    given = keys(node, ("weight", "effects"), ("title",))
    weight = number(given.get("weight"), POSITIVE, 1.0)
    return Mode(text(given.get("title")), weight, _effects(given.get("effects"), around))


def _effects(node: Node | None, around: _Around) -> tuple[Effect, ...]:
    # Twice through `items`: a list that is none would be refused twice, but equal refusals are said once.
    some(node, "effect")
    return effects(node, around.known, around.parameters)


def _age(node: Node | None) -> tuple[float, float] | None:
    """Usual years; null for any."""
    if node is None or (isinstance(node, Text) and node.is_null):
        return None
    return pair(node, NOT_NEGATIVE)


def _price(node: Node | None, currencies: tuple[str, ...], *, normal: bool) -> dict[str, tuple[float, float]]:
    # Where markets or their currencies were refused nothing can be said of prices.
    if not currencies or "" in currencies:
        return {}
    given = keys(node, () if normal else currencies, currencies)
    return {money: pair(entry, NOT_NEGATIVE) for money, entry in given.items()}


def _drags(node: Node | None, others: list[str]) -> dict[str, float]:
    # An empty list is how a file says that nothing is dragged.
    if isinstance(node, Items) and not node.items:
        return {}
    found = table(node, others, "other fault", within=SHARE)
    if node and len(found) > MOST_DRAGS:
        node.refuse(
            f"at most {MOST_DRAGS} consequences", "keep the likeliest", seen=f"{len(found)} consequences"
        )
    return found
