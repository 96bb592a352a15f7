"""Tables that stand twice, in Python and in the front, are the same; and both languages have every word. No browser is needed."""

from __future__ import annotations

import json
import math
import re
from pathlib import Path
from typing import Any

import pytest

from tundish.call.safety import FOUND
from tundish.plan.states import FACETS, PANEL_PROOF, SAFE_POWER, STEPS, WHO
from tundish.quantity.limits import LIMITS
from tundish.quantity.systems import UNIT_SYSTEMS
from tundish.quantity.table import UNITS

STATIC = Path(__file__).parents[2] / "tundish" / "web" / "static"


# What an import or export takes from elsewhere; words between may hold no sign that ends or begins an expression.
IMPORT = r"""(?:^|[;}])\s*(?:import|export)\s*(?:[\w*{][^;"'`=()]*?from\s*)?["']([^"']+)["']"""


def exported(file: str, name: str) -> Any:
    """A constant of a module, whose text is JSON but for trailing commas and bare names as keys."""
    text = (STATIC / file).read_text(encoding="utf-8")
    found = re.search(rf"export const {name} = (.*?);\n(?=export|\Z)", text, re.DOTALL)
    assert found, f"{file} exports no {name}"
    plain = re.sub(r"^(\s*)(\w+):", r'\1"\2":', found[1], flags=re.MULTILINE)
    return json.loads(re.sub(r",(\s*[}\]])", r"\1", plain))


def test_the_units_of_the_pad_are_those_of_the_unit_table() -> None:
    assert exported("units_table.js", "UNITS") == {
        u.symbol: [u.dimension, u.factor, u.offset] for u in UNITS.values()
    }


def test_customary_units_are_those_of_the_unit_systems() -> None:
    wanted = {
        name: {dimension: [list(step) for step in choice.steps] for dimension, choice in system.items()}
        for name, system in UNIT_SYSTEMS.items()
    }
    assert exported("units_table.js", "CUSTOMARY") == wanted


def test_the_limits_of_the_pad_are_those_of_every_entry() -> None:
    wanted = {
        name: [None if math.isinf(value) else value for value in (limit.low_si, limit.high_si)]
        for name, limit in LIMITS.items()
        if name in {u.dimension for u in UNITS.values()}
    }
    assert exported("units_table.js", "LIMITS") == wanted


def test_the_safety_steps_of_the_phone_are_those_of_the_planner() -> None:
    wanted = [
        {
            "name": s.name, "facet": s.facet, "start": s.start, "end": s.end, "minutes": list(s.minutes), "proof": s.proof,
            "who": s.who, "needs": {facet: sorted(values) for facet, values in s.needs.items()},
        }
        for s in STEPS
    ]  # fmt: skip
    assert exported("safety_table.js", "STEPS") == wanted
    assert exported("safety_table.js", "FACETS") == {name: list(values) for name, values in FACETS.items()}
    assert exported("safety_table.js", "FOUND") == {name: list(values) for name, values in FOUND.items()}
    assert exported("safety_table.js", "SAFE_POWER") == sorted(SAFE_POWER)
    assert exported("safety_table.js", "WHO") == list(WHO)
    assert exported("safety_table.js", "PANEL_PROOFS")["close"] == PANEL_PROOF


def words(file: str, name: str) -> dict[str, str]:
    found: dict[str, str] = exported(file, name)
    return found


def test_both_languages_have_every_word_and_every_blank_to_fill() -> None:
    english, german = words("words_en.js", "EN"), words("words_de.js", "DE")
    assert english.keys() == german.keys()
    blanks = re.compile(r"\{\w+\}")
    odd = [
        key for key in english if sorted(blanks.findall(english[key])) != sorted(blanks.findall(german[key]))
    ]
    assert odd == []


def test_every_word_that_a_page_says_is_in_the_catalogue() -> None:
    english = words("words_en.js", "EN")
    said = {
        key
        for path in STATIC.glob("*.js")
        for key in re.findall(r'say\("([\w-]+)"', path.read_text(encoding="utf-8"))
    }
    assert said <= english.keys()
    assert len(said) > 150


@pytest.mark.parametrize("path", sorted(STATIC.glob("*.js")), ids=lambda path: path.name)
def test_no_module_writes_markup_or_runs_text(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert not re.search(r"innerHTML|dangerouslySetInnerHTML|\beval\(|new Function|document\.write", text)


def test_imports_are_relative_and_lead_to_files() -> None:
    # The content policy allows no import map in the page, so a bare name would lead nowhere
    for path in STATIC.rglob("*.js"):
        text = path.read_text(encoding="utf-8")
        for name in re.findall(IMPORT, text, re.MULTILINE):
            assert name.startswith("./"), f"{path.name} imports {name}"
            assert (path.parent / name).is_file(), f"{path.name} imports {name}"
