"""The fold: corrections, repairs, and that order, repeats and devices do not matter."""

from __future__ import annotations

import pytest
from call_maker import CALL, OPENING, event, event_id, reading
from hypothesis import given, settings
from hypothesis import strategies as st
from job_maker import MEETING

from tundish.call import bodies, doings
from tundish.call.errors import EventError
from tundish.call.events import Event
from tundish.call.fold import CallState, Readings, fold
from tundish.call.readings import Stage, for_odds, stages
from tundish.diagnosis.reading import Reading

Corrected = bodies.Corrected


def values(readings: Readings) -> list[float | None]:
    return [fact.body.value for fact in readings]


def call_of(*later: bodies.Body) -> list[Event]:
    """An opened call with these events numbered from 1."""
    return [event(number, body) for number, body in enumerate((OPENING, *later))]


def test_a_call_without_events_is_not_open() -> None:
    assert fold(()) == CallState("")
    assert fold(()).last is None


def test_a_plain_call() -> None:
    state = fold(
        call_of(reading(1.0), bodies.CircumstanceAdded("new hose"), bodies.NoteAdded("dog"), reading(2.0))
    )
    assert state.call == CALL
    assert state.opened is not None and state.opened.body == OPENING
    assert state.circumstances == ("house move", "new hose")
    assert values(state.readings) == [1.0, 2.0]
    assert [fact.body.text for fact in state.notes] == ["dog"]
    assert state.before == () and state.repairs == () and state.problems == () and state.unknown == ()
    assert state.last == event_id(4)


def test_readings_before_and_after_a_repair_are_told_apart() -> None:
    state = fold(
        call_of(reading(1.0), bodies.RepairDone("S04"), reading(2.0), bodies.RepairDone("S06"), reading(3.0))
    )
    assert values(state.readings) == [3.0]
    assert values(state.before) == [1.0, 2.0]
    assert [values(spell) for spell in state.spells] == [[1.0], [2.0], [3.0]]
    assert [fact.body.fault for fact in state.repairs] == ["S04", "S06"]


def test_a_withdrawn_repair_joins_the_readings_again() -> None:
    state = fold(
        call_of(
            reading(1.0), bodies.RepairDone("S04"), reading(2.0), Corrected(event_id(2), None, "not done")
        )
    )
    assert values(state.readings) == [1.0, 2.0]
    assert state.repairs == ()


def test_a_corrected_reading_keeps_its_place_and_says_so() -> None:
    state = fold(
        call_of(reading(1.0), reading(2.0), Corrected(event_id(1), reading(9.0), "read the wrong scale"))
    )
    assert values(state.readings) == [9.0, 2.0]
    first, second = state.readings
    assert (first.event, first.corrected) == (event_id(1), event_id(3))
    assert (second.event, second.corrected) == (event_id(2), None)


def test_a_withdrawn_reading_is_gone() -> None:
    assert values(fold(call_of(reading(1.0), reading(2.0), Corrected(event_id(1)))).readings) == [2.0]


def test_the_later_of_two_corrections_counts() -> None:
    events = call_of(reading(1.0), Corrected(event_id(1), reading(2.0)), Corrected(event_id(1), reading(3.0)))
    assert values(fold(events).readings) == [3.0]


def test_a_correction_can_be_corrected() -> None:
    events = call_of(reading(1.0), Corrected(event_id(1), reading(2.0)), Corrected(event_id(2), reading(3.0)))
    assert values(fold(events).readings) == [3.0]


def test_a_correction_can_be_undone() -> None:
    events = call_of(reading(1.0), Corrected(event_id(1), reading(2.0)), Corrected(event_id(2)))
    assert values(fold(events).readings) == [1.0]
    # ... and the undoing can be undone.
    assert values(fold([*events, event(4, Corrected(event_id(3)))]).readings) == [2.0]


def test_an_undone_correction_lets_the_one_before_it_stand() -> None:
    events = call_of(
        reading(1.0),
        Corrected(event_id(1), reading(2.0)),
        Corrected(event_id(1), reading(3.0)),
        Corrected(event_id(3)),
    )
    assert values(fold(events).readings) == [2.0]


def test_a_withdrawn_reading_can_come_back() -> None:
    events = call_of(reading(1.0), Corrected(event_id(1)), Corrected(event_id(2), reading(5.0)))
    assert values(fold(events).readings) == [5.0]


