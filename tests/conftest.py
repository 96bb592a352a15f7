"""Fixtures that several folders share: a toy family that shows its complaint often enough to be drawn in no time."""

from pathlib import Path

import pytest

from tundish.appliance.reader import read
from tundish.population.build import world

SMALL = Path(__file__).parent / "appliance" / "small.yaml"
HARD = "when: [{quantity: fill_time, above: 160 s}, {any: [{quantity: tap_kind, is: gate}, {quantity: fill_flow, below: 6}]}]"
EASY = "when: [{quantity: fill_time, above: 60 s}]"


@pytest.fixture(scope="session")
def toy():
    """The toy description with an easy complaint."""
    text = SMALL.read_text(encoding="utf-8")
    assert HARD in text
    return read(text.replace(HARD, EASY), "small.yaml")


@pytest.fixture(scope="session")
def place(toy):
    """The toy family in Europe."""
    return world(toy, "EU")
