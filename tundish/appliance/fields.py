"""Typed readers of one field.

Each takes a node, or None for a field left out, and goes on with a default after refusing what is wrong.
Where numbers are compared with each other the default is NaN: every comparison with it is false, so one
mistake is not reported twice.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from tundish.appliance.lines import Fields, Items, Node, Text
from tundish.appliance.refusals import listed, near

_NUMBER = re.compile(r"[-+]?(\d+\.?\d*|\.\d+)([eE][-+]?\d+)?", re.ASCII)
# As YAML has them, and nothing more.
_TRUTHS = {"true": True, "yes": True, "false": False, "no": False}
_PAIR = 2


@dataclass(frozen=True)
class Range:
    """Which numbers are allowed, and the words for it; `above` leaves out the low end."""

    words: str
    low: float = -math.inf
    high: float = math.inf
    above: bool = False

    def holds(self, value: float) -> bool:
        """Whether a number is allowed.

        >>> POSITIVE.holds(0.0), NOT_NEGATIVE.holds(0.0)
        (False, True)
        """
        return self.low <= value <= self.high and not (self.above and value == self.low)


ANY = Range("a number")
POSITIVE = Range("a number above 0", 0.0, above=True)
NOT_NEGATIVE = Range("a number of 0 or more", 0.0)
SHARE = Range("a number from 0 to 1", 0.0, 1.0)


def keys(node: Node | None, required: Sequence[str] = (), optional: Sequence[str] = ()) -> Mapping[str, Node]:
    """The entries of a mapping with known keys; refuses unknown and missing ones."""
    known = list(dict.fromkeys((*required, *optional)))
    found = {}
    for key, entry in mapping(node).items():
        if key in known:
            found[key] = entry
        else:
            entry.refuse(
                listed(known) or "no key", near(key, known) or "take it out", seen=f'the key "{key}"'
            )
    if isinstance(node, Fields):
        # Of what is no mapping nothing is missing: that was said already.
        missing = [key for key in required if key not in found]
        for key in missing:
            place = Node(node.line, f"{node.path}.{key}" if node.path else key, node.ledger)
            place.refuse("a value, it cannot be left out", f"add {key}:", seen="nothing")
    return found


def mapping(node: Node | None) -> Mapping[str, Node]:
    """The entries of a mapping with any keys, in the file's order."""
    if node is None or isinstance(node, Fields):
        return node.entries if node else {}
    node.refuse("a mapping of names", "write name: value pairs")
    return {}


def entries_of(node: Node | None, names: Iterable[str], what: str) -> dict[str, Node]:
    """The entries of a mapping whose keys are known names; others are refused. `what` says what a name is."""
    known = list(names)
    found = {}
    for name, entry in mapping(node).items():
        if name in known:
            found[name] = entry
        else:
            entry.refuse(_names(known, what), near(name, known) or _advice(known, what), seen=f'"{name}"')
    return found


def items(node: Node | None) -> tuple[Node, ...]:
    """The items of a list."""
    if node is None or isinstance(node, Items):
        return node.items if node else ()
    node.refuse("a list", "put it in square brackets")
    return ()


def some(node: Node | None, what: str) -> tuple[Node, ...]:
    """The items of a list that must not be empty."""
    if isinstance(node, Items) and not node.items:
        node.refuse(f"at least one {what}", f"list each {what} in the square brackets")
    return items(node)


def two(node: Node, meaning: str) -> tuple[Node, Node] | None:
    """The two items of a list of two, None when it is not one."""
    if isinstance(node, Items) and len(node.items) == _PAIR:
        return node.items[0], node.items[1]
    node.refuse(meaning, "write two in square brackets")
    return None


def text(node: Node | None, default: str = "") -> str:
    """A text, as written."""
    if node is None:
        return default
    if isinstance(node, Text) and not node.is_null:
        return node.text
    node.refuse("a text", "write a text, in quotes if it holds a colon")
    return default


def texts(node: Node | None) -> tuple[str, ...]:
    """A list of texts."""
    return tuple(text(item) for item in items(node))


def is_number(node: Node | None) -> bool:
    """True for a number without unit and without quotes."""
    return isinstance(node, Text) and node.plain and _NUMBER.fullmatch(node.text) is not None


def number(node: Node | None, within: Range = ANY, default: float = 0.0) -> float:
    """A number without unit; the default where it is left out or refused."""
    if node is None:
        return default
    last = node.path.rpartition(".")[2]
    if not isinstance(node, Text) or not is_number(node):
        node.refuse(within.words, f"write the {last} as a number")
        return default
    value = float(node.text)
    # A number too long for a float reads as infinite.
    if math.isinf(value) or not within.holds(value):
        node.refuse(within.words, f"correct the {last}")
        return default
    return value


def pair(node: Node | None, within: Range = ANY) -> tuple[float, float]:
    """Low and high, or one number for both."""
    if node is None or isinstance(node, Text):
        value = number(node, within)
        return value, value
    both = two(node, "[low, high] or a number")
    if both is None:
        return 0.0, 0.0
    return ordered(node, number(both[0], within, math.nan), number(both[1], within, math.nan))


def ordered(node: Node, low: float, high: float) -> tuple[float, float]:
    """The pair, refused when low is above high."""
    if low > high:
        node.refuse("low first, then high", "swap the two")
    return low, high


def flag(node: Node | None, default: bool = False) -> bool:
    """Yes or no."""
    if node is None:
        return default
    written = node.text.lower() if isinstance(node, Text) else ""
    if written not in _TRUTHS:
        node.refuse("true or false", "write true or false")
    return _TRUTHS.get(written, default)


def word(node: Node | None, allowed: Iterable[str], what: str, default: str = "") -> str:
    """One of the allowed words; `what` says what a word is."""
    if node is None:
        return default
    known = list(allowed)
    written = node.text if isinstance(node, Text) else ""
    if written in known:
        return written
    node.refuse(_names(known, what), near(written, known) or _advice(known, what))
    return default


def words(node: Node | None, allowed: Iterable[str], what: str) -> tuple[str, ...]:
    """A list of allowed words; those refused are left out."""
    known = list(allowed)
    return tuple(found for item in items(node) if (found := word(item, known, what)))


def table(node: Node | None, allowed: Iterable[str], what: str, *, within: Range = ANY) -> dict[str, float]:
    """Numbers by a known name; those of unknown names are refused and left out."""
    return {name: number(entry, within, math.nan) for name, entry in entries_of(node, allowed, what).items()}


def _names(known: Sequence[str], what: str) -> str:
    return listed(known) or f"no {what} is described"


def _advice(known: Sequence[str], what: str) -> str:
    return "use one of these" if known else f"describe a {what} first"