def test_a_corrected_opening_changes_what_is_known() -> None:
    other = bodies.CallOpened("front-load washer", "NA", "NOFILL", 2.0, ("new hose",))
    state = fold(call_of(bodies.CircumstanceAdded("hard water"), Corrected(event_id(0), other)))
    assert state.opened is not None and state.opened.body == other
    assert state.circumstances == ("new hose", "hard water")


def test_a_correction_by_a_device_whose_clock_is_behind_still_counts() -> None:
    events = [
        event(5, OPENING),
        event(9, reading(1.0)),
        event(2, Corrected(event_id(9), reading(2.0)), device="phone"),
    ]
    assert values(fold(events).readings) == [2.0]


def test_a_correction_without_its_target_waits_for_it() -> None:
    events = call_of(reading(1.0), Corrected(event_id(1), reading(2.0)))
    state = fold([events[0], events[2]])
    assert state.readings == ()
    assert [problem.event for problem in state.problems] == [event_id(2)]
    assert event_id(1) in state.problems[0].seen and "merge" in state.problems[0].do
    assert fold(events).problems == ()


def test_corrections_in_a_ring_are_reported_and_change_nothing() -> None:
    events = [*call_of(reading(1.0)), event(3, Corrected(event_id(4))), event(4, Corrected(event_id(3)))]
    state = fold(events)
    assert values(state.readings) == [1.0]
    assert {problem.event for problem in state.problems} == {event_id(3), event_id(4)}


def test_a_correction_of_itself_is_reported() -> None:
    state = fold([*call_of(), event(3, Corrected(event_id(3)))])
    assert [problem.event for problem in state.problems] == [event_id(3)]


def test_another_kind_cannot_take_the_place() -> None:
    state = fold(call_of(reading(1.0), Corrected(event_id(1), bodies.NoteAdded("x"))))
    assert values(state.readings) == [1.0]
    assert "'note added' put in the place of a 'reading taken'" in state.problems[0].seen


def test_a_second_opening_is_reported_and_the_first_counts() -> None:
    state = fold([*call_of(), event(3, bodies.CallOpened("other", "EU", "SLOW"))])
    assert state.opened is not None and state.opened.body == OPENING
    assert "second opening" in state.problems[0].seen


def test_what_is_not_understood_is_kept_aside() -> None:
    newer = bodies.Unknown("quote given", 1, "{}")
    state = fold(call_of(newer, reading(1.0)))
    assert [fact.body for fact in state.unknown] == [newer]
    assert values(state.readings) == [1.0]


def test_two_events_with_one_id_give_the_same_state_either_way() -> None:
    one, other = event(1, reading(1.0)), event(1, reading(2.0))
    assert fold([*call_of(), one, other]) == fold([other, one, *call_of()])
    assert "two different events" in fold([*call_of(), one, other]).problems[0].seen


def test_events_of_two_calls_are_refused() -> None:
    with pytest.raises(EventError, match="saw events of calls k7f3q0000000test, other; allowed: one call"):
        fold([event(0, OPENING), event(1, OPENING, call="other")])


def test_a_long_chain_of_corrections() -> None:
    """Each undoes the one before: far deeper than the call stack."""
    depth = 5000
    events = call_of(reading(1.0), *(Corrected(event_id(number)) for number in range(1, depth + 1)))
    # An odd number of withdrawals leaves the reading withdrawn; an even number lets it stand.
    assert values(fold(events).readings) == [1.0]
    assert values(fold(events[:-1]).readings) == []


def test_readings_as_the_odds_take_them() -> None:
    state = fold(
        call_of(bodies.ReadingTaken("W15", None, "torn"), bodies.ReadingTaken("C04", 1e-4, bound="above"))
    )
    assert for_odds(state.readings) == (Reading("W15", None, "torn"), Reading("C04", 1e-4, None, "above"))


def test_a_call_is_cut_at_its_repairs() -> None:
    """Repairs without a reading between them are one stage, the same repair again is another; the last stage always stands."""
    repair = bodies.RepairDone
    assert stages(fold(call_of())) == (Stage((), ()),)
    state = fold(
        call_of(reading(1.0), repair("S04"), repair("S06"), reading(2.0), repair("F01"), repair("F01"))
    )
    values = [(stage.repaired, [r.value for r in stage.readings]) for stage in stages(state)]
    assert values == [((), [1.0]), (("S04", "S06"), [2.0]), (("F01",), []), (("F01",), [])]


