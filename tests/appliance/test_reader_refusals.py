"""Every refusal: line, field, what was seen, what is allowed, what to do."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import pytest

from tundish.appliance.reader import DescriptionError, Refusal, read
from tundish.appliance.refusals import listed
from tundish.physics.formulas import FORMULAS
from tundish.physics.laws import ALTERNATING, LAWS

HERE = Path(__file__).parent
SMALL = (HERE / "small.yaml").read_text(encoding="utf-8")
# Whoever adds a law or a form adds a name to these lists.
NAMES = {
    "{laws}": listed(name for name in LAWS if name not in ALTERNATING),
    "{forms}": listed(FORMULAS),
}


@dataclass(frozen=True)
class Broken:
    """A case of broken.txt: an edit and the refusals that follow, as printed."""

    old: str
    new: str
    printed: tuple[str, ...]


def _case(block: str) -> Broken:
    lines = block.split("\n")
    old, new, printed = ([line[2:] for line in lines if line[:2] == f"{mark} "] for mark in "-+!")
    for mark, names in NAMES.items():
        printed = [line.replace(mark, names) for line in printed]
    return Broken("\n".join(old), "\n".join(new), tuple(f"small.yaml:{line}" for line in printed))


def _cases() -> list[Broken]:
    blocks = (HERE / "broken.txt").read_text(encoding="utf-8").split("\n\n")
    return [_case(block) for block in blocks if block.startswith("- ")]


CASES = _cases()


def refusals(text: str, file: str = "small.yaml") -> tuple[Refusal, ...]:
    """What is refused in a text."""
    with pytest.raises(DescriptionError) as caught:
        read(text, file)
    assert str(caught.value) == "\n".join(str(refusal) for refusal in caught.value.refusals)
    return caught.value.refusals


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.new.strip()[:40])
def test_a_broken_file_is_refused_in_full(case: Broken) -> None:
    assert SMALL.count(case.old) == 1
    found = refusals(SMALL.replace(case.old, case.new))
    assert tuple(str(refusal) for refusal in found) == case.printed


def test_there_are_many_broken_files() -> None:
    assert len(CASES) > 140
    # Nearly every case shows one refusal: one mistake is not reported again where it is used.
    assert Counter(len(case.printed) for case in CASES)[1] > 0.8 * len(CASES)


def test_a_refusal_has_its_parts() -> None:
    (found,) = refusals(SMALL.replace("minutes: 6", "minutes: six"))
    line = SMALL[: SMALL.index("    minutes: 6")].count("\n") + 1
    assert found == Refusal(
        file="small.yaml",
        line=line,
        field="checks.C05.cold.minutes",
        seen='"six"',
        allowed="a number above 0",
        do="write the minutes as a number",
    )


def test_all_faults_are_found_at_once_in_the_order_of_the_file() -> None:
    edits = {
        "format: 1": "format: 3",
        "kind: wear": "kind: worn",
        "tap: {law: stop valve,": "tap: {law: stop,",
        "cure: 0.85": "cure: -1",
        "step: ": "stepp: ",
        "state: ISO, live": "state: OFF, live",
    }
    text = SMALL
    for old, new in edits.items():
        assert text.count(old) == 1
        text = text.replace(old, new)
    found = refusals(text)
    assert [refusal.field for refusal in found] == [
        "format",
        "networks.water.links.tap.law",
        "faults.S04.kind",
        "faults.S04.cure",
        "checks.C05.cold.stepp",
        "checks.W01.state",
    ]
    assert [refusal.line for refusal in found] == sorted(refusal.line for refusal in found)
    assert all(text.split("\n")[refusal.line - 1].strip() for refusal in found)


@pytest.mark.parametrize(
    ("text", "line", "seen"),
    [
        ("", 1, "an empty file"),
        ("# only a comment\n", 1, "an empty file"),
        ("- format: 1\n", 1, "a list"),
        ("format\n", 1, "a single text"),
        ("format: 1\nformat: 1\n---\na: 1\n", 3, "what is no YAML (but found another document)"),
        ("format: 1\nfamily: a\x07\n", 2, "what is no YAML (control characters are not allowed)"),
        ("format: 1\nfamily: a\udc80\n", 2, "what is no YAML (surrogates not allowed)"),
        ("format: 1\nfamily: " + "[" * 60 + "]" * 60, 2, "deeper ones"),
        ("format: 1\nfamily:\n" + "- " * 60, 3, "deeper ones"),
        (
            "format: 1\nfamily: " + "[" * 20_000,
            2,
            "what is no YAML (exceeded maximum nesting depth)",
        ),
        ("format: 1\nmarkets: &m {EU: *m}\n", 2, "an alias"),
    ],
)
def test_what_is_no_description(text: str, line: int, seen: str) -> None:
    found = refusals(text)
    assert (line, seen) in [(refusal.line, refusal.seen) for refusal in found]


def test_an_empty_mapping_lacks_every_section() -> None:
    found = refusals("{}")
    missing = ["format", "family", "markets", "parameters", "faults", "complaints", "checks"]
    assert [refusal.field for refusal in found] == missing
    assert {refusal.seen for refusal in found} == {"nothing"}


def test_an_empty_section_is_refused() -> None:
    found = refusals(SMALL.replace('sources: {TOY: "invented for the test"}', "sources: {}"))
    (refusal,) = found
    assert (refusal.line, refusal.field, refusal.seen) == (4, "sources", "an empty mapping")
    assert (refusal.allowed, refusal.do) == (
        "a section with at least one entry",
        "fill sources, or take it out",
    )


def test_aliases_of_aliases_are_not_written_out() -> None:
    rows = [
        f"  r{i}: {{choice: {{a: 1}}, note: &r{i} [{', '.join(f'*r{i - 1}' for _ in range(9))}]}}"
        for i in range(1, 12)
    ]
    text = "parameters:\n  r0: {choice: {a: 1}, note: &r0 x}\n" + "\n".join(rows)
    assert sum(refusal.seen == "an alias" for refusal in refusals(text)) == 99


def test_rings_are_found_once_each_through_every_way() -> None:
    ring = SMALL.replace(
        "{form: sum, of: [coil, broken, 2], unit: ohm}", "{form: sum, of: [coil, coil_ohms], unit: ohm}"
    )
    found = refusals(ring)
    assert [(refusal.field, refusal.seen) for refusal in found] == [
        ("quantities.coil_ohms", "coil_ohms from coil_now from coil_ohms")
    ]
    keyed = SMALL.replace(
        "tap_kind: {choice: {globe: 0.7, lever: 0.3}}", "called: {by: tap_kind, lever: 1, globe: 1, gate: 1}"
    )
    read(keyed, "small.yaml")
    twisted = SMALL.replace(
        "static: {unit: kPa, normal: [350, 80]", "static: {unit: kPa, times: hot_static, normal: [350, 80]"
    )
    assert "parameters.static" in [refusal.field for refusal in refusals(twisted)]


def test_a_setup_that_replaces_a_binding_breaks_the_ring() -> None:
    # The coil's resistance comes from what is measured with the coil set to a number: no ring.
    text = SMALL.replace(
        "{form: sum, of: [coil, broken, 2], unit: ohm}", "{form: sum, of: [coil, apart_ohms], unit: ohm}"
    )
    text = text.replace(
        "  energised: {", "  apart: {network: circuit, set: {coil_now: 5 ohm}}\n  energised: {"
    )
    taken = "  apart_ohms: {take: resistance, setup: apart, from: coil_end, to: neutral, unit: ohm}\n"
    text = text.replace("  fill_time: {form", taken + "  fill_time: {form")
    assert read(text, "small.yaml").quantities["apart_ohms"].setup == "apart"
