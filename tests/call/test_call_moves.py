"""Which event may follow which."""

from __future__ import annotations

from pathlib import Path

import pytest
from call_maker import CALL, OPENING, agreed, event, event_id, quote, reading

from tundish.call import bodies, closing, deals, doings, fixing, moves
from tundish.call.errors import MoveError
from tundish.call.fold import CallState, fold

Corrected = bodies.Corrected
EMPTY = fold(())
OTHERS = [
    reading(1.0),
    bodies.RepairDone("S04"),
    deals.ConsentRefused(0, "EUR"),
    fixing.StepDone("S04", "new washer"),
    fixing.PartUsed("hose washer", "S04"),
    quote("S04", id="Q2"),
    closing.FollowUpSet("2025-12-01", "ask how it runs"),
    bodies.NoteAdded("x"),
    bodies.CircumstanceAdded("new hose"),
    Corrected(event_id(0)),
]


def state_of(*later: bodies.Body) -> CallState:
    return fold(event(number, body) for number, body in enumerate((OPENING, *later)))


def refused(state: CallState, body: bodies.Body) -> MoveError:
    with pytest.raises(MoveError) as refusal:
        moves.check(state, body)
    assert refusal.value.seen and refusal.value.allowed and refusal.value.do
    return refusal.value


def test_a_call_opens_once() -> None:
    moves.check(EMPTY, OPENING)
    error = refused(state_of(), OPENING)
    assert str(error).startswith(
        f"saw 'call opened' while call {CALL} is open; allowed: reading taken, corrected"
    )
    assert "correct the opening" in error.do


@pytest.mark.parametrize("body", OTHERS, ids=lambda body: body.kind)
def test_nothing_comes_before_the_opening(body: bodies.Body) -> None:
    error = refused(EMPTY, body)
    assert (error.allowed, error.do) == ("call opened", "open the call first")


@pytest.mark.parametrize("body", OTHERS[:-1], ids=lambda body: body.kind)
def test_an_open_call_takes_everything_else(body: bodies.Body) -> None:
    moves.check(state_of(*agreed(1, "S04"), doings.PartTaken("S04")), body)


def test_a_call_opened_by_a_newer_version_asks_for_the_update() -> None:
    assert "update this program" in refused(state_of_newer(), reading(1.0)).do


def state_of_newer() -> CallState:
    return fold([event(0, bodies.Unknown("call opened", 2, "{}"))])


def test_an_unknown_kind_is_not_recorded() -> None:
    assert "update this program" in refused(state_of(), bodies.Unknown("quote given", 1, "{}")).do


def test_a_circumstance_is_told_once() -> None:
    assert "already told" in refused(state_of(), bodies.CircumstanceAdded("house move")).seen


def test_a_correction_needs_its_target() -> None:
    error = refused(state_of(reading(1.0)), Corrected(event_id(7), reading(2.0)))
    assert event_id(7) in error.seen and "one of the 2 events" in error.allowed


def test_a_correction_keeps_the_kind() -> None:
    state = state_of(reading(1.0), Corrected(event_id(1), reading(2.0)))
    for target in (1, 2):
        moves.check(state, Corrected(event_id(target), reading(3.0)))
        assert (
            "'note added' in the place of 'reading taken'"
            in refused(state, Corrected(event_id(target), bodies.NoteAdded("x"))).seen
        )


def test_a_correction_changes_something() -> None:
    state = state_of(reading(1.0), Corrected(event_id(1), reading(2.0)))
    assert "changes nothing" in refused(state, Corrected(event_id(1), reading(2.0))).seen
    assert "changes nothing" in refused(state, Corrected(event_id(2), reading(2.0))).seen
    moves.check(state, Corrected(event_id(1), reading(1.0)))


def test_the_opening_may_be_replaced_but_not_withdrawn() -> None:
    moves.check(state_of(), Corrected(event_id(0), bodies.CallOpened("front-load washer", "NA", "SLOW")))
    assert "the opening replaced by another" in refused(state_of(), Corrected(event_id(0))).allowed


def test_an_event_is_withdrawn_once_and_may_come_back() -> None:
    state = state_of(reading(1.0), Corrected(event_id(1)))
    assert "withdraw the withdrawal" in refused(state, Corrected(event_id(1))).do
    moves.check(state, Corrected(event_id(2)))
    moves.check(state, Corrected(event_id(1), reading(1.0)))


def test_the_table_in_the_docs_is_the_table() -> None:
    text = (Path(__file__).parents[2] / "docs" / "call.md").read_text(encoding="utf-8")
    for kind in moves.MOVES[moves.OPEN]:
        cells = [moves.MOVES[stage][kind] for stage in moves.MOVES]
        row = " | ".join("yes" if move.legal else f"no: {move.do}" for move in cells)
        assert f"| {kind} | {row} |" in text
