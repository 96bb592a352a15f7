"""Event records and their JSON."""

from __future__ import annotations

import json
import math
from dataclasses import FrozenInstanceError, dataclass, fields
from pathlib import Path
from typing import Any

import pytest
from call_maker import CALL, OPENING, event, event_id, reading
from hypothesis import given
from hypothesis import strategies as st
from job_maker import JOB_BODIES

from tundish.call import bodies, codec, doings, fold, moves
from tundish.call.errors import EventError
from tundish.call.events import Event
from tundish.call.kinds import KINDS, Kind, registry

TEXT = st.text(st.characters(codec="utf-8"), min_size=1).filter(str.strip)
NUMBERS = st.floats(allow_nan=False, allow_infinity=False)
READINGS = st.builds(
    bodies.ReadingTaken, TEXT, NUMBERS, st.none(), st.sampled_from(bodies.BOUNDS), TEXT, TEXT
)
BODIES = st.one_of(
    st.builds(
        bodies.CallOpened,
        TEXT,
        TEXT,
        TEXT,
        st.none() | st.floats(0, 60),
        st.lists(TEXT, max_size=3).map(tuple),
        TEXT,
    ),
    READINGS,
    st.builds(bodies.ReadingTaken, TEXT, st.none(), TEXT),
    st.builds(bodies.Corrected, st.just(event_id(1)), st.none() | READINGS, TEXT),
    st.builds(bodies.CircumstanceAdded, TEXT),
    st.builds(bodies.RepairDone, TEXT, TEXT),
    st.builds(bodies.NoteAdded, TEXT),
    st.builds(doings.StateClaimed, TEXT, TEXT, st.sampled_from(["any", "trained", "qualified"])),
    st.builds(doings.StateFound, st.just("power"), st.sampled_from(["on", "isolated"]), TEXT),
    st.builds(doings.CircumstanceDenied, TEXT),
    st.builds(doings.PartOrdered, TEXT, TEXT),
    st.builds(doings.PartTaken, TEXT, TEXT),
    st.builds(doings.HandedOver, TEXT, TEXT),
    st.builds(doings.CallEnded, st.sampled_from(doings.ENDINGS), TEXT),
    JOB_BODIES,
)


def there_and_back(one: Event) -> Event:
    return codec.read(codec.from_line(codec.to_line(codec.write(one))))


@given(BODIES)
def test_every_body_survives_a_line_of_json(body: bodies.Body) -> None:
    line = codec.to_line(codec.write(event(2, body)))
    assert "\n" not in line
    json.loads(line, parse_constant=lambda word: pytest.fail(f"{word} is not JSON"))
    assert there_and_back(event(2, body)) == event(2, body)


def test_the_form_of_a_line() -> None:
    """The form docs/call.md describes, field by field."""
    line = json.loads(
        codec.to_line(codec.write(event(2, bodies.ReadingTaken("C04", 1.4e-4, typed="8.4 L/min"))))
    )
    body = line.pop("body")
    assert line == {
        "id": event_id(2),
        "call": CALL,
        "at": "2025-11-24T16:00:00.002Z",
        "device": "van",
        "kind": "reading taken",
        "schema": 1,
    }
    assert body == {
        "check": "C04",
        "value": 1.4e-4,
        "answer": None,
        "bound": "exact",
        "typed": "8.4 L/min",
        "note": "",
    }


def test_the_line_in_the_docs_is_such_a_line() -> None:
    text = (Path(__file__).parents[2] / "docs" / "call.md").read_text(encoding="utf-8")
    shown = text[text.index('{"id"') : text.index("(one line in a file")]
    line = "".join(part.strip() for part in shown.splitlines())
    assert line == codec.to_line(codec.write(event(2, bodies.ReadingTaken("C04", 1.4e-4, typed="8.4 L/min"))))


def test_over_range_is_kept() -> None:
    over = event(2, bodies.ReadingTaken("W01", math.inf, bound="above", typed="OL"))
    assert json.loads(codec.write(over).body)["value"] == "over"
    assert there_and_back(over) == over
    corrected = event(3, bodies.Corrected(over.id, over.body))
    assert there_and_back(corrected) == corrected


