"""Networks whose potentials are complex: what is read, and every refusal."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from tundish.appliance.reader import DescriptionError, read
from tundish.appliance.records import Description

HERE = Path(__file__).parent
CIRCUIT = (HERE / "circuit.yaml").read_text(encoding="utf-8")
SMALL = (HERE / "small.yaml").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def circuit() -> Description:
    return read(CIRCUIT, "circuit.yaml")


def test_held_nodes_have_volts_and_angles(circuit: Description) -> None:
    network = circuit.networks["circuit"]
    assert network.is_complex
    assert network.hold == {"L1": "leg", "L2": "leg", "N": 0.0, "E": 0.0}
    assert network.angles == {"L1": 0.0, "L2": "second", "N": 0.0, "E": 0.0}


def test_a_setup_holds_volts_and_angles_of_its_own(circuit: Description) -> None:
    swapped = circuit.setups["swapped"]
    assert swapped.hold == {"L1": 120.0, "L2": 120.0}
    # L2 is given volts alone, so the network's angle does not stay behind.
    assert swapped.angles == {"L1": pytest.approx(math.pi / 2), "L2": 0.0}


def test_a_set_reaches_an_angle_and_is_in_the_unit_of_its_parameter(circuit: Description) -> None:
    assert circuit.setups["turned"].set["second"].value == pytest.approx(math.pi / 2)


def test_a_network_is_real_unless_it_says_otherwise() -> None:
    written = read(SMALL.replace("  circuit:\n", "  circuit:\n    potentials: real\n"), "small.yaml")
    for made in (written, read(SMALL, "small.yaml")):
        assert [network.potentials for network in made.networks.values()] == ["real", "real"]
        assert [network.angles for network in made.networks.values()] == [{}, {}]


def test_a_resistor_network_may_be_complex() -> None:
    read(SMALL.replace("  circuit:\n", "  circuit:\n    potentials: complex\n"), "small.yaml")


def test_a_ring_through_an_angle_is_found() -> None:
    """The angle of L2 from a quantity is fine, but not from one that the same circuit gives."""
    turned = CIRCUIT.replace("degrees: second}", "degrees: turn}").replace(
        "set: {second: 90}", "set: {turn: 90}"
    )
    for source, ring in (("1", False), ("share", True)):
        made = f"  turn: {{form: product, of: [second, {source}], unit: deg}}\n"
        made += "  share: {form: ratio, a: bus_potential, b: bus_potential, unit: '-'}\n"
        text = turned.replace("quantities:\n", f"quantities:\n{made}")
        if not ring:
            read(text, "circuit.yaml")
            continue
        with pytest.raises(DescriptionError, match="quantities that do not depend on themselves"):
            read(text, "circuit.yaml")


def cases() -> list[tuple[str, str, str]]:
    """Text taken out, text put in, and the one refusal printed, of broken_circuit.txt."""
    blocks = (HERE / "broken_circuit.txt").read_text(encoding="utf-8").split("\n\n")
    edits = [[line[2:] for line in block.strip().split("\n")] for block in blocks if block.startswith("- ")]
    return [(old, new, f"circuit.yaml:{printed}") for old, new, printed in edits]


@pytest.mark.parametrize("case", cases(), ids=lambda case: case[1][:40])
def test_a_broken_circuit_is_refused_once(case: tuple[str, str, str]) -> None:
    old, new, printed = case
    assert CIRCUIT.count(old) == 1
    with pytest.raises(DescriptionError) as caught:
        read(CIRCUIT.replace(old, new), "circuit.yaml")
    assert str(caught.value) == printed


@pytest.mark.parametrize(
    ("old", "new", "field", "words"),
    [
        ("neutral: 0}", "neutral: {volts: 0}}", "hold.neutral", "write potentials: complex in this network"),
        (
            "{law: contact, from: live,",
            "{law: winding, from: live,",
            "links.lead.law",
            "write potentials: complex in this network",
        ),
    ],
)
def test_what_alternates_is_refused_in_a_real_network(old: str, new: str, field: str, words: str) -> None:
    assert SMALL.count(old) == 1
    with pytest.raises(DescriptionError) as caught:
        read(SMALL.replace(old, new), "small.yaml")
    (found,) = caught.value.refusals
    assert found.field == f"networks.circuit.{field}"
    assert words in found.do
