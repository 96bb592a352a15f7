"""Sections `phone` and `stop_words`: what a customer may be told to do, and what ends all advice."""

from __future__ import annotations

from collections.abc import Mapping

from tundish.appliance.fields import entries_of, keys, mapping, some, text, texts, word
from tundish.appliance.lines import Node
from tundish.appliance.records import HALTS, Fault, PhoneFix, StopWord

# What the customer reaches first must be outside: behind a panel he has nothing to do. Access words of faults.
OUTSIDE = ("EXT", "OUT", "tub", "house", "door", "filter")


def phone(node: Node | None, faults: Mapping[str, Fault]) -> dict[str, PhoneFix]:
    """What may be said about each fault, by its id."""
    return {name: _fix(entry, faults[name]) for name, entry in entries_of(node, faults, "fault").items()}


def _fix(node: Node, fault: Fault) -> PhoneFix:
    given = keys(node, ("cause", "say", "source"), ("only",))
    if not fault.access or fault.access[0] not in OUTSIDE:
        seen = f"access {', '.join(fault.access) or 'not given'}"
        node.refuse(
            f"a fault reached first by {', '.join(OUTSIDE)}",
            "take it out: nothing is opened by phone",
            seen=seen,
        )
    cause, say, source, only = (text(given.get(key)) for key in ("cause", "say", "source", "only"))
    return PhoneFix(fault.id, cause, say, source, only)


def stop_words(node: Node | None) -> dict[str, StopWord]:
    """What ends all advice, by name."""
    return {name: _stop(name, entry) for name, entry in mapping(node).items()}


def _stop(name: str, node: Node) -> StopWord:
    given = keys(node, ("words", "say", "source"), ("refer", "unless", "halts"))
    phrases = tuple(text(item) for item in some(given.get("words"), "phrase"))
    say, source, refer = (text(given.get(key)) for key in ("say", "source", "refer"))
    halts = word(given.get("halts"), HALTS, "way to halt", default=HALTS[0])
    return StopWord(name, phrases, say, source, refer, texts(given.get("unless")), halts)
