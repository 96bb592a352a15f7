"""docs/description.md names everything the reader knows."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tundish.appliance import (
    reader,
    sections_checks,
    sections_faults,
    sections_parameters,
    sections_quantities,
    sections_questions,
)
from tundish.appliance.distributions import FORMS
from tundish.appliance.effects import KINDS as EFFECTS

DOC = (Path(__file__).parents[2] / "docs" / "description.md").read_text(encoding="utf-8")
WORDS = {
    "section": reader.SECTIONS,
    "state": sections_checks.STATES,
    "kind of fault": sections_faults.KINDS,
    "access word": sections_faults.ACCESS,
    "system of units": sections_parameters.UNIT_SYSTEMS,
    "form": FORMS,
    "effect": EFFECTS,
    "result": tuple(sections_quantities.PLACES),
    "key of a check": sections_checks.KEYS,
    "key of a fault": sections_faults.KEYS,
    "key of a question": sections_questions.KEYS,
}


@pytest.mark.parametrize("what", WORDS)
def test_every_word_is_in_the_document(what: str) -> None:
    missing = [word for word in WORDS[what] if not re.search(rf"(?<!\w){word}(?!\w)", DOC)]
    assert not missing, f"{what}: saw no {missing} in docs/description.md; add them"
