"""Section `questions`: what to ask on the phone, and what each answer stands for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from tundish.appliance.fields import POSITIVE, SHARE, entries_of, keys, mapping, number, text, word, words
from tundish.appliance.lines import Fields, Node, Text
from tundish.appliance.records import Check, Circumstance, Question, Reply
from tundish.appliance.refusals import listed

# Where the answers come from; `fact` may stand beside one of the others or alone.
SOURCES = ("circumstance", "look", "answers", "fact")
_OPTIONAL = ("ask", "complaints", "lost_trip", "photo", "stops")
KEYS = ("seconds", "source", *SOURCES, *_OPTIONAL)
YES, NO = "yes", "no"


@dataclass(frozen=True)
class Askable:
    """What a question may name. classes : complaints. stops : names of stop words."""

    circumstances: Mapping[str, Circumstance]
    checks: Mapping[str, Check]
    classes: tuple[str, ...]
    stops: tuple[str, ...]


def questions(node: Node | None, known: Askable) -> dict[str, Question]:
    """Every question by id."""
    return {name: _question(name, entry, known) for name, entry in mapping(node).items()}


def _question(name: str, node: Node, known: Askable) -> Question:
    given = keys(node, ("seconds", "source"), (*SOURCES, *_OPTIONAL))
    _refuse_sources(node, given)
    replies = _stopping(given.get("stops"), _replies(given, known), known)
    return Question(
        id=name,
        ask=_ask(node, given, known),
        seconds=number(given.get("seconds"), POSITIVE, 1.0),
        replies=replies,
        source=text(given.get("source")),
        check=_look(given.get("look"), known),
        complaints=words(given.get("complaints"), known.classes, "complaint"),
        fact=text(given.get("fact")),
        lost_trip=number(given.get("lost_trip"), SHARE),
        photo=text(given.get("photo")),
    )


def _refuse_sources(node: Node, given: Mapping[str, Node]) -> None:
    """Refuse a question without answers, or with answers from two places."""
    found = [key for key in SOURCES if key in given]
    if isinstance(node, Fields) and (not found or len(set(found) - {"fact"}) > 1):
        allowed = "one of circumstance, look, answers; or fact, alone or beside one of them"
        node.refuse(allowed, "say what its answers stand for", seen=listed(found) or "none of them")


def _ask(node: Node, given: Mapping[str, Node], known: Askable) -> str:
    """The words to say; a circumstance brings its own."""
    if "ask" in given:
        return text(given["ask"])
    name = given.get("circumstance")
    record = known.circumstances.get(name.text) if isinstance(name, Text) else None
    if record and record.ask:
        return record.ask
    # An unknown circumstance, or one refused for want of words, was reported already.
    by_age = record is not None and (record.age_above, record.age_below) != (None, None)
    if isinstance(node, Fields) and (name is None or by_age):
        node.refuse("ask, with the words to say", "add ask:", seen="no words to say")
    return ""


def _replies(given: Mapping[str, Node], known: Askable) -> tuple[Reply, ...]:
    if "circumstance" in given:
        told = word(given["circumstance"], known.circumstances, "circumstance")
        return (Reply(YES, told=(told,) if told else ()), Reply(NO))
    if "look" in given:
        check = known.checks.get(_look(given["look"], known))
        return tuple(Reply(answer.name) for answer in check.answers) if check else ()
    return tuple(_reply(name, entry, known) for name, entry in mapping(given.get("answers")).items())


def _look(node: Node | None, known: Askable) -> str:
    return word(node, [name for name, check in known.checks.items() if check.is_look], "look")


def _reply(name: str, node: Node, known: Askable) -> Reply:
    # An answer of which nothing follows is written {} or left empty.
    filled = None if isinstance(node, Text) and node.is_null else node
    given = keys(filled, (), ("told", "complaint"))
    told = words(given.get("told"), known.circumstances, "circumstance")
    return Reply(name, told, word(given.get("complaint"), known.classes, "complaint"))


def _stopping(node: Node | None, replies: tuple[Reply, ...], known: Askable) -> tuple[Reply, ...]:
    """The replies, those that mean stop marked with the name of the stop words."""
    names = entries_of(node, [reply.name for reply in replies], "answer of this question")
    halts = {name: word(entry, known.stops, "stop word") for name, entry in names.items()}
    return tuple(replace(reply, stop=halts.get(reply.name, "")) for reply in replies)
