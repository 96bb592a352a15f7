"""The honesty curve as a drawing: stated odds across, what was found upwards, the straight line of honest odds between them."""

from __future__ import annotations

from typing import Any

from tundish.documents.svg import line, picture, text

WIDTH, HEIGHT = 480.0, 500.0
LEFT, RIGHT, TOP, FOOT = 60.0, 24.0, 64.0, 56.0
TICKS = (0.0, 0.25, 0.5, 0.75, 1.0)
DOT, CAP = 4.0, 5.0


def honesty_svg(page: dict[str, Any]) -> str:
    """The drawing. page : as `learning_facts.honesty_facts` gives it."""
    about = f"{page['calls']} proven calls: {page['right']} right, {page['expected']:.1f} expected, z {page['z']:+.1f}; {page['says']}"
    marks = [text(LEFT, 24, ["Stated odds against what was found"], bold=True), text(LEFT, 44, [about]), *_axes()]
    for band in page["bands"]:
        x, y = _at(band["stated"], band["found"])
        low, high = _at(band["stated"], band["low"])[1], _at(band["stated"], band["high"])[1]
        marks += [line([(x, low), (x, high)])]
        marks += [line([(x - CAP, end), (x + CAP, end)]) for end in (low, high)]
        marks.append(f"<circle cx='{x:g}' cy='{y:g}' r='{DOT:g}' fill='black'/>")
        marks.append(text(x + 8, y + 4, [str(band["calls"])]))
    if len(page["bands"]) > 1:
        marks.append(line([_at(band["stated"], band["found"]) for band in page["bands"]], thick=1.5))
    return picture(WIDTH, HEIGHT, marks, title="Stated odds against what was found", about=about)


def _at(stated: float, found: float) -> tuple[float, float]:
    return LEFT + (WIDTH - LEFT - RIGHT) * stated, HEIGHT - FOOT - (HEIGHT - TOP - FOOT) * found


def _axes() -> list[str]:
    """Frame, ticks, words, and the line of honest odds."""
    (x0, y0), (x1, y1) = _at(0, 0), _at(1, 1)
    marks = [line([(x0, y1), (x0, y0), (x1, y0)])]
    marks.append(f"<line x1='{x0:g}' y1='{y0:g}' x2='{x1:g}' y2='{y1:g}' stroke='black' stroke-dasharray='6 4'/>")
    for share in TICKS:
        across, up = _at(share, 0), _at(0, share)
        marks += [line([across, (across[0], across[1] + 5)]), line([up, (up[0] - 5, up[1])])]
        marks.append(text(across[0], across[1] + 20, [f"{share:.0%}"], anchor="middle"))
        marks.append(text(up[0] - 9, up[1] + 4, [f"{share:.0%}"], anchor="end"))
    marks.append(text((x0 + x1) / 2, HEIGHT - 14, ["stated odds of the cause named first"], anchor="middle"))
    marks.append(text(x0 + 6, y1 + 12, ["proven (95 % interval, calls beside)"]))
    return marks
