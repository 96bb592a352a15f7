"""The page on learning says what the code does."""

from __future__ import annotations

import doctest
import re
from pathlib import Path

import pytest

from tundish.history.noisy import right_after

ROOT = Path(__file__).parents[2]
PAGE = ROOT / "docs" / "learning.md"


def test_its_example_runs() -> None:
    found = doctest.testfile(str(PAGE), module_relative=False)
    assert (found.failed, found.attempted > 3) == (0, True)


@pytest.mark.parametrize(
    ("row", "days", "is_back"),
    [
        ("30 days, quiet", 30, False),
        ("10 days, quiet", 10, False),
        ("today", 0, False),
        ("called back", 5, True),
    ],
)
def test_its_table_of_weights_is_computed(row: str, days: float, is_back: bool) -> None:
    said = re.search(rf"\| {row} \| ([\d.]+) \|", PAGE.read_text(encoding="utf-8"))
    assert said
    assert float(said[1]) == pytest.approx(right_after(0.85, called_back=is_back, days=days), abs=5e-4)
