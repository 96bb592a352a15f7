"""The runner of the measurements: which it picks, what it shows, and how it takes a failure."""

from __future__ import annotations

import doctest
import re
from pathlib import Path
from types import SimpleNamespace

import pytest

from bench import run
from bench.run import Result

ROWS: list[run.Row] = [{"n": 1000, "time [s]": 0.0123456}, {"n": 10, "kind": "a|b"}]


def loaded(name: str) -> object:
    """A measurement made up for these tests."""
    if name.endswith("bad"):
        return SimpleNamespace(__doc__=None, run=lambda: 1 / 0)
    rows: list[run.Row] = [] if name.endswith("empty") else ROWS
    return SimpleNamespace(__doc__="Title of it.\n\nMore.", run=lambda: rows)


def test_examples_run() -> None:
    assert doctest.testmod(run).failed == 0


def test_names_are_picked(tmp_path: Path) -> None:
    for name in ("bench_water", "bench_network", "calibration", "run"):
        (tmp_path / f"{name}.py").touch()
    assert run.names(tmp_path, []) == ["bench_network", "bench_water"]
    assert run.names(tmp_path, ["net"]) == ["bench_network"]
    with pytest.raises(ValueError, match="saw 'calib'; known: bench_network, bench_water"):
        run.names(tmp_path, ["calib"])


def test_a_measurement_gives_its_rows() -> None:
    result = run.measure("bench_good", loaded)
    assert (result.title, result.rows, result.trouble) == ("Title of it", ROWS, "")


@pytest.mark.parametrize(
    ("name", "trouble"),
    [("bench_bad", "ZeroDivisionError: division by zero"), ("bench_empty", "gave no rows")],
)
def test_a_failed_measurement_says_why(name: str, trouble: str) -> None:
    assert run.measure(name, loaded).trouble == trouble


def test_a_missing_measurement_says_why() -> None:
    assert "bench_of_nothing" in run.measure("bench_of_nothing").trouble


def test_markdown_is_a_table() -> None:
    assert list(run.markdown(Result("bench_x", "Title", ROWS, 1.26)))[2:6] == [
        "| n | time [s] | kind |",
        "| --- | --- | --- |",
        "| 1000 | 0.01235 |  |",
        "| 10 |  | a\\|b |",
    ]


@pytest.mark.parametrize("as_markdown", [True, False])
def test_a_failure_does_not_stop_the_others(
    as_markdown: bool, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(run, "names", lambda folder, wanted: ["bench_bad", "bench_good"])
    monkeypatch.setattr(run, "measure", lambda name, measure=run.measure: measure(name, loaded))
    assert run.main(["--markdown"] if as_markdown else []) == 1
    printed = capsys.readouterr()
    assert "failed: ZeroDivisionError" in printed.out
    assert "0.01235" in printed.out
    assert "bench: failed: bench_bad" in printed.err


def test_every_measurement_of_the_project_can_be_run() -> None:
    sources = {path.name: path.read_text(encoding="utf-8") for path in run.HERE.glob("bench_*.py")}
    assert [name for name, text in sources.items() if not re.search(r"^def run\(", text, re.MULTILINE)] == []
    assert [name for name, text in sources.items() if not text.startswith('"""')] == []
