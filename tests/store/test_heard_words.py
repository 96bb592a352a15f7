"""Words of customers from events to counts: closed calls only, under the class the call was closed with."""

from __future__ import annotations

from dataclasses import replace
from itertools import count
from pathlib import Path

import pytest

from tundish.call.bodies import CallOpened, Corrected, NoteAdded
from tundish.call.doings import CallEnded
from tundish.history.learned import Learned, Provenance
from tundish.history.proposed import FEWEST
from tundish.history.teach import taught
from tundish.store.clock import Source
from tundish.store.events import open_events, record_all
from tundish.store.heard import heard, meant
from tundish.store.library import load
from tundish.store.taught import write_learned

WASHER = load("front-load washer")


def test_only_closed_calls_count_under_the_class_they_were_closed_with(tmp_path: Path) -> None:
    fresh = count(1_700_000_000_000, 60_000)
    source = Source(lambda: next(fresh), lambda many: next(fresh).to_bytes(many, "big"), "van")
    with open_events(tmp_path / "calls.sqlite") as file:
        for number in range(FEWEST + 2):
            opening = CallOpened(WASHER.family, "EU", "SLOW", 5.0, (), name=f"call {number}")
            first = file.open_call(opening, source)
            record_all(file, first.call, [NoteAdded("a pond in the kitchen"), NoteAdded("the pond again")], source)
            # The first one was taken for another class until it was seen; the last one is not closed
            fixed = replace(opening, complaint="LEAK")
            record_all(file, first.call, [Corrected(first.id, fixed, "seen")], source)
            if number <= FEWEST:
                record_all(file, first.call, [CallEnded("stopped")], source)
        found = heard(file)
    words, calls = found[WASHER.family]
    assert calls == {"LEAK": FEWEST + 1}
    assert words["LEAK"] == dict.fromkeys(["a", "again", "in", "kitchen", "pond", "the"], FEWEST + 1)


def test_a_learned_word_proposes_and_a_broken_file_does_not_stop_it(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TUNDISH_DATA", str(tmp_path))
    assert meant(WASHER, "EU", "pond") == []
    learned = replace(taught([], WASHER), words={"LEAK": {"pond": 9}}, said={"LEAK": 9})
    path = tmp_path / "learned.json"
    write_learned(path, Learned({WASHER.family: learned}, Provenance(9, "", "", 1, "")))
    assert meant(WASHER, "EU", "a pond")[0][0] == "LEAK"
    path.write_text("{")
    assert meant(WASHER, "EU", "pond") == [] and meant(WASHER, "EU", "does not drain")[0][0] == "NODRAIN"
