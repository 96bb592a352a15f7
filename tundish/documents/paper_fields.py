"""From plain facts to the record of a paper, or an error that names the field."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import fields
from typing import Any

import msgspec

from tundish.appliance.refusals import listed, near
from tundish.documents.paper_errors import PaperError
from tundish.documents.paper_shapes import KINDS, Sheet

# How msgspec ends a message: the place, as a path from the top
_AT = re.compile(r" - at `\$(?P<path>[^`]*)`$")
_STEP = re.compile(r"\[(\d+)\]|\.(\w+)")


def sheet(kind: str, facts: Mapping[str, Any]) -> Sheet:
    """The record of a paper. kind : one of `KINDS`. Raises PaperError."""
    if kind not in KINDS:
        raise PaperError(
            seen=f'"{kind}" as a paper', allowed=listed(KINDS), do=near(kind, KINDS) or "name one of these"
        )
    # msgspec passes over fields it does not know
    _known(kind, facts)
    try:
        return msgspec.convert(dict(facts), type=KINDS[kind])
    except msgspec.ValidationError as error:
        raise _refusal(kind, facts, str(error)) from None


def _known(kind: str, facts: Mapping[str, Any]) -> None:
    """Refuse a top field that nobody would print: a slip of the pen must not lose a caution."""
    names = [field.name for field in fields(KINDS[kind])]
    for name in facts:
        if name not in names:
            raise PaperError(
                seen=f'the field "{name}" for the {kind}',
                allowed=listed(names),
                do=near(name, names) or "leave it out, or put its words into one of these",
            )


def _refusal(kind: str, facts: Mapping[str, Any], said: str) -> PaperError:
    place = _AT.search(said)
    path = place["path"].lstrip(".") if place else ""
    wanted = _AT.sub("", said)
    # A field that is not there is the commonest slip, and has no place of its own to show
    missing = re.search(r"missing required field `(\w+)`", wanted)
    if missing:
        name = f"{path}.{missing[1]}" if path else missing[1]
        return PaperError(
            seen=f'no "{name}" for the {kind}',
            allowed=f'"{name}" is needed',
            do="give it; docs/papers.md shows an example",
        )
    return PaperError(
        seen=f"{_short(_at(facts, path))} as {path or 'the facts'} of the {kind}",
        allowed=wanted.removeprefix("Expected ").split(", got")[0].replace("`", ""),
        do="mend it; docs/papers.md shows an example",
    )


def _at(facts: Mapping[str, Any], path: str) -> object:
    """What stands at a path such as lines[0].net; nothing when it leads nowhere."""
    held: Any = facts
    for index, name in _STEP.findall("." + path if path and path[0] != "[" else path):
        try:
            held = held[int(index)] if index else held[name]
        # The place is for the message only; a path nobody can follow must not hide the error
        except (KeyError, IndexError, TypeError):
            return None
    return held


def _short(value: object, most: int = 60) -> str:
    text = value if isinstance(value, str) else repr(value)
    return f'"{text[:most]}…"' if len(text) > most else f'"{text}"'
