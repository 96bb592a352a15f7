"""The bands of a call's staircase as a drawing: at every node two bars side by side, sound machines and this one, and dots for readings.

Side by side they never cover each other. They are told apart without colour: the sound one is open and dashed, this one hatched.
"""

from __future__ import annotations

import math
from typing import Any

from tundish.documents.staircase_svg import AXIS, EDGE, HIGH, ROOM, WIDTH, node_names, ticks
from tundish.documents.svg import LETTER, LINE, box, line, picture, text, wrap
from tundish.quantity.units import from_si

Facts = dict[str, Any]
COLUMN, THIN, DOT = 26.0, 3.0, 4.0
HATCH = (
    "<defs><pattern id='hatch' width='4' height='4' patternUnits='userSpaceOnUse' patternTransform='rotate(45)'>"
    "<line x1='0' y1='0' x2='0' y2='4' stroke='black' stroke-width='1.6'/></pattern></defs>"
)


def bands_svg(page: Facts) -> str:
    """The drawing. page : facts of `bands_facts`, with `machine` and `known`, one line each."""
    nodes = page["nodes"]
    width = max(WIDTH, 2 * EDGE + AXIS + COLUMN * len(nodes), _rows(page, 0.0)[2])
    heading = [t for words in _heading(page) for t in wrap(words, int((width - 2 * EDGE) / LETTER))]
    top = 22 + LINE * len(heading) + 2 * LINE + 4
    names = top + ROOM + HIGH + 10
    below = names + max(len(n["node"]) for n in nodes) * (LETTER + 1) + 20
    rows, foot, _ = _rows(page, below)
    marks = [
        HATCH,
        text(EDGE, 20, heading[:1], bold=True),
        text(EDGE, 20 + LINE, heading[1:]),
        *_key(top - LINE - 4),
        *_chart(page, width, top),
        *node_names(page, width, names),
        *rows,
    ]
    about = "; ".join([*heading, *(_spoken(page, n) for n in nodes)])
    return picture(width, foot + EDGE, marks, title=f"Staircase: {page['title']}", about=about)


def _heading(page: Facts) -> list[str]:
    return [
        page["machine"],
        page["known"],
        f"{page['setup']}: {page['title']}",
        f"{page['dimension']} over {page['over']}, {page['unit']}; 90 of 100 machines in a bar, line at the middle",
    ]


def _key(y: float) -> list[str]:
    return [
        _open(EDGE, y - 8, 14, 14),
        text(EDGE + 20, y + 5, ["sound"]),
        _hatched(EDGE + 90, y - 8, 14, 14),
        text(EDGE + 110, y + 5, ["this machine"]),
        _dot(EDGE + 225, y),
        text(EDGE + 235, y + 5, ["read"]),
    ]


def _chart(page: Facts, width: float, top: float) -> list[str]:
    nodes = page["nodes"]
    low, high = _reach(page)
    span = high - low or 1.0

    def at(level: float) -> float:
        return top + ROOM + HIGH * float(high - level) / span

    left, right = EDGE + AXIS, width - EDGE
    marks = [box(left, top, right - left, ROOM + HIGH), line([(left, at(0.0)), (right, at(0.0))], thick=0.5)]
    marks += [text(left - 4, at(v) + 5, [_figure(page, v)], anchor="end") for v in ticks(low, high)]
    wide = (right - left) / len(nodes)
    half = wide / 2 - 2
    for i, node in enumerate(nodes):
        x = left + i * wide
        if i:
            marks.append(line([(x, top), (x, top + ROOM + HIGH)], thick=0.3))
        for start, which, bar in ((x + 1, "healthy", _open), (x + wide / 2 + 1, "now", _hatched)):
            upper, lower = at(node[which]["high"]), at(node[which]["low"])
            # A band thinner than its frame would vanish.
            tall = max(lower - upper, THIN)
            foot = min((upper + lower + tall) / 2, top + ROOM + HIGH)
            marks.append(bar(start, foot - tall, half, tall))
            # Half of the machines lie above it: in a long bar it tells where most are.
            middle = at(node[which]["middle"])
            marks.append(line([(start, middle), (start + half, middle)], thick=2.5))
        marks += [_dot(x + wide / 2, at(r["value"])) for r in node["readings"]]
    return marks


def _open(x: float, y: float, wide: float, tall: float) -> str:
    return box(x, y, wide, tall, dash="3 2")


def _hatched(x: float, y: float, wide: float, tall: float) -> str:
    return f"<rect x='{x:g}' y='{y:g}' width='{wide:g}' height='{tall:g}' fill='url(#hatch)' stroke='black'/>"


def _dot(x: float, y: float) -> str:
    """A white ring keeps a dot apart from the hatching under it."""
    return f"<circle cx='{x:g}' cy='{y:g}' r='{DOT:g}' fill='black' stroke='white' stroke-width='1.5'/>"


def _rows(page: Facts, y: float) -> tuple[list[str], float, float]:
    """Every node with both bands and what was read; the foot of the last row and the width that the rows need."""
    told = [
        (f"at, {page['unit']}", "sound", "this one", "read"),
        *(_row(page, node) for node in page["nodes"]),
    ]
    ends = [EDGE + max(len(row[0]) for row in told) * LETTER]
    for column in (1, 2, 3):
        ends.append(ends[-1] + 2 * LETTER + max(len(row[column]) for row in told) * LETTER)
    # The last column stands at the right edge of a drawing that is wider.
    ends = [ends[0], *(end + max(0.0, WIDTH - EDGE - ends[-1]) for end in ends[1:])]
    marks = [line([(EDGE, y + 5), (ends[-1], y + 5)])]
    for number, row in enumerate(told):
        foot = y + number * (LINE + 3)
        marks.append(text(EDGE, foot, [row[0]]))
        marks += [
            text(ends[column], foot, [row[column]], anchor="end", bold=column == 3 and number > 0)
            for column in (1, 2, 3)
        ]
    return marks, foot + 6, ends[-1] + EDGE


def _row(page: Facts, node: Facts) -> tuple[str, str, str, str]:
    read = ", ".join(_figure(page, r["value"]) for r in node["readings"])
    return node["node"], _ends(page, node["healthy"]), _ends(page, node["now"]), read


def _ends(page: Facts, band: Facts) -> str:
    low, high = _figure(page, band["low"]), _figure(page, band["high"])
    return low if low == high else f"{low} to {high}"


def _figure(page: Facts, level: float) -> str:
    """A level without its unit, with as many decimals as a hundredth of the whole fall needs."""
    low, high = (float(from_si(v, page["unit"])) for v in _reach(page))
    decimals = max(0, math.ceil(-math.log10((high - low) / 100 or 1.0)))
    figure = f"{float(from_si(level, page['unit'])):.{decimals}f}"
    return figure if float(figure) else "0"


def _reach(page: Facts) -> tuple[float, float]:
    """The lowest and the highest level of the drawing, 0 among them."""
    nodes = page["nodes"]
    seen = [n[which][end] for n in nodes for which in ("healthy", "now") for end in ("low", "high")]
    seen += [r["value"] for n in nodes for r in n["readings"]]
    return min(0.0, *seen), max(0.0, *seen)


def _spoken(page: Facts, node: Facts) -> str:
    read = "".join(f", read {r['says']}" for r in node["readings"])
    return (
        f"{node['node']}: sound {_ends(page, node['healthy'])}, this machine {_ends(page, node['now'])}{read}"
    )