NUMBERS = st.integers(0, 14)
PLAIN = st.one_of(
    st.floats(0, 9, width=16).map(reading),
    st.sampled_from(["S04", "S06"]).map(bodies.RepairDone),
    st.sampled_from(["new hose", "hard water"]).map(bodies.CircumstanceAdded),
    st.just(bodies.NoteAdded("note")),
    st.just(bodies.Unknown("quote given", 1, "{}")),
    st.just(OPENING),
    st.sampled_from(
        ["look, smell and ask", "pull the plug", "prove dead", "energise", "open TOP", "close TOP", "no step"]
    ).map(lambda step: doings.StateClaimed(step, "seen")),
    st.sampled_from([("power", "on"), ("power", "dead"), ("hazard", "seen"), ("panel", "TOP")]).map(
        lambda pair: doings.StateFound(*pair)
    ),
    st.sampled_from(["new hose", "hard water"]).map(doings.CircumstanceDenied),
    st.sampled_from(["S04", "S06"]).map(doings.PartOrdered),
    st.sampled_from(["S04", "S06"]).map(doings.PartTaken),
    st.just(doings.HandedOver("a plumber", "pressure")),
    st.sampled_from(["proven", "stopped"]).map(doings.CallEnded),
    MEETING,
)
ANY = PLAIN | st.builds(Corrected, NUMBERS.map(event_id), st.none() | PLAIN)
# Whole calls of any sense: rings, clashing ids, corrections of what is not there, several openings.
EVENTS = st.lists(st.builds(event, NUMBERS, ANY, device=st.sampled_from(["van", "phone"])), max_size=16)


@settings(max_examples=300, deadline=None)
@given(EVENTS, st.data())
def test_order_repeats_and_devices_do_not_matter(events: list[Event], data: st.DataObject) -> None:
    whole = fold(events)
    assert fold(data.draw(st.permutations(events))) == whole
    repeats = data.draw(st.lists(st.sampled_from(events), max_size=8)) if events else []
    assert fold(data.draw(st.permutations(events + repeats))) == whole
    # Parted among devices, each part seen by its own device first, then brought together either way.
    sides = data.draw(st.lists(st.booleans(), min_size=len(events), max_size=len(events)))
    here = [one for one, side in zip(events, sides, strict=True) if side]
    there = [one for one, side in zip(events, sides, strict=True) if not side]
    assert fold(here + there) == fold(there + here) == whole
    if len({one.id for one in events}) == len(events):
        assert fold([*fold(here).events, *fold(there).events]) == whole


@settings(max_examples=200, deadline=None)
@given(st.lists(PLAIN, max_size=8), st.lists(st.tuples(NUMBERS, st.none() | PLAIN), max_size=10))
def test_the_fold_agrees_with_replaying_corrections_naively(
    plain: list[bodies.Body], fixes: list[tuple[int, bodies.Body | None]]
) -> None:
    """Referee: a recursive definition of what an event says, written without the fold's code."""
    events = [event(number, body) for number, body in enumerate(plain)]
    for step, (target, by) in enumerate(fixes, start=len(plain)):
        if target < step:
            events.append(event(step, Corrected(event_id(target), by)))

    def root(one: Event) -> Event:
        targets = [
            other for other in events if isinstance(one.body, Corrected) and other.id == one.body.target
        ]
        return root(targets[0]) if targets else one

    def says(one: Event) -> bodies.Body | None:
        """What is put in place: the body itself, or the replacement of a correction."""
        said = one.body.by if isinstance(one.body, Corrected) else one.body
        for fix in sorted(events, key=lambda other: other.id):
            if isinstance(fix.body, Corrected) and fix.body.target == one.id and alive(fix):
                put = says(fix)
                if put is None or put.kind == root(one).kind:
                    said = put
        return said

    def alive(fix: Event) -> bool:
        """Whether a correction was not itself withdrawn by the last correction of it that is alive."""
        verdicts = [
            says(other) is not None
            for other in events
            if isinstance(other.body, Corrected)
            and other.body.target == fix.id
            and alive(other)
            and (says(other) is None or says(other).kind == root(fix).kind)  # type: ignore[union-attr]
        ]
        return verdicts[-1] if verdicts else True

    expected = [
        said.value
        for one in events
        if isinstance(root(one).body, bodies.ReadingTaken) and root(one) is one
        for said in [says(one)]
        if isinstance(said, bodies.ReadingTaken)
    ]
    state = fold(events)
    assert values(tuple(fact for spell in state.spells for fact in spell)) == expected
