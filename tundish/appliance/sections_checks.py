"""Section `checks`: readings with an instrument, and looks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from tundish.appliance.bindings import numeric_name, requires
from tundish.appliance.fields import (
    NOT_NEGATIVE,
    POSITIVE,
    SHARE,
    flag,
    keys,
    mapping,
    number,
    ordered,
    text,
    texts,
    two,
    word,
    words,
)
from tundish.appliance.lines import Fields, Node
from tundish.appliance.looks import answers, mistakes
from tundish.appliance.measures import Scale, agree, dimension, in_si
from tundish.appliance.owners import Owners
from tundish.appliance.records import Check, Instrument
from tundish.appliance.sections_faults import ACCESS
from tundish.appliance.sections_instruments import adjusted

STATES = ("NONE", "STAT", "FILL", "RUN", "PWR", "ISO")
# Keys of every check, then those of readings and of looks.
_COMMON = ("title", "minutes", "state")
_OPTIONAL = ("access", "live", "where", "step", "cautions", "requires")
_READING = ("reads", "instrument", "model", "misdone")
_LOOK = ("of", "answers")
_ERRING = ("mistake", "mistakes")
# Of a reading, may be left out.
_EXTRA = ("error", "healthy")
KEYS = (*_COMMON, *_READING, *_EXTRA, *_LOOK, *_ERRING, *_OPTIONAL)


def checks(node: Node | None, known: Owners, tools: Mapping[str, Instrument]) -> dict[str, Check]:
    """Every check by id."""
    return {name: _check(name, entry, known, tools) for name, entry in mapping(node).items()}


def _check(name: str, node: Node, known: Owners, tools: Mapping[str, Instrument]) -> Check:
    # One key of a look is enough to tell what was meant, so that the others are asked for.
    look = any(key in mapping(node) for key in (*_LOOK, *_ERRING))
    return _look(name, node, known) if look else _reading(name, node, known, tools)


def _common(name: str, given: Mapping[str, Node], known: Owners) -> Check:
    """What readings and looks share."""
    return Check(
        id=name,
        title=text(given.get("title")),
        # Filled in by what the check is.
        reads="",
        unit="",
        instrument=None,
        answers=(),
        mistakes={},
        model=0.0,
        misdone=number(given.get("misdone"), SHARE),
        minutes=number(given.get("minutes"), POSITIVE),
        state=word(given.get("state"), STATES, "state"),
        access=words(given.get("access"), ACCESS, "access word"),
        live=flag(given.get("live")),
        where=text(given.get("where")),
        step=text(given.get("step")),
        cautions=texts(given.get("cautions")),
        requires=requires(given.get("requires"), known),
    )


def _reading(name: str, node: Node, known: Owners, tools: Mapping[str, Instrument]) -> Check:
    given = keys(node, (*_COMMON, *_READING), (*_OPTIONAL, *_EXTRA))
    reads = numeric_name(given.get("reads"), known)
    # The reading is in the unit of what it reads.
    symbol = known[reads].unit if reads else ""
    return replace(
        _common(name, given, known),
        reads=reads,
        unit=symbol,
        instrument=_instrument(given, symbol, tools),
        model=number(given.get("model"), NOT_NEGATIVE),
        healthy=_healthy(given.get("healthy"), Scale(symbol)),
    )


def _instrument(given: Mapping[str, Node], symbol: str, tools: Mapping[str, Instrument]) -> Instrument | None:
    tool = tools.get(word(given.get("instrument"), tools, "instrument"))
    if tool is None:
        return None
    found = dimension(symbol)
    if not agree(found, tool.dimension or None):
        seen = f'"{tool.name}", which shows {tool.dimension}'
        given["instrument"].refuse(f"an instrument for {found}", "use another instrument", seen=seen)
    # One check may be harder to read than the instrument is wrong.
    return adjusted(given["error"], tool, symbol) if "error" in given else tool


def _healthy(node: Node | None, scale: Scale) -> tuple[float, float] | None:
    both = two(node, "[low, high]") if node else None
    if node is None or both is None:
        return None
    return ordered(node, in_si(both[0], scale), in_si(both[1], scale))


def _look(name: str, node: Node, known: Owners) -> Check:
    given = keys(node, (*_COMMON, *_LOOK), (*_OPTIONAL, *_ERRING, "misdone"))
    erring = [key for key in _ERRING if key in given]
    if isinstance(node, Fields) and len(erring) != 1:
        seen = "both" if erring else "neither"
        node.refuse("exactly one of mistake, mistakes", "say how often another answer is named", seen=seen)
    of = word(given.get("of"), known, "choice parameter or quantity")
    # Answers follow from what is looked at; without it they cannot be judged.
    found = answers(given["answers"], known[of]) if of and "answers" in given else ()
    return replace(
        _common(name, given, known),
        reads=of,
        unit=known[of].unit if of else "",
        answers=found,
        mistakes=mistakes(given, tuple(answer.name for answer in found)) if found else {},
    )
