"""Export, import and merge: nothing added, nothing lost, bad lines named."""

from __future__ import annotations

import json
import random
from pathlib import Path
from typing import Any

import pytest
from store_maker import filled, reading, source

from tundish.call import bodies
from tundish.call.fold import fold
from tundish.store.errors import StoreError
from tundish.store.events import EventFile, Taken, open_events
from tundish.store.lines import LONGEST_LINE, export, import_from, import_lines
from tundish.store.merge import merge

GOOD: dict[str, Any] = {
    "id": "019ab6d9-3002-7000-8000-000000000000",
    "call": "k7f3q0",
    "at": "2026-11-25T09:30:00.000Z",
    "device": "van",
    "kind": "reading taken",
    "schema": 1,
    "body": {"check": "C04", "value": 1.0},
}


def line(**changes: Any) -> bytes:
    return json.dumps({**GOOD, **changes}).encode()


def without(field: str) -> bytes:
    return json.dumps({name: value for name, value in GOOD.items() if name != field}).encode()


TWICE = line()[:-1] + b', "device": "phone"}'
BAD_LINES = [
    (b"hello", "Expecting value at character 1;"),
    (b"{", "Expecting property name"),
    (line()[:80], "Unterminated string"),
    (b"[1, 2]", "Expected `object`, got `array`"),
    (b"null", "Expected `object`, got `null`"),
    (b"\xff\xfe" + line(), "can't decode byte 0xff"),
    (line() + line(), "Extra data"),
    (TWICE, "field 'device' stands there twice"),
    (without("id"), "missing required field `id`"),
    (without("body"), "missing required field `body`"),
    (line(colour="red"), "unknown field `colour`"),
    (line(id="7"), "saw event id '7'; allowed: a UUID of version 7"),
    (line(id="019ab6d9-3002-4000-8000-000000000000"), "a UUID of version 7"),
    (line(at="25.11.2026 9:30"), "saw moment '25.11.2026 9:30'; allowed: ISO 8601"),
    (line(call="Blue door"), "saw call id 'Blue door'"),
    (line(device=""), "saw device ''"),
    (line(schema="1"), "Expected `int`, got `str` - at `$.schema`"),
    (line(schema=0), "saw kind 'reading taken', schema 0"),
    (line(kind=""), "saw kind '', schema 1"),
    (line(body=3), "saw body 3 of 'reading taken'; allowed: a JSON object"),
    (line(body={"check": "C04", "value": "8.4 L/min"}), "Expected `float | null`, got `str` - at `$.value`"),
    (
        line(body={"check": "C04", "value": 1.0, "unit": "L"}),
        "saw field 'unit' in a 'reading taken' body; allowed: check, value",
    ),
    (line(body={"check": "C04"}), "saw value None and answer None for 'C04'"),
    (line(body={"value": 1.0}), "missing required field `check`"),
    (line(body={"check": "C04", "value": 1.0, "bound": "about"}), "saw bound 'about'"),
    (line().replace(b"1.0", b"NaN"), "JSON is malformed"),
    (line().replace(b"1.0", b"1e999"), "Number out of range"),
    (line(kind="corrected", body={"target": "x"}), "saw event id 'x'"),
    (
        line(kind="corrected", body={"target": GOOD["id"], "by": {"check": "C04"}}),
        "saw replacing body {'check': 'C04'}",
    ),
    (
        line(kind="corrected", body={"target": GOOD["id"], "by": {"kind": 1, "schema": 1, "body": {}}}),
        "saw kind 1",
    ),
    (
        line(
            kind="corrected",
            body={"target": GOOD["id"], "by": {"kind": "note added", "schema": 1, "body": {}}},
        ),
        "field `text`",
    ),
    (b"[" * 100_000, "recursion"),
    (b'{"id": "' + b"x" * LONGEST_LINE, "bytes long"),
]


@pytest.fixture
def file(tmp_path: Path) -> Any:
    with open_events(tmp_path / "calls.sqlite") as opened:
        yield opened


@pytest.mark.parametrize(("bad", "says"), BAD_LINES, ids=[says for _, says in BAD_LINES])
def test_a_bad_line_is_refused_by_its_number_and_the_others_are_kept(
    file: EventFile, bad: bytes, says: str
) -> None:
    before, after = line(), line(id="019ab6d9-3003-7000-8000-000000000000")
    taken = import_lines(file, [before, b"", bad, after])
    assert (taken.added, taken.known) == (2, 0)
    assert [refusal.where for refusal in taken.refused] == ["line 3"]
    why = taken.refused[0].why
    assert says.lower() in why.lower()
    assert why.startswith("saw ") and "; allowed: " in why
    assert len(why) < 500
    assert [event.id for event in file.events_of("k7f3q0")] == [
        GOOD["id"],
        "019ab6d9-3003-7000-8000-000000000000",
    ]


def test_all_bad_lines_in_one_file_each_named(file: EventFile, tmp_path: Path) -> None:
    mixed = tmp_path / "mixed.jsonl"
    mixed.write_bytes(b"\n".join([bad for bad, _ in BAD_LINES] + [line()]))
    taken = import_from(file, mixed)
    assert taken.added == 1
    assert [refusal.where for refusal in taken.refused] == [f"line {n}" for n in range(1, len(BAD_LINES) + 1)]


