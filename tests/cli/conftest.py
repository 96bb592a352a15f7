"""Verbs run in a folder of their own, the simulated populations shared by all tests of a run."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from tundish.cli.main import main

Run = Callable[..., str]
WASHER = "front-load washer"
FEW = ("--machines", "4000")


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, tmp_path_factory: pytest.TempPathFactory) -> Run:
    """Runs a verb; data in a fresh folder, the cache shared."""
    monkeypatch.setenv("TUNDISH_DATA", str(tmp_path / "data"))
    monkeypatch.setenv("TUNDISH_CACHE", str(tmp_path_factory.getbasetemp() / "cli-cache"))

    def verb(*words: str, code: int = 0) -> str:
        result = CliRunner().invoke(main, words)
        assert result.exit_code == code, result.output
        return result.output

    return verb
