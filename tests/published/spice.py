"""Another program's answer: ngspice, the free circuit simulator, run as a program of its own.

It is not installed with the project, and tests that need it are skipped where it is missing.
"""

from __future__ import annotations

import cmath
import math
import re
import shutil
import subprocess

import pytest
from house_circuits import OPEN, Circuit

PROGRAM = shutil.which("ngspice")
needed = pytest.mark.skipif(
    PROGRAM is None,
    reason="ngspice is not installed: install your system's package ngspice to compare with it",
)
# Prints "v(n3) = 1.2e+02,3.4e-05", or without v( ), the real and the imaginary part.
PRINTED = re.compile(r"^(?:v\()?n(\d+)\)? = ([^,\s]+),(\S+)", re.MULTILINE)
# The defaults of a contact.
CLOSED = 0.01


def spice(circuit: Circuit) -> dict[str, complex]:
    """Potentials by node."""
    names = circuit.network.nodes
    number = {name: i + 1 for i, name in enumerate(names)}
    run = subprocess.run(
        [str(PROGRAM), "-b"],
        input=deck(circuit, number),
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    found = {int(node): complex(float(re_), float(im)) for node, re_, im in PRINTED.findall(run.stdout)}
    assert set(number.values()) <= set(found), run.stdout + run.stderr
    return {name: found[i] for name, i in number.items()}


def deck(circuit: Circuit, number: dict[str, int]) -> str:
    """The circuit in the simulator's own terms; nothing of this tool's laws is used."""
    lines = ["circuit"]
    for node, volts in circuit.held.items():
        lines.append(
            f"V{number[node]} n{number[node]} 0 AC {abs(volts)!r} {math.degrees(cmath.phase(volts))!r}"
        )
    for i, (name, (law, start, end)) in enumerate(circuit.links.items()):
        lines += part(i, law, circuit.inputs[name], f"n{number[start]}", f"n{number[end]}", circuit.hertz)
    # A part that no source holds is put at 0 by a resistor, as the tool puts it.
    lines += [f"Rhold{i} n{i} 0 1e15" for i in number.values()]
    hertz = circuit.hertz
    script = [".control", "set numdgt=12", f"ac lin 1 {hertz} {hertz}", "print all", "quit", ".endc", ".end"]
    return "\n".join([*lines, *script, ""])


def part(i: int, law: str, given: dict[str, float], a: str, b: str, hertz: float) -> list[str]:
    """One link as resistors, inductors and capacitors."""
    if law == "capacitor":
        return [f"C{i} {a} {b} {given['capacitance']!r}"]
    if law == "winding":
        henry = given["reactance"] / (2 * math.pi * hertz)
        return [f"R{i} {a} m{i} {given['resistance']!r}", f"L{i} m{i} {b} {henry!r}"]
    if law == "contact":
        closed, through = given["closed"], given.get("resistance", CLOSED)
        insulation = [f"R{i}i {a} {b} {given.get('open_resistance', OPEN)!r}"]
        return insulation + ([f"R{i} {a} {b} {through / closed!r}"] if closed else [])
    ohms = 1 / given["conductance"] if law == "linear" else given["resistance"]
    return [f"R{i} {a} {b} {ohms!r}"]
