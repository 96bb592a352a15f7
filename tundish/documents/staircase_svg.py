"""The staircase as a drawing of our own: steps from left to right, the healthy line broad and dashed, the other thin and whole.

A phone's width holds it. The lines are told apart without colour; where they run together the dashes are strung on the thin line.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tundish.documents.svg import LETTER, LINE, box, line, picture, text, wrap

Facts = dict[str, Any]
WIDTH, EDGE, AXIS, HIGH = 360.0, 10.0, 50.0, 190.0
# A step needs room for its number and, turned, for the name of its node; the numbers of the highest steps need room above them.
COLUMN, ROOM = 22.0, 22.0
Points = list[tuple[float, float]]


def staircase_svg(page: Facts) -> str:
    """The drawing of a staircase. page : facts of `staircase_facts`, with `machine` and `changed`, one line each."""
    nodes = page["nodes"]
    width = max(WIDTH, 2 * EDGE + AXIS + COLUMN * len(nodes))
    heading = [t for words in _heading(page) for t in wrap(words, int((width - 2 * EDGE) / LETTER))]
    top = 22 + LINE * len(heading) + 2 * LINE + 4
    marks = [
        text(EDGE, 20, heading[:1], bold=True),
        text(EDGE, 20 + LINE, heading[1:]),
        *_key(top - LINE - 4),
    ]
    marks += _chart(page, width, top)
    names = top + ROOM + HIGH + 10
    # An underscore is wider than a letter
    below = names + max(len(n["node"]) for n in nodes) * (LETTER + 1) + 20
    marks += node_names(page, width, names)
    rows, foot = _rows(page, width, below)
    about = "; ".join([*heading, *(_spoken(s) for s in page["steps"])])
    return picture(width, foot + EDGE, [*marks, *rows], title=f"Staircase: {page['title']}", about=about)


def _heading(page: Facts) -> list[str]:
    flow = page["flow"]
    return [
        page["machine"],
        page["changed"],
        f"{page['setup']}: {page['title']}",
        f"{page['dimension']} over {page['over']}, {page['unit']}",
        f"through {flow['link']}: healthy {flow['healthy_says']}, what-if {flow['what_if_says']}",
    ]


def _key(y: float) -> list[str]:
    """A stroke of each line with its word."""
    return [
        _broad([(EDGE, y), (EDGE + 50, y)]),
        text(EDGE + 58, y + 5, ["healthy"]),
        line([(EDGE + 150, y), (EDGE + 200, y)], thick=1.6),
        text(EDGE + 208, y + 5, ["what-if"]),
    ]


def _chart(page: Facts, width: float, top: float) -> list[str]:
    levels: list[float] = [n[which] for n in page["nodes"] for which in ("healthy", "what_if")]
    low, high = min(0.0, *levels), max(0.0, *levels)
    span = high - low or 1.0

    def at(level: float) -> float:
        return top + ROOM + HIGH * (high - level) / span

    left, right = EDGE + AXIS, width - EDGE
    marks = [box(left, top, right - left, ROOM + HIGH)]
    # Few figures are enough for the height: every level stands in the rows below.
    marks += [text(left - 4, at(v) + 5, [_figure(page, v)], anchor="end") for v in ticks(low, high)]
    marks.append(line([(left, at(0.0)), (right, at(0.0))], thick=0.5))
    healthy, changed = (
        _steps([at(n[which]) for n in page["nodes"]], left, right) for which in ("healthy", "what_if")
    )
    return [*marks, _broad(healthy), line(changed, thick=1.6), *_numbers(healthy, changed)]


def _steps(heights: Sequence[float], left: float, right: float) -> Points:
    """A tread for each node; the riser between two is the link."""
    wide = (right - left) / len(heights)
    return [(left + (i + side) * wide, y) for i, y in enumerate(heights) for side in (0, 1)]


def _numbers(healthy: Points, changed: Points) -> list[str]:
    """The number of each step above both its risers, where no line runs through it."""
    marks = []
    for i in range(1, len(healthy) // 2):
        x = healthy[2 * i][0]
        y = min(p[1] for points in (healthy, changed) for p in points[2 * i - 1 : 2 * i + 1]) - 6
        marks += [text(x, y, [str(i)], anchor="middle", bold=True)]
    return marks


def node_names(page: Facts, width: float, y: float) -> list[str]:
    """The name of every node under its tread."""
    wide = (width - 2 * EDGE - AXIS) / len(page["nodes"])
    marks = []
    for i, node in enumerate(page["nodes"]):
        x = EDGE + AXIS + (i + 0.5) * wide + 4
        # Turned, because a name is longer than its tread is wide
        marks.append(f"<g transform='rotate(-90 {x:g} {y:g})'>{text(x, y, [node['node']], anchor='end')}</g>")
    return marks


def _rows(page: Facts, width: float, y: float) -> tuple[list[str], float]:
    """Every step with its drop on both lines; the foot of the last row."""
    right, middle = width - EDGE, width - EDGE - 88
    marks = [
        text(EDGE, y, [f"step, drop in {page['unit']}"]),
        text(middle, y, ["healthy"], anchor="end"),
        text(right, y, ["what-if"], anchor="end"),
        line([(EDGE, y + 5), (right, y + 5)]),
    ]
    for number, step in enumerate(page["steps"], 1):
        y += LINE + 3
        grown = step["link"] == page["grown"]
        sign = " (grown most)" if grown else ""
        marks += [
            text(EDGE, y, [f"{number} {step['link']}{sign}"], bold=grown),
            text(middle, y, [bare(step["healthy_says"])], anchor="end", bold=grown),
            text(right, y, [bare(step["what_if_says"])], anchor="end", bold=grown),
        ]
    return marks, y + 6


def ticks(low: float, high: float) -> list[float]:
    """Levels worth a figure at the side: the ends, and 0."""
    return [v for v in dict.fromkeys((low, 0.0, high)) if v == 0.0 or abs(v) > 0.1 * (high - low)]


def _figure(page: Facts, level: float) -> str:
    """The figure of a level that a node has, as the node says it."""
    says = {n[which]: n[f"{which}_says"] for n in page["nodes"] for which in ("healthy", "what_if")}
    return bare(says.get(level, "0"))


def bare(says: str) -> str:
    """A figure without its unit, which the heading has."""
    return says.split(" ", maxsplit=1)[0]


def _spoken(step: Facts) -> str:
    return f"{step['link']} from {step['from']} to {step['to']}: {step['healthy_says']}, then {step['what_if_says']}"


def _broad(points: Points) -> str:
    path = " ".join(f"{x:g},{y:g}" for x, y in points)
    return f"<polyline points='{path}' fill='none' stroke='black' stroke-width='5' stroke-dasharray='6 4'/>"