def test_a_kind_of_a_newer_version_is_kept_word_for_word() -> None:
    text = '{"amount" : 12345678901234567890.00, "lines":[ 1, 2 ]}'
    row = codec.Written(event_id(1), CALL, "2026-11-25T09:30:00.000Z", "van", "quote given", 3, text)
    known = codec.read(row)
    assert known.body == bodies.Unknown("quote given", 3, '{"amount":12345678901234567890.00,"lines":[1,2]}')
    assert (known.kind, known.schema) == ("quote given", 3)
    assert there_and_back(known) == known
    assert "12345678901234567890.00" in codec.to_line(codec.write(known))


def test_a_newer_schema_of_a_known_kind_is_kept_too() -> None:
    row = codec.Written(
        event_id(1), CALL, "2026-11-25T09:30:00.000Z", "van", "note added", 2, '{"words":"x"}'
    )
    assert codec.read(row).body == bodies.Unknown("note added", 2, '{"words":"x"}')


def test_a_correction_may_hold_a_body_of_a_newer_version() -> None:
    newer = event(3, bodies.Corrected(event_id(1), bodies.Unknown("note added", 2, '{"words":"x"}')))
    assert there_and_back(newer) == newer


@dataclass(frozen=True)
class Later(bodies.Body):
    """A note as a later version may have it: renamed once, then with a language."""

    KIND = "note added"
    SCHEMA = 3
    words: str
    language: str


def _renamed(content: dict[str, Any]) -> dict[str, Any]:
    return {"words": content["text"]}


def _with_language(content: dict[str, Any]) -> dict[str, Any]:
    return {**content, "language": "unknown"}


def test_older_schemas_are_upgraded_when_read() -> None:
    kinds = {**KINDS, **registry(Kind(Later, (_renamed, _with_language)))}
    old = codec.write(event(1, bodies.NoteAdded("hello")))
    assert codec.read(old, kinds).body == Later("hello", "unknown")
    middle = codec.Written(old.id, old.call, old.at, old.device, old.kind, 2, '{"words":"hello"}')
    assert codec.read(middle, kinds).body == Later("hello", "unknown")


def test_a_kind_without_its_upgrades_is_refused() -> None:
    with pytest.raises(ValueError, match="saw 1 upgrades for 'note added' at schema 3"):
        registry(Kind(Later, (_renamed,)))


def test_every_kind_has_a_step_and_a_row_in_every_stage() -> None:
    assert set(fold.STEPS) == set(KINDS)
    for stage, row in moves.MOVES.items():
        assert set(row) == set(KINDS), stage


def test_records_are_frozen() -> None:
    with pytest.raises(FrozenInstanceError):
        event(1, OPENING).device = "other"  # type: ignore[misc]
    for kind in KINDS.values():
        assert kind.body.__dataclass_params__.frozen, kind  # type: ignore[attr-defined]
        assert fields(kind.body)  # type: ignore[arg-type]


def test_whole_numbers_are_written_like_others() -> None:
    assert codec.write(event(1, bodies.ReadingTaken("C04", 3))) == codec.write(
        event(1, bodies.ReadingTaken("C04", 3.0))
    )


