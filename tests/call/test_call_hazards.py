"""A danger that was read, told or answered stops the work; its correction lifts it. From the reading on, for every family."""

import numpy as np
import pytest

from tundish.call.asking import QuestionAnswered
from tundish.call.bodies import CallOpened, CircumstanceAdded, Corrected, ReadingTaken
from tundish.call.doing import Said, doing
from tundish.call.doings import CallEnded, StateClaimed
from tundish.call.errors import MoveError
from tundish.call.events import Event
from tundish.call.fold import fold
from tundish.call.hazards import check_below, hazards, safety_of
from tundish.call.identity import moment, uuid7
from tundish.call.lawful import before_reading
from tundish.diagnosis.notices import asks
from tundish.diagnosis.reading import Reading
from tundish.population.build import healthy, world
from tundish.store.counsel import halted
from tundish.store.library import load

START = 1_764_000_000_000
FAMILIES = (
    "front-load washer", "top-load washer", "dishwasher", "dryer", "oven and hob", "refrigerator-freezer",
)  # fmt: skip
SEEN = Said("0 V on all pairs, tester proved before and after", "seen")
# Reading that shows a danger, and a word of what to do. Source: the trade's cases X1, X2, X4, and its table of hazards (CP).
READ = [
    ("dryer", ReadingTaken("C6.frame", 119.0), "electrician", False),
    ("dryer", ReadingTaken("C7.gas", answer="smell"), "gas emergency line", True),
    ("oven and hob", ReadingTaken("C7.smell", answer="gas"), "gas emergency line", True),
    ("oven and hob", ReadingTaken("C7.smell", answer="burnt"), "electrician", False),
    ("oven and hob", ReadingTaken("MW.cover", answer="yes"), "specialist workshop", False),
    ("oven and hob", ReadingTaken("MW.door", answer="damaged"), "specialist workshop", False),
    ("refrigerator-freezer", ReadingTaken("C7", answer="burnt"), "electrician", False),
]


def call(family, *bodies):
    """A call of a family with these events."""
    description = load(family)
    market = next(iter(description.markets))
    opening = CallOpened(family, market, next(iter(description.complaints)))
    return description, with_more(fold(()), opening, *bodies)


def with_more(state, *bodies):
    for body in bodies:
        number = len(state.events)
        made = Event(
            uuid7(START + number, bytes(10)), "van", moment(START + number), "k7f3q0000000test", body
        )
        state = fold((*state.events, made))
    return state


def do(description, state, *words):
    for said in words:
        state = with_more(state, *doing(description, state, said, SEEN))
    return state


@pytest.mark.parametrize(("family", "shown", "to", "untouched"), READ, ids=[r[1].check for r in READ])
def test_a_reading_that_shows_a_danger_stops_all_work_below_it(family, shown, to, untouched):
    description, state = call(family, StateClaimed("look, smell and ask", "seen"), shown)
    said = halted(state, description)
    assert said.startswith("Stop:") and shown.check in said and to in said
    fault = next(f for f, record in description.faults.items() if record.kind == "wear")
    for words in (
        f"repair {fault}",
        f"order {fault}",
        f"take {fault}",
        "tested works",
        "open BACK",
        "energise",
    ):
        with pytest.raises(MoveError):
            doing(description, state, words, SEEN)
    for check in description.checks.values():
        with pytest.raises(MoveError, match="make it safe"):
            before_reading(description, check, safety_of(description, state))
    for how in ("proven", "nothing wrong", "replaced"):
        with pytest.raises(MoveError):
            check_below(description, state, CallEnded(how))
    if untouched:
        with pytest.raises(MoveError, match="not even its plug"):
            do(description, state, "pull the plug")
    else:
        with pytest.raises(MoveError, match="out of use"):
            do(description, state, "hand over to somebody", "end handed over")
        state = do(description, state, "pull the plug", "put out of use")
    state = do(description, state, "hand over to somebody", "end handed over")
    assert state.ended.body.as_ == "handed over" and not state.problems


@pytest.mark.parametrize(("family", "shown", "to", "untouched"), READ, ids=[r[1].check for r in READ])
def test_the_correction_of_the_reading_lifts_it(family, shown, to, untouched):
    description, state = call(family, shown)
    assert hazards(description, state)
    lifted = with_more(state, Corrected(state.readings[-1].event, None, "read at the wrong place"))
    assert not hazards(description, lifted)
    assert halted(lifted, description) == ""
    assert safety_of(description, lifted) is None


@pytest.mark.parametrize("family", FAMILIES)
@pytest.mark.parametrize(
    ("answer", "to"),
    [
        ("burning", "electrician"),
        ("gas", "gas emergency line"),
        ("shock", "electrician"),
        ("water near the socket", ""),
    ],
)
def test_an_answer_that_means_a_danger_stops_every_family(family, answer, to):
    description, state = call(family, QuestionAnswered("danger", answer))
    assert to in halted(state, description)
    with pytest.raises(MoveError):
        doing(description, state, f"repair {next(iter(description.faults))}", SEEN)
    # Nobody was there: it is handed over, and the call ends, without a step at the machine
    ended = do(description, state, "hand over to somebody", "end handed over")
    assert ended.ended is not None
    harmless = call(family, QuestionAnswered("danger", "none"))
    assert halted(harmless[1], harmless[0]) == ""


def test_a_danger_told_as_a_circumstance_and_a_pierced_circuit():
    description, state = call("dryer", CircumstanceAdded("smell of gas"))
    assert "gas emergency line" in halted(state, description)
    description, state = call("refrigerator-freezer", QuestionAnswered("danger", "pierced pipe"))
    assert "refrigerant" in halted(state, description)


@pytest.mark.parametrize("family", FAMILIES)
def test_no_healthy_machine_of_any_market_shows_a_danger(family):
    """What stops the work may not be what a good machine reads: at most 1 in 200, by eye and nose 1 in 20. Our choice."""
    description = load(family)
    # What a customer wishes to have done is no property of a machine
    stopping = [n for n in description.notices.values() if n.halts and n.checks != ("MW.cover",)]
    for market in description.markets:
        place = world(description, market)
        rows = dict(zip(description.checks, healthy(place, 2_000, 3), strict=True))
        for notice in stopping:
            for name in notice.checks:
                check = description.checks[name]
                if any(not _there(place, p, v) for p, v in check.requires.items()):
                    continue
                fires = [asks(notice, _as_read(check, value)) for value in rows[name]]
                assert np.mean(fires) <= (0.05 if check.is_look else 0.005), (
                    f"{market}: {notice.name} by {name}"
                )


def _there(place, parameter, name):
    record = place.description.markets[place.market].parameters.get(parameter)
    names = place.description.parameters[parameter].names
    weights = dict(
        zip(names, (record or place.description.parameters[parameter].distribution).numbers, strict=False)
    )
    return weights.get(name, 1.0) > 0


def _as_read(check, value):
    if check.is_look:
        return Reading(check.id, answer=check.answers[int(value)].name)
    return Reading(check.id, float(value))
