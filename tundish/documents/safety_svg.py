"""The safety table as a drawing: one band a facet, its values in a row, the steps between them on lines of their own.

Made from `plan.states`, never drawn by hand; `python -m tools.safety_picture` writes it beside the pages.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace

from tundish.documents.svg import LETTER, box, line, picture, text
from tundish.plan.states import FACETS, STEPS, Step, close_panel, open_panel

TITLE = "Safety and access states"
LAW = "Local law and licensed practice outrank this picture. Needs and proofs stand in the table of the page."
LEFT, COLUMN, WIDE, TALL, LANE, GAP = 110.0, 215.0, 120.0, 28.0, 22.0, 26.0
PANEL = ("closed", "open")
# Minutes of a panel stand in each description.
PANEL_STEPS = (
    replace(open_panel("open", 0.0), name="open a panel"),
    replace(close_panel("open", 0.0), name="close a panel"),
)


def safety_svg() -> str:
    """The drawing of the whole table."""
    top, marks = 70.0, [text(12, 26, [TITLE], bold=True), text(12, 46, [LAW])]
    for facet, values in (*FACETS.items(), ("panels", PANEL)):
        steps = PANEL_STEPS if facet == "panels" else tuple(s for s in STEPS if s.facet == facet)
        # A facet without steps is a fact of the machine: nobody changes it on the way
        if steps:
            band, top = _band(facet, values, steps, top)
            marks += band
    width = LEFT + COLUMN * max(len(values) for values in FACETS.values()) + 160
    return picture(width, top, marks, title=TITLE, about=f"{len(STEPS)} steps between safety states. {LAW}")


def _band(facet: str, values: Sequence[str], steps: Sequence[Step], top: float) -> tuple[list[str], float]:
    """Marks of one facet and the foot of its band."""
    place = {value: i for i, value in enumerate(values)}
    on = [step for step in steps if place[step.end] > place[step.start]]
    back = [step for step in steps if place[step.end] < place[step.start]]
    row = top + LANE * len(on) + 8
    used: Counter[tuple[str, bool]] = Counter()
    lines, labels = [], []
    for lane, step in enumerate([*on, *back]):
        above = lane < len(on)
        # The first step lies nearest to the row, on either side
        y = row - LANE * (lane + 1) + 6 if above else row + TALL + LANE * (lane - len(on) + 1)
        start, end = (_foot(used, place, v, above) for v in (step.start, step.end))
        edge = row if above else row + TALL
        lines.append(line([(start, edge), (start, y), (end, y), (end, edge)], arrow=True))
        labels += _label(step, min(start, end) + 8, y)
    boxes = list(_boxes(values, row))
    name = text(12, row + 19, [facet], bold=True)
    return [*lines, *labels, *boxes, name], row + TALL + LANE * len(back) + GAP


def _foot(used: Counter[tuple[str, bool]], place: dict[str, int], value: str, above: bool) -> float:
    """Where the next line meets a box, each at a place of its own."""
    used[value, above] += 1
    return LEFT + COLUMN * place[value] + 12 * used[value, above]


def _boxes(values: Sequence[str], row: float) -> Iterator[str]:
    for i, value in enumerate(values):
        x = LEFT + COLUMN * i
        yield box(x, row, WIDE, TALL, round_=6)
        yield text(x + WIDE / 2, row + 19, [value], anchor="middle")


def _label(step: Step, x: float, y: float) -> list[str]:
    low, high = step.minutes
    minutes = f"{low:g} min" if low == high else f"{low:g}-{high:g} min"
    words = ", ".join([step.name, *([minutes] if high else []), *([] if step.who == "any" else [step.who])])
    # White behind the words, so that lines that cross them do not hide them
    ground = f"<rect x='{x - 2:g}' y='{y - 14:g}' width='{len(words) * LETTER * 0.95:.0f}' height='13' fill='white'/>"
    return [ground, text(x, y - 3, [words])]