def test_a_mark_before_the_first_line_and_dos_line_ends_are_fine(file: EventFile) -> None:
    text = b"\xef\xbb\xbf" + line() + b"\r\n" + line(id="019ab6d9-3003-7000-8000-000000000000") + b"\r\n"
    assert import_lines(file, text.split(b"\n")) == Taken(2, 0)


def test_a_different_event_with_the_same_id_is_named_and_ours_kept(file: EventFile) -> None:
    import_lines(file, [line()])
    taken = import_lines(file, [line(), line(device="phone")])
    assert (taken.added, taken.known) == (0, 1)
    assert taken.refused[0].where == "line 2" and "that one was kept" in taken.refused[0].why
    assert file.events_of("k7f3q0")[0].device == "van"


def test_spacing_and_order_of_fields_do_not_make_a_different_event(file: EventFile) -> None:
    import_lines(file, [line()])
    spaced = json.dumps(dict(reversed(GOOD.items())), indent=None, separators=(" , ", " : ")).encode()
    assert import_lines(file, [spaced]) == Taken(0, 1)


def test_an_export_imports_to_the_same_calls(file: EventFile, tmp_path: Path) -> None:
    calls = [filled(file, 4, given=source(seed)) for seed in (1, 2)]
    newer = line(
        id="019ab6d9-3009-7000-8000-000000000000", kind="quote given", schema=2, body={"amount": 12.50}
    )
    import_lines(file, [newer])
    out = tmp_path / "all.jsonl"
    assert export(file, out) == 11
    with open_events(tmp_path / "copy.sqlite") as copy:
        assert import_from(copy, out) == Taken(11, 0)
        assert import_from(copy, out) == Taken(0, 11)
        for call in (*calls, "k7f3q0"):
            assert copy.events_of(call) == file.events_of(call)
            assert fold(copy.events_of(call)) == fold(file.events_of(call))
        again = tmp_path / "again.jsonl"
        export(copy, again)
        assert again.read_bytes() == out.read_bytes()


def test_one_call_can_be_exported_alone(file: EventFile, tmp_path: Path) -> None:
    call = filled(file, given=source(1))
    filled(file, given=source(2))
    out = tmp_path / "one.jsonl"
    assert export(file, out, call) == 4
    assert {json.loads(row)["call"] for row in out.read_text().splitlines()} == {call}


def test_two_devices_meet(tmp_path: Path) -> None:
    """One call, worked on apart on two devices, then merged both ways: the same state on both."""
    here, there = tmp_path / "van.sqlite", tmp_path / "phone.sqlite"
    with open_events(here) as van:
        call = filled(van, 2)
    with open_events(there) as phone:
        assert merge(phone, here) == Taken(3, 0)
        wrong = phone.events_of(call)[1]
        # The phone's clock is a day behind.
        clock = source(7, "phone", start=1_763_900_000_000)
        phone.record(call, bodies.Corrected(wrong.id, reading(8.0)), clock)
        phone.record(call, bodies.CircumstanceAdded("new hose"), clock)
        filled(phone, 1, given=clock)
    with open_events(here) as van:
        van.record(call, reading(5.0), source(9))
        assert merge(van, there) == Taken(4, 3)
        assert merge(van, there) == Taken(0, 7)
        state = fold(van.events_of(call))
    with open_events(there) as phone:
        assert merge(phone, here) == Taken(1, 7)
        assert fold(phone.events_of(call)) == state
        assert len(phone.calls()) == 2
    assert sorted(fact.body.value for fact in state.readings if fact.body.value is not None) == [
        1.0,
        5.0,
        8.0,
    ]
    assert state.circumstances == ("new hose",)


def test_merge_reads_the_other_file_only(tmp_path: Path) -> None:
    other = tmp_path / "other.sqlite"
    with open_events(other) as phone:
        filled(phone)
    before, when = other.read_bytes(), other.stat().st_mtime_ns
    with open_events(tmp_path / "mine.sqlite") as mine:
        merge(mine, other)
        with pytest.raises(StoreError, match="saw no file"):
            merge(mine, tmp_path / "absent.sqlite")
    assert (other.read_bytes(), other.stat().st_mtime_ns) == (before, when)
    assert not (tmp_path / "absent.sqlite").exists()


def test_many_files_in_any_order_give_one_union(tmp_path: Path) -> None:
    with open_events(tmp_path / "whole.sqlite") as whole:
        call = filled(whole, 12)
        events = whole.events_of(call)
    draw = random.Random(4)
    for name in "abc":
        with open_events(tmp_path / f"{name}.sqlite") as part:
            part.append(draw.sample(events, 7))
    unions = []
    for order in ("abc", "cab", "bcab"):
        with open_events(tmp_path / f"union-{order}.sqlite") as union:
            for name in order:
                merge(union, tmp_path / f"{name}.sqlite")
            unions.append(union.events_of(call))
    assert unions[0] == unions[1] == unions[2]
    assert set(unions[0]) <= set(events)
