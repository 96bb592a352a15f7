"""The document says what the tables hold, and every example in the package runs."""

from __future__ import annotations

import doctest
import importlib
import pkgutil
import re
from pathlib import Path

import pytest

import tundish.quantity
from tundish.quantity.dimensions import DIMENSIONS
from tundish.quantity.errors import QuantityError
from tundish.quantity.limits import LIMITS
from tundish.quantity.parse import parse
from tundish.quantity.table import UNITS
from tundish.quantity.units import REFUSED, si_unit, units_for

PAGE = (Path(__file__).parents[2] / "docs" / "quantity.md").read_text(encoding="utf-8")
MODULES = [found.name for found in pkgutil.iter_modules(tundish.quantity.__path__)]


def rows(heading: str) -> list[list[str]]:
    """Cells of the table under a heading, without its head."""
    section = PAGE.split(f"## {heading}\n", 1)[1].split("\n## ", 1)[0]
    lines = [line for line in section.splitlines() if line.startswith("|")]
    return [[cell.strip() for cell in line.strip("|").split("|")] for line in lines[2:]]


@pytest.mark.parametrize("name", MODULES)
def test_examples_run(name: str) -> None:
    module = importlib.import_module(f"tundish.quantity.{name}")
    assert doctest.testmod(module).failed == 0


def test_the_units_are_listed() -> None:
    listed = {cells[0]: cells[1:] for cells in rows("Units")}
    assert list(listed) == list(DIMENSIONS)
    for name, (si, units) in listed.items():
        assert si == f"`{si_unit(name)}`"
        own = [symbol for symbol in units_for(name) if UNITS[symbol].dimension == name]
        assert re.findall(r"`([^`]+)`", units) == own


def test_the_limits_are_listed() -> None:
    listed = {cells[0]: cells[1:] for cells in rows("Limits")}
    assert list(listed) == list(LIMITS)
    for place, (low, high, unit) in listed.items():
        limit = LIMITS[place]
        assert (low, high) == (
            "none" if limit.low == -float("inf") else f"{limit.low:g}",
            "none" if limit.high == float("inf") else f"{limit.high:g}",
        )
        assert unit == f"`{limit.unit}`"


def test_the_forms_shown_are_read_as_shown() -> None:
    for cells in rows("What can be typed"):
        for text in re.findall(r"`([^`]+)`", cells[0]):
            parse(text)


def test_the_refusals_shown_are_refused() -> None:
    texts = [text for cells in rows("What is refused") for text in re.findall(r"`([^`]+)`", cells[0])]
    assert len(texts) >= 15
    for text in texts:
        with pytest.raises(QuantityError):
            parse(text)
    assert all(f"`5 {unit}`" in PAGE for unit in REFUSED)
