"""Drawings: sound SVG, every word in them real text, inside the picture, and the picture in the pages up to date."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest

from tools.safety_picture import PICTURE
from tundish.documents.safety_svg import safety_svg
from tundish.documents.svg import wrap
from tundish.documents.tree_svg import tree_svg
from tundish.documents.tree_text import tree_lines
from tundish.plan.states import FACETS, STEPS

NAME = "{http://www.w3.org/2000/svg}"


def node(label: str, kind: str = "check", branches: tuple[Any, ...] = ()) -> dict[str, Any]:
    return {
        "label": label, "kind": kind, "cost": 50.0, "currency": "EUR", "top": [["S06", 0.7]], "branches": list(branches)
    }  # fmt: skip


def branch(outcome: str, chance: float, then: dict[str, Any] | None = None, ends: str = "") -> dict[str, Any]:
    return {"outcome": outcome, "chance": chance, "ends": ends, "then": then}


REPAIR = node(
    "repair S06 fill hose: kinked", "repair", (branch("works", 0.9, ends="fixed"), branch("still fails", 0.1))
)
ORDER = node("order the part & return, with a name <long> enough to need several lines of the box", "order")
PAGE = {
    "title": "Plan of call k7f3: front-load washer, SLOW",
    "tree": node("C02 hose route", branches=(branch("flat spot", 0.2, REPAIR), branch("smooth", 0.8, ORDER))),
}


def parts(drawing: str, tag: str) -> list[ElementTree.Element]:
    return list(ElementTree.fromstring(drawing).iter(NAME + tag))


def words_of(drawing: str) -> str:
    return " ".join(t.text or "" for t in parts(drawing, "tspan")).replace("\N{NO-BREAK SPACE}", " ")


def test_the_tree_shows_every_action_outcome_and_end_as_text() -> None:
    words = words_of(tree_svg(PAGE))
    for said in (
        "C02 hose route",
        "repair S06",
        "fill hose: kinked",
        "works 90 %",
        "fixed",
        "flat spot 20 %",
        "& return,",
    ):
        assert said in words
    # What was cut off is shown as such, not as an end
    assert "…" in words


def test_kinds_are_told_by_their_frames_in_black_and_white() -> None:
    drawing = tree_svg(PAGE)
    assert set(re.findall(r"(?:fill|stroke)='([a-z]+)'", drawing)) <= {"black", "white", "none"}
    frames = {
        (b.get("stroke-width"), b.get("stroke-dasharray"), b.get("rx")) for b in parts(drawing, "rect")[1:]
    }
    assert len(frames) == 4


@pytest.mark.parametrize("drawing", [tree_svg(PAGE), safety_svg()], ids=["tree", "safety"])
def test_all_marks_lie_inside_the_picture(drawing: str) -> None:
    root = ElementTree.fromstring(drawing)
    width, height = float(root.get("width") or 0), float(root.get("height") or 0)
    for mark in parts(drawing, "rect"):
        x, y, wide, tall = (float(mark.get(k) or 0) for k in ("x", "y", "width", "height"))
        assert x >= 0 and y >= 0 and x + wide <= width and y + tall <= height
    for mark in parts(drawing, "tspan"):
        if mark.get("x"):
            assert float(mark.get("x") or 0) < width
    for mark in parts(drawing, "polyline"):
        for point in (mark.get("points") or "").split():
            x, y = map(float, point.split(","))
            assert 0 <= x <= width and 0 <= y <= height


def test_boxes_of_a_tree_do_not_overlap() -> None:
    rows = [
        tuple(float(b.get(k) or 0) for k in ("x", "y", "width", "height"))
        for b in parts(tree_svg(PAGE), "rect")[1:]
    ]
    assert len(rows) == 4
    for i, (x, y, wide, tall) in enumerate(rows):
        for other in rows[i + 1 :]:
            apart = (
                other[0] >= x + wide
                or x >= other[0] + other[2]
                or other[1] >= y + tall
                or y >= other[1] + other[3]
            )
            assert apart


def test_the_tree_as_text() -> None:
    lines = tree_lines(PAGE["tree"])
    assert lines[0] == "C02 hose route [50 EUR to the end; likeliest S06 70 %]"
    assert lines[1].startswith("├─ flat spot (20 %): repair S06")
    assert lines[2] == "│  ├─ works (90 %): fixed"
    assert lines[3] == "│  └─ still fails (10 %): …"
    assert lines[4].startswith("└─ smooth (80 %): order the part")


def test_the_picture_of_the_safety_table_is_up_to_date() -> None:
    """Made anew with: python -m tools.safety_picture"""
    assert PICTURE.read_text(encoding="utf-8") == safety_svg()


def test_the_picture_holds_every_step_and_value() -> None:
    words = words_of(safety_svg())
    for step in STEPS:
        assert step.name in words
        assert step.facet in words
    for facet in {step.facet for step in STEPS}:
        for value in FACETS[facet]:
            assert value in words


def test_the_page_shows_the_picture() -> None:
    page = Path(PICTURE).parent / "next-action.md"
    assert "](safety.svg)" in page.read_text(encoding="utf-8")


def test_lines_are_wrapped_within_their_letters() -> None:
    for letters in (4, 9, 30):
        assert all(len(line) <= letters for line in wrap("pull the machine out of its place", letters))