BAD_BODIES = [
    (
        lambda: bodies.CallOpened("", "EU", "SLOW"),
        "saw family '' in a 'call opened' event; allowed: some text; give the family",
    ),
    (lambda: bodies.CallOpened("w", "EU", " "), "saw complaint ' '"),
    (lambda: bodies.CallOpened("w", "EU", "SLOW", -1), "saw age -1.0; allowed: 0 years or more, or none"),
    (lambda: bodies.CallOpened("w", "EU", "SLOW", math.nan), "saw age nan"),
    (
        lambda: bodies.CallOpened("w", "EU", "SLOW", None, "house move"),  # type: ignore[arg-type]
        "saw circumstances 'house move'",
    ),
    (lambda: bodies.CallOpened("w", "EU", "SLOW", None, ("",)), "saw circumstance ''"),
    (lambda: bodies.CallOpened("w", "EU", "SLOW", name=" x"), "saw call name ' x'"),
    (lambda: bodies.CallOpened("w", "EU", "SLOW", name="x" * 61), "up to 60 plain characters"),
    (lambda: bodies.CallOpened("w", "EU", "SLOW", name="a\nb"), "choose a shorter, plain name"),
    (lambda: bodies.ReadingTaken("C04"), "saw value None and answer None for 'C04'; allowed: one of the two"),
    (lambda: bodies.ReadingTaken("C04", 1.0, "torn"), "saw value 1.0 and answer 'torn'"),
    (
        lambda: bodies.ReadingTaken("C04", math.nan),
        "saw value nan, bound exact, for 'C04'; allowed: a finite number",
    ),
    (lambda: bodies.ReadingTaken("C04", -math.inf), "saw value -inf"),
    (lambda: bodies.ReadingTaken("C04", math.inf, bound="below"), "saw value inf, bound below"),
    (
        lambda: bodies.ReadingTaken("C04", 1.0, bound="about"),
        "saw bound 'about'; allowed: exact, above, below",
    ),
    (lambda: bodies.ReadingTaken("W15", None, "torn", "above"), "saw bound 'above' with answer 'torn'"),
    (lambda: bodies.ReadingTaken("", 1.0), "saw check ''"),
    (lambda: bodies.Corrected("C04"), "saw event id 'C04'; allowed: a UUID of version 7"),
    (
        lambda: bodies.Corrected(event_id(1), bodies.Corrected(event_id(2))),
        "saw a correction put in the place of event",
    ),
    (lambda: bodies.CircumstanceAdded(""), "saw name ''"),
    (lambda: bodies.RepairDone(""), "saw fault ''"),
    (lambda: bodies.NoteAdded("  "), "saw text '  '"),
    (lambda: doings.StateClaimed("prove dead", " "), "saw proof ' ' in a 'state claimed' event"),
    (lambda: doings.StateClaimed("prove dead", "0 V", "boss"), "allowed: any, trained, qualified"),
    (lambda: doings.StateFound("colour", "red"), "saw facet 'colour'"),
    (
        lambda: doings.StateFound("power", "half"),
        "saw power 'half' in a 'state found' event; allowed: on, isolated",
    ),
    (lambda: doings.StateFound("panel", ""), "saw panel ''"),
    (lambda: doings.CircumstanceDenied(""), "saw name ''"),
    (lambda: doings.PartOrdered(""), "saw fault ''"),
    (lambda: doings.PartTaken(""), "saw fault ''"),
    (lambda: doings.HandedOver("", "x"), "saw to ''"),
    (lambda: doings.HandedOver("a plumber", ""), "saw why ''"),
    (lambda: doings.CallEnded("fixed"), "saw ending 'fixed' in a 'call ended' event; allowed: proven"),
    (lambda: Event("x", "van", "2026-11-25T09:30:00.000Z", CALL, OPENING), "saw event id 'x'"),
    (lambda: Event(event_id(1), "", "2026-11-25T09:30:00.000Z", CALL, OPENING), "saw device ''"),
    (lambda: Event(event_id(1), "v\n", "2026-11-25T09:30:00.000Z", CALL, OPENING), "saw device 'v\\n'"),
    (lambda: Event(event_id(1), "van", "yesterday", CALL, OPENING), "saw moment 'yesterday'"),
    (lambda: Event(event_id(1), "van", "2026-11-25T09:30:00.000Z", "K7 F3", OPENING), "saw call id 'K7 F3'"),
]


@pytest.mark.parametrize(("make", "says"), BAD_BODIES, ids=[says for _, says in BAD_BODIES])
def test_a_wrong_record_is_refused_with_all_three_parts(make: Any, says: str) -> None:
    with pytest.raises(EventError) as refusal:
        make()
    text = str(refusal.value)
    assert says in text
    assert refusal.value.seen and refusal.value.allowed and refusal.value.do
    assert text == f"saw {refusal.value.seen}; allowed: {refusal.value.allowed}; {refusal.value.do}"


def test_an_older_row_with_blanks_reads_the_same() -> None:
    row = codec.write(event(2, reading(1e-4)))
    spaced = json.dumps(json.loads(row.body), indent=2)
    other = codec.Written(row.id, row.call, row.at, row.device, row.kind, row.schema, spaced)
    assert codec.read(other) == codec.read(row)
    assert codec.to_line(other) == codec.to_line(row)
