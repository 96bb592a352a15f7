"""A long file is read in a time that nobody notices."""

from __future__ import annotations

import re
import time
from pathlib import Path

from tundish.appliance.reader import read

TEXT = (Path(__file__).parent / "small.yaml").read_text(encoding="utf-8")
LINES = 2_000
# About 0.1 s on a shared two-core machine; the limit leaves room for a slow and busy one.
MOST_SECONDS = 5.0


def long_text() -> str:
    """The small description with its faults, shares and checks repeated under new names until it is long."""
    start, faults, rest = re.split(r"(?=^faults:|^complaints:)", TEXT, flags=re.MULTILINE)
    rest, checks, notices = re.split(r"(?=^checks:|^notices:)", rest, flags=re.MULTILINE)
    block = {"F": faults.removeprefix("faults:\n"), "C": checks.removeprefix("checks:\n")}
    size = (LINES - TEXT.count("\n")) // (block["F"].count("\n") + block["C"].count("\n")) + 1
    for index in range(size):
        faults += re.sub(r"(?<=[SNF])0(?=\d)", f"0{index}x", block["F"])
        checks += re.sub(r"^  (\S+?):", rf"  \1.{index}:", block["C"], flags=re.MULTILINE)
    return start + faults + rest + checks + notices


def test_two_thousand_lines() -> None:
    text = long_text()
    assert text.count("\n") > LINES
    before = time.perf_counter()
    made = read(text, "long.yaml")
    seconds = time.perf_counter() - before
    print(f"read {text.count(chr(10))} lines, {len(made.checks)} checks, in {seconds:.2f} s")
    assert len(made.faults) > 90
    assert seconds < MOST_SECONDS
