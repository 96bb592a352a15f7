"""Text as a printer can set it: no control signs, nothing that turns reading order round, no word wider than its column."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from typing import Any

# Stands for a sign that cannot be printed.
BOX = "\N{WHITE SQUARE}"
# Signs that turn the order of letters and figures; an amount must read as it was typed.
_TURNING = re.compile("[\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069]")
_CONTROL = re.compile(r"[^\S\n]+|[\x00-\x09\x0b-\x1f\x7f-\x9f]+")
# Private, unassigned and half characters have no sign that others would see too.
_SIGNLESS = ("Co", "Cn", "Cs")
# Ordinary words are shorter than the first; the narrowest column holds the second with room to spare. Our choice.
_MOST, _PIECE = 20, 6
_LONG = re.compile(rf"\S{{{_MOST + 1},}}")
_BREAK = "\N{ZERO WIDTH SPACE}"


def clean(text: str) -> str:
    """Text without what a printer cannot set; line ends stay.

    >>> clean("a\\tb\\x00c\\r\\nd"), clean("\\u202e12"), clean("\\ue000")
    ('a b c\\nd', '12', '□')
    """
    text = _TURNING.sub("", text.replace("\r\n", "\n").replace("\r", "\n"))
    text = _CONTROL.sub(" ", text)
    text = "".join(BOX if unicodedata.category(sign) in _SIGNLESS else sign for sign in text)
    return _LONG.sub(lambda word: _broken(word[0]), text)


def _broken(word: str) -> str:
    """A long word with places where a line may end."""
    return _BREAK.join(word[i : i + _PIECE] for i in range(0, len(word), _PIECE))


def without(text: str, missing: frozenset[str]) -> str:
    """Text with a box for each sign that no font has; signs that show nothing by themselves just go.

    >>> without("Zoë", frozenset("ë")), without("a\\ufe0f", frozenset("\\ufe0f"))
    ('Zo□', 'a')
    """
    kept = (_boxed(sign) if sign in missing else sign for sign in text)
    return "".join(kept)


def _boxed(sign: str) -> str:
    return "" if unicodedata.category(sign) in ("Cf", "Mn") else BOX


def every_text(value: Any, change: Callable[[str], str]) -> Any:
    """Nested facts with each text changed; keys stay.

    >>> every_text({"a": ["x", 1]}, str.upper)
    {'a': ['X', 1]}
    """
    if isinstance(value, str):
        return change(value)
    if isinstance(value, dict):
        return {name: every_text(one, change) for name, one in value.items()}
    if isinstance(value, list):
        return [every_text(one, change) for one in value]
    return value
