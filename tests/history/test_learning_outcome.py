"""A closed call becomes a record: what was found, how proven, what it took; and no word of the customer."""

from __future__ import annotations

from dataclasses import replace

import msgspec
import pytest
from closed_maker import CALL, DAY, PRIVATE, asked, at, back, refused, repaired, state_of
from hypothesis import given
from hypothesis import strategies as st

from tundish.call import asking, bodies, doings
from tundish.history.errors import HistoryError
from tundish.history.noisy import right_after
from tundish.history.outcome import Found, Watch, callbacks, closed, weights
from tundish.population.hypotheses import NOTHING

STATED = {"S04": 0.7, "F01": 0.2, NOTHING: 0.1}
QUIET = Watch(at(120 + 40 * DAY))


def test_a_proven_repair() -> None:
    found = closed(state_of(repaired()), QUIET, stated=STATED, proof={"S04": 0.97})
    assert found.causes == (Found("S04", "proven", 0.97),)
    assert (found.family, found.market, found.complaint, found.age, found.circumstances) == (
        "toy", "EU", "SLOW", 6.0, ("house move",),
    )  # fmt: skip
    assert found.named == ("S04", 0.7)
    assert found.proven == "S04"
    assert (found.visits, found.minutes, found.asked) == (1, 59.0, 20.0)
    # From the consent to the repair
    assert found.repairs == (("S04", 18.0),)
    assert found.checks == (("C04", 1.4e-4, 0), ("C10", "grit", 0), ("C04", 2e-4, 1))
    assert found.parts == (("inlet screen", "S04", 1),)
    assert (found.money.revenue, found.money.labour, found.money.parts, found.money.due) == (
        10_000,
        6_000,
        4_000,
        0,
    )
    assert found.days == pytest.approx(40)
    assert weights(found) == {"S04": right_after(0.97, called_back=False, days=40)}


def test_an_unproven_repair_counts_by_the_odds_stated_before() -> None:
    found = closed(state_of(repaired("unproven")), QUIET, stated=STATED, proof={"S04": 0.97})
    assert found.causes == (Found("S04", "unproven", 0.7),)
    assert found.proven is None
    assert weights(found)["S04"] < 0.85


def test_a_repair_nobody_gave_odds_for_does_not_count() -> None:
    found = closed(state_of(repaired("unproven")), QUIET, stated={"F01": 1.0})
    assert weights(found) == {"S04": 0.0}


def test_nothing_wrong_is_not_proven() -> None:
    state = state_of([*asked()[:-1], (80, doings.CallEnded("nothing wrong"))])
    found = closed(state, QUIET, stated=STATED)
    assert found.causes == (Found(NOTHING, "unproven", 0.1),)


def test_a_refusal() -> None:
    found = closed(state_of(refused()), QUIET, stated=STATED)
    assert (found.quoted, found.refused, found.causes) == (True, True, ())
    # Half of the quote is owed, and its tax in proportion
    assert (found.money.revenue, found.money.labour, found.money.parts, found.money.due) == (
        5_000,
        5_000,
        0,
        6_050,
    )


def test_a_part_that_had_to_be_fetched_is_a_second_visit() -> None:
    timed = [
        *asked()[:-1],
        (70, doings.PartOrdered("S04")),
        (3 * DAY, doings.PartTaken("S04")),
        (3 * DAY + 10, bodies.ReadingTaken("C04", 1.4e-4)),
        (3 * DAY + 30, bodies.RepairDone("S04")),
        (3 * DAY + 40, bodies.ReadingTaken("C04", 2e-4)),
        (3 * DAY + 45, doings.CallEnded("proven")),
    ]
    found = closed(state_of(timed), QUIET, stated=STATED)
    assert (found.visits, found.minutes) == (2, 4.0 + 35.0)
    assert found.repairs == (("S04", 20.0),)


def test_the_first_callback_with_the_same_complaint_counts() -> None:
    calls = [
        state_of(repaired()),
        state_of(back(CALL, day=20), "late"),
        state_of(back(CALL, day=10), "soon"),
        state_of(back(CALL, "NOISE", day=3), "another"),
        state_of(back("k7f3q00000gone00", day=3), "stranger"),
    ]
    assert callbacks(calls) == {CALL: at(10 * DAY)}
    found = closed(calls[0], Watch(QUIET.until, at(10 * DAY)), stated=STATED, proof={"S04": 0.85})
    assert found.called_back
    assert found.days == pytest.approx(10 - 2 / 24)
    assert weights(found)["S04"] == pytest.approx(0.2918, abs=5e-5)


def test_a_callback_after_the_window_shows_a_quiet_window() -> None:
    found = closed(state_of(repaired()), Watch(QUIET.until, at(35 * DAY)), stated=STATED, proof={"S04": 0.85})
    assert weights(found)["S04"] == pytest.approx(0.9236, abs=5e-5)


@given(st.floats(0, 1), st.floats(0, 400), st.booleans())
def test_no_call_counts_more_than_it_may(chance: float, days: float, is_back: bool) -> None:
    found = closed(state_of(repaired()), QUIET, stated=STATED, proof={"S04": chance})
    weight = weights(replace(found, days=days, called_back=is_back))["S04"]
    assert 0 <= weight <= 1
    assert weight < 1 or chance > 0.999999
    # Watching may lift a quiet call a little and must not lift one that came back
    assert weight <= chance + 1e-12 if is_back and days <= 30 else weight >= chance - 1e-12


def test_an_open_call_is_refused() -> None:
    for timed in (asked(), asked()[1:]):
        with pytest.raises(HistoryError, match="close the call first"):
            closed(state_of(timed), QUIET, stated=STATED)


@given(
    st.lists(
        st.text(st.characters(codec="utf-8", categories=["L"]), min_size=12, max_size=20),
        min_size=9,
        max_size=9,
    )
)
def test_no_word_of_the_customer_gets_in(words: list[str]) -> None:
    private = [f"#{word}@#" for word in words]
    timed = [
        *repaired(),
        (130, asking.CustomerNamed(*private[:6])),
        (131, bodies.NoteAdded(private[6])),
        (132, asking.PhotoKept(private[7], "close", "0" * 64, "image/jpeg", 10)),
        (62, asking.MachineSeen(private[8], private[8])),
    ]
    text = msgspec.json.encode(closed(state_of(timed), QUIET, stated=STATED, proof={"S04": 0.9})).decode()
    assert not [word for word in (*private, *PRIVATE, "0" * 64, "blue door") if word in text]
