"""The kernel in Python and the one on the phone say the same of the same packed calls."""

from __future__ import annotations

import json
import shutil
import subprocess
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from tools.pocket_vectors import told_of
from tundish.diagnosis.reading import Reading
from tundish.plan.pocket_kernel import opened
from tundish.plan.pocket_next import Place

HERE = Path(__file__).parent / "vectors"
KERNEL = Path(__file__).parents[2] / "tundish" / "web" / "static" / "kernel.js"
FILES = sorted(HERE.glob("*.json"))
NODE = shutil.which("node")
# Odds must agree to this; the action wherever it is this much cheaper than the next one.
NEAR, MARGIN = 1e-6, 0.01


def told(file: Path) -> list[dict[str, Any]]:
    """Cases of a file of vectors."""
    cases: list[dict[str, Any]] = json.loads(file.read_text(encoding="utf-8"))["cases"]
    return cases


def reading(row: dict[str, Any]) -> Reading:
    """A reading of the vectors."""
    value = float("inf") if row["value"] == "over" else row["value"]
    return Reading(row["check"], value, row["answer"], row["bound"])


@cache
def by_python(file: Path) -> list[dict[str, Any]]:
    """What the kernel in Python says."""
    pocket = opened(file.with_suffix(".pack").read_bytes())
    return [
        told_of(pocket, [reading(r) for r in case["readings"]], Place(case["place"]["state"], frozenset(case["place"]["parts"])))
        for case in told(file)
    ]  # fmt: skip


@cache
def by_node(file: Path) -> list[dict[str, Any]]:
    """What the phone's kernel says."""
    if NODE is None:
        pytest.skip("no node on this computer: the phone's kernel is not run")
    asked = [NODE, str(HERE / "run.mjs"), str(KERNEL), str(file)]
    done = subprocess.run(asked, capture_output=True, text=True, check=True, timeout=120)
    found: list[dict[str, Any]] = json.loads(done.stdout)
    return found


def margin(options: list[dict[str, Any]]) -> float:
    """How much cheaper the first option is than any other, as a share."""
    first, *rest = options
    return float(min((o["promise"] for o in rest), default=float("inf")) / first["promise"] - 1.0)


@pytest.mark.parametrize("file", FILES, ids=lambda f: f.stem)
@pytest.mark.parametrize("kernel", [by_python, by_node])
def test_both_kernels_say_what_the_vectors_say(file: Path, kernel: Any) -> None:
    said, wanted = kernel(file), told(file)
    assert len(said) == len(wanted) >= 12
    for mine, theirs in zip(said, wanted, strict=True):
        assert mine["odds"]["causes"] == pytest.approx(theirs["odds"]["causes"], abs=NEAR, rel=0)
        for name in ("nothing", "unknown"):
            assert mine["odds"][name] == pytest.approx(theirs["odds"][name], abs=NEAR, rel=0)
        assert mine["evidence"] == pytest.approx(theirs["evidence"], abs=NEAR, rel=0)
        assert mine["misfit"]["alarm"] == theirs["misfit"]["alarm"]
        assert mine["misfit"]["fits"] == pytest.approx(theirs["misfit"]["fits"], abs=NEAR, rel=0)
        assert mine["halt"] == theirs["halt"]
        for name, band in theirs["expected"].items():
            alike(mine["expected"][name], band)


@pytest.mark.parametrize("file", FILES, ids=lambda f: f.stem)
@pytest.mark.parametrize("kernel", [by_python, by_node])
def test_both_kernels_choose_the_same_action(file: Path, kernel: Any) -> None:
    for mine, theirs in zip(kernel(file), told(file), strict=True):
        if theirs["halt"]:
            continue
        keyed = [{(o["kind"], o["what"], o["at"]): o["promise"] for o in side["options"]} for side in (mine, theirs)]
        assert keyed[0] == pytest.approx(keyed[1], rel=NEAR)
        if margin(theirs["options"]) > MARGIN:
            assert mine["options"][0]["what"] == theirs["options"][0]["what"]


def alike(mine: dict[str, Any], theirs: dict[str, Any]) -> None:
    """Two bands agree."""
    assert mine["answers"] == pytest.approx(theirs["answers"], abs=NEAR)
    assert mine["over"] == pytest.approx(theirs["over"], abs=NEAR)
    for name in ("low", "middle", "high"):
        wanted = theirs[name]
        close = wanted if isinstance(wanted, str | None) else pytest.approx(wanted, rel=NEAR, abs=1e-12)
        assert mine[name] == close


def test_the_vectors_ask_for_all_that_matters() -> None:
    cases = [case for file in FILES for case in told(file)]
    rows = [r for case in cases for r in case["readings"]]
    assert {r["bound"] for r in rows} == {"above", "below", "exact"}
    assert any(r["answer"] == "not there" for r in rows) and any(r["value"] == "over" for r in rows)
    assert sum(margin(c["options"]) > MARGIN for c in cases if not c["halt"]) >= 2
    assert {o["kind"] for c in cases for o in c["options"]} == {"check", "repair", "order", "hand over", "end"}
