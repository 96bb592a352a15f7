"""Verbs run in a folder of their own, the simulated populations shared by all tests of a run."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from tundish.call.codec import body_from
from tundish.call.deals import ConsentGiven
from tundish.cli.main import main
from tundish.store.clock import system
from tundish.store.events import open_events
from tundish.store.folders import events_path

Run = Callable[..., str]
WASHER = "front-load washer"
FEW = ("--machines", "4000")
Agree = Callable[..., None]


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


@pytest.fixture
def agree(run: Run) -> Agree:
    """Puts a quote over these causes and the customer's consent to it into a call, as no verb of planning does."""

    def given(call: str, *faults: str, minor: int = 12_100) -> None:
        line = {
            "kind": "labour", "what": "work", "quantity": "1", "unit": "job", "each": minor, "net": minor,
            "tax_name": "", "tax_rate": "0", "tax": 0, "gross": minor,
        }  # fmt: skip
        facts = {
            "id": f"Q for {', '.join(faults)}", "faults": faults, "currency": "EUR", "lines": [line], "net": minor,
            "tax": 0, "gross": minor, "taxes": [], "chance_cures": 0.9, "options": [], "owed_if_refused": 0, "valid_until": "9999-12-30",
        }  # fmt: skip
        with open_events(events_path(), create=False) as calls:
            id = calls.resolve(call)
            quote = calls.record(id, body_from("quoted", facts), system("van"))
            calls.record(id, ConsentGiven(quote.id, "A. Smith", minor, "EUR", "spoken"), system("van"))

    return given
