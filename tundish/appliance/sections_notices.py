"""Section `notices`: what must be said whatever the complaint."""

from __future__ import annotations

from collections.abc import Mapping

from tundish.appliance.fields import items, keys, mapping, some, text, word
from tundish.appliance.lines import Fields, Node
from tundish.appliance.measures import Scale, agree, dimension, in_si
from tundish.appliance.records import HALTS, Check, Notice

_LIMITS = ("above", "below")


def notices(node: Node | None, checks: Mapping[str, Check]) -> dict[str, Notice]:
    """Every notice by name."""
    return {name: _notice(name, entry, checks) for name, entry in mapping(node).items()}


def _notice(name: str, node: Node, checks: Mapping[str, Check]) -> Notice:
    given = keys(node, ("checks", "say", "source"), (*_LIMITS, "answers", "halts", "refer"))
    asked = [key for key in (*_LIMITS, "answers") if key in given]
    if isinstance(node, Fields) and len(asked) != 1:
        seen = " and ".join(asked) or "none"
        node.refuse("exactly one of above, below, answers", "say when it must be said", seen=seen)
    if isinstance(node, Fields) and ("halts" in given) != ("refer" in given):
        seen = "halts alone" if "halts" in given else "refer alone"
        node.refuse("halts and refer together, or neither", "say who takes over what stops the work", seen=seen)
    # What is asked for tells which checks can give it.
    watched = _watched(given.get("checks"), checks, by_answer="answers" in asked)
    # All watched checks measure one thing, so a plain number is in the unit of the first.
    scale = Scale(watched[0].unit if watched else "")
    above, below = (in_si(given[key], scale) if key in given else None for key in _LIMITS)
    answers = _answers(given.get("answers"), watched)
    ids = tuple(check.id for check in watched)
    halts = word(given.get("halts"), HALTS, "way to halt")
    say, source, refer = (text(given.get(key)) for key in ("say", "source", "refer"))
    return Notice(name, ids, say, source, above, below, answers, halts, refer)


def _watched(node: Node | None, checks: Mapping[str, Check], *, by_answer: bool) -> list[Check]:
    """The checks watched: looks where answers are named, else readings that measure one thing."""
    found: list[Check] = []
    for item in some(node, "check"):
        check = checks.get(word(item, checks, "check"))
        if check is None or not (check.is_look or check.instrument):
            # A check that was refused itself tells nothing.
            continue
        if check.is_look != by_answer:
            item.refuse("a look where answers are named, a reading where a limit is", "watch another check")
        elif found and not agree(dimension(found[0].unit), dimension(check.unit)):
            item.refuse(f"checks that show the same as {found[0].id}", "make a second notice")
        else:
            found.append(check)
    return found


def _answers(node: Node | None, watched: list[Check]) -> tuple[str, ...]:
    allowed = list(dict.fromkeys(answer.name for check in watched for answer in check.answers))
    if not allowed:
        # The checks were refused; nothing is known of their answers.
        return ()
    return tuple(found for item in items(node) if (found := word(item, allowed, "answer of these checks")))
