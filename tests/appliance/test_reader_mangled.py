"""Whatever is done to a file, it is read or refused with its lines; nothing else may happen."""

from __future__ import annotations

import random
import re
from pathlib import Path

import pytest

from tundish.appliance.reader import DescriptionError, Refusal, read

HERE = Path(__file__).parent
TEXTS = {name: (HERE / name).read_text(encoding="utf-8") for name in ("small.yaml", "circuit.yaml")}
PIECE = re.compile(r"[A-Za-z_]\w*|\d[\d.]*|\[[^\[\]]*\]|\{[^{}]*\}")
VALUES = (
    *(
        "null",
        "",
        "[]",
        "{}",
        "[1]",
        "[1, 2]",
        "[[1]]",
        "{a: 1}",
        "{? {a: 1} : 2}",
        "x",
        "'q'",
        "~",
        "°C",
        "K",
    ),
    *(
        "-1",
        "0",
        "1e5",
        "nan",
        ".inf",
        "5 kPa",
        "1 V",
        "yes",
        "by",
        "choice",
        "normal",
        "lever",
        "static",
        "mat",
    ),
    *("{by: mat, no: 1, yes: 2}", "{choice: {no: 1}}", "{quantity: mat, is: no}", "{any: []}"),
)
ROUNDS, EDITS = 150, (1, 1, 1, 2, 3)


def mangled(text: str, draw: random.Random) -> str:
    """A description with a few pieces replaced, or a line taken out."""
    for _ in range(draw.choice(EDITS)):
        if draw.random() < 0.2:
            lines = text.split("\n")
            del lines[draw.randrange(len(lines))]
            text = "\n".join(lines)
            continue
        pieces = list(PIECE.finditer(text))
        old, other = draw.choice(pieces), draw.choice(pieces)
        text = text[: old.start()] + draw.choice((*VALUES, other[0], other[0])) + text[old.end() :]
    return text


def refused(text: str) -> tuple[Refusal, ...]:
    """What is refused in a text; any other error goes through."""
    try:
        read(text, "mangled.yaml")
    except DescriptionError as error:
        return error.refusals
    return ()


@pytest.mark.parametrize("name", TEXTS)
@pytest.mark.parametrize("seed", range(3))
def test_mangled_files_are_read_or_refused(seed: int, name: str) -> None:
    draw = random.Random(seed)
    found = 0
    for _ in range(ROUNDS):
        text = mangled(TEXTS[name], draw)
        refusals = refused(text)
        found += bool(refusals)
        for refusal in refusals:
            assert 1 <= refusal.line <= text.count("\n") + 1
            assert all((refusal.field, refusal.seen, refusal.allowed, refusal.do))
            assert "\n" not in str(refusal)
    # Most edits break something; some only change a number or a title.
    assert ROUNDS // 2 < found < ROUNDS
