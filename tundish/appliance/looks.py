"""The answers of a look: names of a choice or bands of a number, and how often another one is named."""

from __future__ import annotations

import math
from collections.abc import Mapping
from itertools import pairwise

from tundish.appliance.fields import SHARE, entries_of, keys, mapping, number, table
from tundish.appliance.lines import Fields, Node, Text
from tundish.appliance.measures import Scale, in_si
from tundish.appliance.owners import Owner
from tundish.appliance.records import Answer

# Sums of chances written in decimals may miss 1 by a last digit.
_SLACK = 1e-9


def answers(node: Node, owner: Owner) -> tuple[Answer, ...]:
    """The answers: of a choice in its stored order, of a number in the file's order."""
    if owner.names:
        for entry in keys(node, owner.names).values():
            if mapping(_filled(entry)):
                entry.refuse("an empty mapping {}", "a choice has no bands: take the limits out")
        # The answer's number is the choice's code, so the order must be the choice's.
        return tuple(Answer(name) for name in owner.names)
    found = tuple(_band(name, entry, Scale(owner.unit)) for name, entry in mapping(node).items())
    _cover(node, found)
    return found


def mistakes(given: Mapping[str, Node], names: tuple[str, ...]) -> dict[str, dict[str, float]]:
    """Chance of naming another answer: `mistake` spread evenly, or `mistakes` written out."""
    # What is left out of a row is the right answer.
    if "mistakes" in given:
        rows = entries_of(given["mistakes"], names, "answer of this look")
        return {true: row for true, node in rows.items() if (row := _row(true, node, names))}
    wrong = number(given.get("mistake"), SHARE)
    others = len(names) - 1
    # The empty table says that nobody errs.
    if not wrong > 0 or others < 1:
        return {}
    return {true: {name: wrong / others for name in names if name != true} for true in names}


def _row(true: str, node: Node, names: tuple[str, ...]) -> dict[str, float]:
    row = table(node, [name for name in names if name != true], "other answer of this look", within=SHARE)
    total = sum(row.values())
    if total > 1.0 + _SLACK:
        advice = "lower them: the rest is the right answer"
        node.refuse("mistakes that sum to 1 or less", advice, seen=f"a sum of {total:g}")
    return row


def _filled(node: Node) -> Node | None:
    """None for an answer without anything behind it."""
    return None if isinstance(node, Text) and node.is_null else node


def _band(name: str, node: Node, scale: Scale) -> Answer:
    given = keys(_filled(node), (), ("from", "below"))
    if not mapping(_filled(node)):
        node.refuse("from, below or both", "give the band's limits", seen="an answer without a band")
        return Answer(name, math.nan, math.nan)
    low, high = (in_si(given[key], scale) if key in given else None for key in ("from", "below"))
    if low is not None and high is not None and low >= high:
        node.refuse("from lower than below", "swap the two limits", seen=_shown(name, node))
    return Answer(name, low, high)


def _cover(node: Node, bands: tuple[Answer, ...]) -> None:
    """Refuse bands that overlap or leave values without an answer."""
    if not isinstance(node, Fields) or any(math.isnan(end) for band in bands for end in _ends(band)):
        return
    # In rising order neighbours are the only bands that can overlap or leave a gap.
    rows = [band.name for band in sorted(bands, key=_ends)]
    if len(rows) <= 1:
        node.refuse(
            "at least two answers", "write for example weak: {below: 6 L/min}, strong: {from: 6 L/min}"
        )
        return
    ends = {band.name: _ends(band) for band in bands}
    _open(node, rows[0], "lowest", limit=ends[rows[0]][0])
    _open(node, rows[-1], "highest", limit=ends[rows[-1]][1])
    for one, other in pairwise(rows):
        _join(node, one, other, gap=(ends[one][1], ends[other][0]))


def _open(node: Fields, name: str, which: str, *, limit: float) -> None:
    """Refuse an outer band that ends."""
    if math.isfinite(limit):
        key = "from" if which == "lowest" else "below"
        band = node.entries[name]
        band.refuse(f"a {which} band without {key}", f"take {key} out", seen=_shown(name, band))


def _join(node: Fields, one: str, other: str, *, gap: tuple[float, float]) -> None:
    """Refuse two neighbours that do not meet: the first ends and the second starts at `gap`."""
    end, start = gap
    if end != start and not math.isclose(end, start, rel_tol=_SLACK):
        what = "overlap" if end > start else "leave a gap"
        both = f"{_shown(one, node.entries[one])}, {_shown(other, node.entries[other])}"
        advice = "make both limits the same"
        node.entries[other].refuse(
            f"{other} from where {one} ends", advice, seen=f"bands that {what}: {both}"
        )


def _ends(band: Answer) -> tuple[float, float]:
    low = -math.inf if band.low is None else band.low
    return low, math.inf if band.high is None else band.high


def _shown(name: str, node: Node) -> str:
    """A band as written."""
    limits = [f"{key} {entry.shown}" for key, entry in mapping(node).items()]
    return " ".join((name, *limits))
