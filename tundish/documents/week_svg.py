"""The weeks as small drawings, one a figure: each week's value with its interval, one below the other."""

from __future__ import annotations

from typing import Any

from tundish.documents.svg import line, picture, text

WIDTH, ROW = 640.0, 120.0
LEFT, RIGHT, HEAD, FOOT = 60.0, 24.0, 26.0, 18.0
DOT = 3.0
# Weeks that one drawing holds: a quarter of a year.
MOST = 13


def week_svg(page: dict[str, Any]) -> str:
    """The drawing. page : as `learning_facts.week_facts` gives it."""
    names = list(dict.fromkeys(point["name"] for point in page["weeks"]))
    weeks = sorted({point["week"] for point in page["weeks"]})[-MOST:]
    marks = [] if names else [text(LEFT, 40, ["No call was closed yet."])]
    for place, name in enumerate(names):
        points = [point for point in page["weeks"] if point["name"] == name and point["week"] in weeks]
        marks += _strip(name, points, weeks, place * ROW)
    about = f"{len(weeks)} weeks up to {page['until'][:10]}, with 95 % intervals"
    return picture(WIDTH, max(len(names), 1) * ROW, marks, title="The weeks", about=about)


def _strip(name: str, points: list[dict[str, Any]], weeks: list[int], top: float) -> list[str]:
    is_share = all(point["high"] <= 1 for point in points)
    most = 1.0 if is_share else max((point["high"] for point in points), default=1.0)
    foot, height = top + ROW - FOOT, ROW - HEAD - FOOT

    def at(week: int, value: float) -> tuple[float, float]:
        share = (weeks.index(week) + 0.5) / len(weeks)
        return LEFT + (WIDTH - LEFT - RIGHT) * share, foot - height * value / most

    marks = [text(LEFT, top + 18, [name], bold=True), line([(LEFT, top + HEAD), (LEFT, foot), (WIDTH - RIGHT, foot)])]
    for value in (0.0, most):
        y = foot - height * value / most
        marks.append(text(LEFT - 6, y + 4, [f"{value:.0%}" if is_share else f"{value:.1f}"], anchor="end"))
    for point in points:
        x, y = at(point["week"], point["value"])
        marks.append(line([at(point["week"], point["low"]), at(point["week"], point["high"])]))
        marks.append(f"<circle cx='{x:g}' cy='{y:g}' r='{DOT:g}' fill='black'/>")
        marks.append(text(x + 6, y + 4, [str(point["calls"])]))
    return marks
