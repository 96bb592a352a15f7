"""The picture of a trial: for each complaint, what a call costs each way, with its interval."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from tundish.documents.svg import box, line, picture, text

# Sizes, [px].
LEFT, WIDE, ROW, GAP, TOP = 190.0, 420.0, 22.0, 34.0, 46.0
STEPS = (1, 2, 5)


def trial_plot(facts: dict[str, Any]) -> str:
    """An SVG with a bar for every way and a whisker for its 95 % interval, readable in black and white."""
    most = max((w["cost"]["high"] for t in facts["trials"] for w in t["ways"]), default=1.0)
    scale = WIDE / max(most, 1e-9)
    rows = sum(len(t["ways"]) for t in facts["trials"])
    height = TOP + rows * ROW + len(facts["trials"]) * GAP + 40.0
    title = f"{facts['family']}: cost of a whole call, {facts['currency']}"
    about = "Bars: mean cost of simulated calls each way of going about them. Whiskers: 95 % interval of the mean."
    marks = [text(12, 24, [title], bold=True), *_bars(facts, scale), *_axis(most, scale, height)]
    return picture(LEFT + WIDE + 110.0, height, marks, title=title, about=about)


def _bars(facts: dict[str, Any], scale: float) -> Iterator[str]:
    y = TOP
    for trial in facts["trials"]:
        yield text(12, y + 16, [f"{trial['complaint']}, {trial['calls']} calls"], bold=True)
        y += GAP - 8
        for way in trial["ways"]:
            yield from _bar(way, y, scale)
            y += ROW
        y += 8


def _bar(way: dict[str, Any], y: float, scale: float) -> Iterator[str]:
    cost, middle = way["cost"], y + ROW / 2 - 2
    yield text(LEFT - 8, y + 13, [way["way"]], anchor="end", bold=way["way"] == "ours")
    # Ours is drawn thick, so that it is told apart without colour
    yield box(
        LEFT, y + 2, max(cost["mean"], 0.0) * scale, ROW - 8, thick=2.5 if way["way"] == "ours" else 1.0
    )
    low, high = LEFT + max(cost["low"], 0.0) * scale, LEFT + cost["high"] * scale
    yield line([(low, middle), (high, middle)])
    yield from (line([(x, middle - 4), (x, middle + 4)]) for x in (low, high))
    yield text(high + 6, y + 13, [f"{cost['mean']:.0f}"])


def _axis(most: float, scale: float, height: float) -> Iterator[str]:
    y, step = height - 26.0, _step(most)
    yield line([(LEFT, y), (LEFT + WIDE, y)])
    value = 0.0
    while value <= most:
        x = LEFT + value * scale
        yield line([(x, y), (x, y + 4)])
        yield text(x, y + 18, [f"{value:g}"], anchor="middle")
        value += step


def _step(most: float) -> float:
    """A round step that puts at most eight marks on the axis.

    >>> _step(930.0)
    200.0
    """
    power = 0
    while True:
        for step in STEPS:
            if most / (step * 10.0**power) <= 8:
                return step * 10.0**power
        power += 1
