"""The curve of keep or replace as a drawing: what keeping costs a year over the price of the repair, against a new machine."""

from __future__ import annotations

from typing import Any

from tundish.documents.svg import line, picture, text

WIDTH, HEIGHT = 640.0, 400.0
# Room for the axes' words on each side, [px].
LEFT, RIGHT, TOP, FOOT = 70.0, 24.0, 58.0, 52.0


def worth_svg(worth: dict[str, Any], currency: str) -> str:
    """The drawing. worth : as `quote_facts.worth_facts` gives it."""
    points = [p for p in worth["curve"] if p["keep_a_year"] is not None]
    most_x = max([p["price"] for p in worth["curve"]] + [worth["price"]])
    most_y = max([p["keep_a_year"] for p in points] + [worth["new_a_year"]]) * 1.08

    def at(price: float, a_year: float) -> tuple[float, float]:
        x = LEFT + (WIDTH - LEFT - RIGHT) * price / most_x
        return x, HEIGHT - FOOT - (HEIGHT - TOP - FOOT) * a_year / most_y

    marks = [*_axes(at, most_x, most_y, currency)]
    new = worth["new_a_year"]
    marks.append(_dashed(at(0, new), at(most_x, new)))
    marks.append(text(LEFT + 6, at(0, new)[1] - 6, [f"a new machine: {new:.0f} {currency} a year"]))
    if len(points) > 1:
        marks.append(line([at(p["price"], p["keep_a_year"]) for p in points], thick=2))
    marks += _upright(at, worth["price"], "this repair", currency, row=0)
    if 0 <= worth["break_even"] <= most_x:
        marks += _upright(at, worth["break_even"], "pays up to", currency, row=1)
    return picture(WIDTH, HEIGHT, marks, title="Keep or replace", about=worth["says"])


def _axes(at: Any, most_x: float, most_y: float, currency: str) -> list[str]:
    marks = [line([at(0, most_y), at(0, 0), at(most_x, 0)])]
    for share in (0.0, 0.25, 0.5, 0.75, 1.0):
        x, y = at(share * most_x, 0)
        marks += [
            line([(x, y), (x, y + 4)]),
            text(x, y + 18, [f"{share * most_x:.0f}"], anchor="middle"),
        ]
        # The foot of the upright axis is the 0 of the other one already
        if share:
            x, y = at(0, share * most_y)
            marks += [
                line([(x - 4, y), (x, y)]),
                text(x - 8, y + 4, [f"{share * most_y:.0f}"], anchor="end"),
            ]
    middle = (LEFT + WIDTH - RIGHT) / 2
    marks.append(text(middle, HEIGHT - 12, [f"price of the repair, {currency}"], anchor="middle"))
    marks.append(text(8, 18, [f"keeping it costs, {currency} a year of what it has left"]))
    return marks


def _dashed(start: tuple[float, float], end: tuple[float, float]) -> str:
    return (
        f"<line x1='{start[0]:g}' y1='{start[1]:g}' x2='{end[0]:g}' y2='{end[1]:g}' stroke='black' "
        "stroke-dasharray='6 4'/>"
    )


def _upright(at: Any, price: float, words: str, currency: str, *, row: int) -> list[str]:
    x, foot = at(price, 0)
    # Near the right end the words go to the left of their line
    anchor, gap = ("end", -4) if x > 0.7 * WIDTH else ("start", 4)
    head = 36 + 14 * row
    return [
        line([(x, foot), (x, head + 4)], thick=1 + row),
        text(x + gap, head, [f"{words} {price:.0f} {currency}"], bold=bool(row), anchor=anchor),
    ]
