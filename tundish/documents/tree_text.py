"""The plan's tree as lines of text."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from tundish.documents.numbers import percent

Facts = dict[str, Any]


def tree_lines(node: Facts) -> list[str]:
    """One line for each action and each outcome, drawn with the usual branches."""
    return [_said(node), *_below(node, "")]


def _below(node: Facts, before: str) -> Iterator[str]:
    for place, branch in enumerate(node["branches"], start=1):
        last = place == len(node["branches"])
        yield f"{before}{'└─' if last else '├─'} {branch['outcome']} ({percent(branch['chance'])}): {_what(branch)}"
        if branch["then"]:
            yield from _below(branch["then"], before + ("   " if last else "│  "))


def _what(branch: Facts) -> str:
    return _said(branch["then"]) if branch["then"] else branch["ends"] or "…"


def _said(node: Facts) -> str:
    top = ", ".join(f"{cause} {percent(chance)}" for cause, chance in node["top"])
    likely = f"; likeliest {top}" if top else ""
    return f"{node['label']} [{node['cost']:.0f} {node['currency']} to the end{likely}]"
