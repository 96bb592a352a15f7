"""`tundish stock` as a technician uses it, in a folder of its own."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from conftest import FEW, WASHER

Run = Callable[..., str]


def rows(run: Run, *words: str) -> dict[str, dict[str, Any]]:
    return {row["part"]: row for row in json.loads(run("stock", *words, "--json"))["stock"]}


def test_parts_come_and_go(run: Run) -> None:
    assert rows(run) == {}
    assert rows(run, "receive", "Fill Hose", "4")["any: fill hose"]["on_van"] == 4
    run("stock", "order", "dishwasher: drain pump", "2")
    run("stock", "arrive", "dishwasher: drain pump", "1")
    run("stock", "cancel", "dishwasher: drain pump", "1")
    run("stock", "minimum", "dishwasher: drain pump", "3")
    run("stock", "send-back", "any: fill hose", "1")
    run("stock", "take", "any: fill hose")
    run("stock", "count", "thermal fuse on the blower's outlet", "0")
    found = rows(run)
    assert {part: (r["on_van"], r["on_order"], r["minimum"], r["below_minimum"]) for part, r in found.items()} == {
        "any: fill hose": (2, 0, 0, False),
        "dishwasher: drain pump": (1, 0, 3, True),
        "dryer: thermal fuse on the blower's outlet": (0, 0, 0, False),
    }  # fmt: skip
    assert "below minimum" in run("stock")


def test_a_part_is_taken_for_a_call(run: Run) -> None:
    from tundish.cli import at_hand
    from tundish.store.stock import lines_of

    call = json.loads(run("open", WASHER, "--complaint", "SLOW", "--name", "smith", "--json", *FEW))["call"]
    run("stock", "receive", "fill hose", "1")
    run("stock", "take", "fill hose", "--call", "smith")
    with at_hand.calls() as file:
        assert [line.call for line in lines_of(file)] == ["", call]
    assert "smyth" in run("stock", "take", "fill hose", "--call", "smyth", code=2)


@pytest.mark.parametrize(
    ("words", "expected"),
    [
        (["take", "fill hose"], "with 0 on van; allowed: up to 0; receive the part"),
        (["arrive", "fill hose", "1"], "use receive for pieces that were not ordered"),
        (["receive", "drain pump", "1"], "dishwasher: drain pump, front-load washer: drain pump"),
        (["receive", "spline grease", "1"], "add --new"),
        (["receive", "spline grease", "1", "--new"], "allowed: FAMILY: PART"),
        (["receive", "fill hose", "0"], "0 is not in the range"),
        (["receive", "fill hose", "9999999"], "up to 999999 pieces"),
        (["--import", "a.csv", "--export", "b.csv"], "saw --import with --export"),
    ],
)
def test_what_cannot_be_done_says_so_with_exit_code_2(run: Run, words: list[str], expected: str) -> None:
    assert expected in " ".join(run("stock", *words, code=2).split())
    assert rows(run) == {}


def test_a_part_that_no_description_has(run: Run) -> None:
    run("stock", "receive", "any: spline grease", "1", "--new")
    # Known from now on
    assert rows(run, "take", "spline grease")["any: spline grease"]["on_van"] == 0


def test_export_and_import(run: Run, tmp_path: Path) -> None:
    run("stock", "receive", "fill hose", "4")
    for end in ("csv", "json"):
        out = tmp_path / f"s.{end}"
        run("stock", "--export", str(out))
        out.write_text(out.read_text(encoding="utf-8").replace("4", "3"), encoding="utf-8")
        assert rows(run, "--import", str(out))["any: fill hose"]["on_van"] == 3
        run("stock", "count", "fill hose", "4")
    (tmp_path / "bad.csv").write_text("part;on_van\nany: fill hose;x\n")
    assert "row 2: saw on_van 'x'" in run("stock", "--import", str(tmp_path / "bad.csv"), code=2)
