"""The plan's tree as a drawing of our own: actions in boxes from left to right, the chance of each outcome on its line.

The kind of an action is told by its frame, not by colour: a check thin, a repair thick, an order dashed, an end round.
"""

from __future__ import annotations

from typing import Any

from tundish.documents.numbers import percent
from tundish.documents.svg import LETTER, LINE, box, line, picture, text, wrap

Facts = dict[str, Any]
LETTERS, LABEL = 32, 20
NARROW = "\N{NO-BREAK SPACE}%"
WIDE, GAP, ROW, EDGE = LETTERS * LETTER + 16, LABEL * LETTER + 30, 14.0, 12.0
FRAMES: dict[str, dict[str, Any]] = {
    "check": {},
    "question": {},
    "repair": {"thick": 3.0},
    "order": {"dash": "6 3"},
    "end": {"round_": 14.0},
}


def tree_svg(page: Facts) -> str:
    """The drawing of a plan. page : facts of a plan, with its `tree`."""
    marks: list[str] = []
    deep, foot = _draw(page["tree"], 0, 60.0, marks)
    width = (deep + 1) * (WIDE + GAP) - GAP + 2 * EDGE
    key = "thin: check; thick: repair; dashed: order a part; round: end of the call; …: goes on"
    words = [text(EDGE, 22, [page["title"]], bold=True), text(EDGE, 40, [key])]
    about = f"{page['title']}. First {page['tree']['label']}. {key}."
    return picture(width, foot + EDGE, [*words, *marks], title=page["title"], about=about)


def _draw(node: Facts, deep: int, top: float, marks: list[str]) -> tuple[int, float]:
    """Draw a node with all behind it; the deepest column and the foot of what was drawn."""
    lines = _lines(node)
    height = len(lines) * LINE + 12
    x, foot, deepest = EDGE + deep * (WIDE + GAP), top, deep
    out = x + WIDE, top + height / 2
    for branch in node["branches"]:
        # The first branch runs straight on, the others bend down to their own row
        y, label = foot, _label(branch)
        below, reached = _end(branch, deep + 1, y, marks)
        middle = y + (len(_lines(branch["then"])) * LINE + 12 if branch["then"] else 28) / 2
        corner = out[0] + 14
        points = [out, (corner, out[1]), (corner, middle), (x + WIDE + GAP, middle)]
        marks.append(line(points, thick=1 + 2 * branch["chance"], arrow=True))
        marks.append(text(corner + 4, middle - 5 - LINE * (len(label) - 1), label))
        foot, deepest = below + ROW + LINE * (len(label) - 1), max(deepest, reached)
    marks.append(box(x, top, WIDE, height, **FRAMES.get(node["kind"], {})))
    marks.append(text(x + 8, top + LINE + 1, lines))
    return deepest, max(foot - ROW, top + height)


def _end(branch: Facts, deep: int, top: float, marks: list[str]) -> tuple[float, int]:
    """What a branch leads to; its foot and the deepest column."""
    if branch["then"]:
        reached, foot = _draw(branch["then"], deep, top, marks)
        return foot, reached
    x = EDGE + deep * (WIDE + GAP)
    marks.append(box(x, top, WIDE, 28, **FRAMES["end"]) if branch["ends"] else "")
    marks.append(text(x + 8, top + LINE + 2, [branch["ends"] or "…"]))
    return top + 28, deep


def _lines(node: Facts) -> list[str]:
    words = wrap(node["label"], LETTERS)[:3]
    return [*words, f"{node['cost']:.0f} {node['currency']} to the end"]


def _label(branch: Facts) -> list[str]:
    # A figure stays on one line with its sign
    return wrap(f"{branch['outcome']} {percent(branch['chance']).replace(' %', NARROW)}", LABEL)[:2]
