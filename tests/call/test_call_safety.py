"""The safety state as a fold over steps: what is refused and with which cure, and that a merge never makes it safer."""

from __future__ import annotations

from itertools import product

import pytest
from call_maker import OPENING, agreed, event, event_id, reading
from hypothesis import given, settings
from hypothesis import strategies as st

from tundish.call import bodies, moves
from tundish.call.deals import ConsentRefused
from tundish.call.doings import (
    ENDINGS,
    CallEnded,
    CircumstanceDenied,
    HandedOver,
    PartOrdered,
    PartTaken,
    StateClaimed,
    StateFound,
)
from tundish.call.errors import MoveError
from tundish.call.fold import CallState, fold
from tundish.call.safety import ARRIVAL, claimed
from tundish.plan.states import STEPS, Safety

LOOK, PLUG, DEAD = "look, smell and ask", "pull the plug", "prove dead"


def step(name: str, who: str = "trained") -> StateClaimed:
    return StateClaimed(name, "seen", who)


def steps(*names: str) -> list[StateClaimed]:
    return [step(name) for name in names]


def state_of(*later: bodies.Body) -> CallState:
    return fold(event(number, body) for number, body in enumerate((OPENING, *later)))


def safety_of(*later: bodies.Body) -> Safety:
    found = state_of(*later).safety
    assert found is not None
    return found


def refused(body: bodies.Body, *later: bodies.Body) -> MoveError:
    with pytest.raises(MoveError) as refusal:
        moves.check(state_of(*later), body)
    return refusal.value


def recorded(*later: bodies.Body) -> CallState:
    """A call whose every event passes the moves."""
    state = state_of()
    for number in range(len(later)):
        moves.check(state, later[number])
        state = state_of(*later[: number + 1])
    return state


def test_nothing_is_tracked_until_the_first_step() -> None:
    assert state_of(reading(1.0), bodies.RepairDone("S04")).safety is None
    assert safety_of(step(PLUG)) == Safety("isolated", hazard="unknown")


def test_steps_of_a_visit() -> None:
    state = recorded(
        *steps(LOOK, PLUG, "shut the taps", "let off the pressure", DEAD, "open TOP", "close TOP"),
        *steps("energise", "open the taps", "return to use"),
    )
    assert state.safety == Safety(use="returned to use")
    assert [fact.body.step for fact in state.steps if isinstance(fact.body, StateClaimed)][
        3
    ] == "let off the pressure"
    assert state.problems == ()


REFUSALS = [
    (step(DEAD), (step(PLUG), step(DEAD)), "power dead", "leave it; power is dead already"),
    (step(DEAD), (step(LOOK),), "needs power isolated", "first: pull the plug"),
    (step("discharge"), (step(LOOK),), "needs power dead", "first: pull the plug, then prove dead"),
    (step("open TOP"), (step(LOOK),), "power is on, must be dead or discharged or isolated", "first: pull the plug"),
    (step("energise"), (step(PLUG),), "hazard is unknown", f"first: {LOOK}"),
    (step("energise"), steps(LOOK, PLUG, "open TOP"), "panels is open, must be closed", "first: close TOP"),
    (step("open TOP"), steps(LOOK, PLUG, "open TOP"), "it is open already", "leave it"),
    (step("close TOP"), steps(LOOK, PLUG), "needs panels TOP", "record what was found"),
    (step(DEAD, "any"), (step(PLUG),), "only for somebody trained", "leave it to somebody trained"),
    (step("energise open, leads clipped on dead"), steps(LOOK, PLUG, DEAD), "only for somebody qualified", "qualified"),
    (step("energise"), (step(PLUG), StateFound("hazard", "seen")), "hazard is seen", "put it out of use"),
    (step("return to use"), steps(LOOK, "pull the machine out"), "place is pulled out", "first: push the machine back"),
    (step("put out of use"), (step(LOOK),), "power is on", "first: pull the plug"),
    (step(PLUG), (step(PLUG), step("put out of use")), "the machine is out of use", "found in hand again"),
    (step(PLUG), (StateFound("supply", "breaker"),), "supply is breaker, must be plug", "record what was found"),
    (step("fly"), (), "pull the plug", "name one of these"),
    (StateFound("power", "dead"), (), "power on or isolated", "record the step that proves it: prove dead"),
    (StateFound("power", "live"), (), "power on or isolated", "energise open, leads clipped on dead"),
    (StateFound("hazard", "none seen"), (), "hazard seen or unknown", LOOK),
    (StateFound("water", "relieved"), (), "water none or on or off", "let off the pressure"),
    (StateFound("heat", "cold"), (), "heat hot", "let it cool"),
    (StateFound("power", "isolated"), (StateFound("supply", "breaker"),), "power", "breaker off, locked and tagged"),
]  # fmt: skip


@pytest.mark.parametrize(("body", "before", "needs", "cure"), REFUSALS, ids=range(len(REFUSALS)))
def test_an_unlawful_move_names_state_need_and_cure(
    body: bodies.Body, before: tuple[bodies.Body, ...], needs: str, cure: str
) -> None:
    error = refused(body, *before)
    assert needs in f"{error.seen} {error.allowed}"
    assert cure in error.do
    if isinstance(body, StateClaimed) and body.step != "fly":
        assert safety_of(*before).name in error.seen


def test_every_cure_that_names_steps_leads_to_a_lawful_step() -> None:
    """Whatever is refused with `first: ...` is lawful once those steps are made, from every state reached by three steps."""
    reached = {ARRIVAL}
    for _ in range(3):
        reached |= {there for here in reached for there in _next(here)}
    tried = 0
    for here, wanted in product(reached, dict.fromkeys(s.name for s in STEPS)):
        try:
            claimed(here, step(wanted, "qualified"))
        except MoveError as error:
            if error.do.startswith("first: "):
                there = here
                for name in error.do.removeprefix("first: ").split(", then "):
                    there = claimed(there, step(name, "qualified"))
                claimed(there, step(wanted, "qualified"))
                tried += 1
    assert tried > 50


def _next(here: Safety) -> list[Safety]:
    found = []
    for name in (*dict.fromkeys(s.name for s in STEPS), "open TOP", "close TOP"):
        try:
            found.append(claimed(here, step(name, "qualified")))
        except MoveError:
            continue
    return found


def test_live_is_reached_by_somebody_qualified_from_dead_only() -> None:
    live = step("energise open, leads clipped on dead", "qualified")
    assert recorded(*steps(LOOK, PLUG, DEAD), live).safety == Safety("live")
    assert "first: prove dead" in refused(live, *steps(LOOK, PLUG)).do
    for body in (bodies.RepairDone("S04"), PartOrdered("S04"), CallEnded("stopped")):
        assert "live" in refused(body, *steps(LOOK, PLUG, DEAD), live).seen


def test_a_circumstance_denied_is_not_asked_again() -> None:
    state = recorded(CircumstanceDenied("new hose"), CircumstanceDenied("hard water"))
    assert state.denied == ("new hose", "hard water") and "new hose" not in state.circumstances
    assert "already told" in refused(CircumstanceDenied("house move")).seen


def test_what_is_found_replaces_what_was_recorded() -> None:
    assert safety_of(step(PLUG), StateFound("power", "on")).power == "on"
    assert safety_of(StateFound("panel", "TOP")).panels == {"TOP"}
    hazard = (step(PLUG), StateFound("hazard", "seen", "smell of gas"))
    assert "put it out of use" in refused(CallEnded("stopped"), *hazard).do
    done = recorded(
        *hazard,
        step("put out of use"),
        HandedOver("a licensed gas fitter", "smell of gas"),
        CallEnded("handed over"),
    )
    assert done.ended is not None and done.ended.body.as_ == "handed over"


def test_ordering_a_part_means_leaving_and_proving_again() -> None:
    inside = steps(LOOK, PLUG, DEAD, "open TOP")
    assert "TOP is open: close TOP" in refused(PartOrdered("S04"), *inside).do
    state = recorded(*inside, step("close TOP"), PartOrdered("S04"))
    assert state.safety == Safety("isolated", hazard="unknown") and state.ordered == ("S04",)
    assert "second order" in refused(PartOrdered("S04"), PartOrdered("S04")).seen
    back = recorded(PartOrdered("S04"), PartTaken("S04"))
    assert (back.ordered, back.parts) == ((), ("S04",))
    assert "in hand already" in refused(PartTaken("S04"), PartTaken("S04")).seen
    assert recorded(*agreed(1, "S04"), PartTaken("S04"), bodies.RepairDone("S04")).parts == ()


REFUSAL = ConsentRefused(6_050, "EUR")
ENDS = [
    ("proven", (), "a repair", "record it"),
    ("proven", (reading(1.0), bodies.RepairDone("S04")), "readings taken since", "end as unproven"),
    ("unproven", (), "a repair", "end as stopped"),
    ("stopped", (bodies.RepairDone("S04"),), "no repair", "end as unproven"),
    ("refused", (), "what is owed", "record the refusal first"),
    ("refused", agreed(1, "S04"), "what is owed", "record the refusal first"),
    ("nothing wrong", (bodies.RepairDone("S04"),), "no repair", "end as proven"),
    ("handed over", (), "somebody who takes over", "record the hand over first"),
    ("proven", (step(LOOK), bodies.RepairDone("S04"), reading(1.0)), "returned to use", "return to use"),
    ("nothing wrong", (step(LOOK),), "returned to use", "return to use"),
    ("refused", (REFUSAL, *steps(LOOK, PLUG, "open TOP")), "safe to be left", "close TOP"),
]


@pytest.mark.parametrize(("how", "before", "needs", "cure"), ENDS, ids=range(len(ENDS)))
def test_a_call_does_not_end_anyhow(how: str, before: tuple[bodies.Body, ...], needs: str, cure: str) -> None:
    error = refused(CallEnded(how), *before)
    assert needs in error.allowed and cure in error.do


def test_after_the_end_nothing_more_is_done() -> None:
    repaired = (*agreed(1, "S04"), bodies.RepairDone("S04"), reading(1.0))
    for how in ENDINGS:
        fit = () if how in ("nothing wrong", "stopped") else repaired
        assert recorded(*fit, HandedOver("a plumber", "pressure"), REFUSAL, CallEnded(how)).ended is not None
    ended = (*repaired, CallEnded("proven"))
    for body in (reading(1.0), bodies.RepairDone("S06"), step(PLUG), CallEnded("stopped")):
        assert "undo the ending first" in refused(body, *ended).do
    again = recorded(*ended, bodies.Corrected(event_id(5), None, "not yet"), reading(1.0))
    assert again.ended is None and len(again.readings) == 2
    twice = fold([*state_of(*ended).events, event(9, CallEnded("stopped"))])
    assert "second ending" in twice.problems[0].seen and twice.ended is not None
    assert twice.ended.body.as_ == "proven"


def test_a_claim_out_of_order_is_a_problem_and_never_makes_it_safer() -> None:
    alone = state_of(step(DEAD))
    assert alone.safety == ARRIVAL
    assert "needs power isolated" in alone.problems[0].seen or "prove dead" in alone.problems[0].seen
    assert "pull the plug" in alone.problems[0].do
    # Energised by the other device with a cover off: unlawful, but it may well be on.
    on = state_of(*steps(LOOK, PLUG, "open TOP", "energise"))
    assert on.safety == Safety("on", panels=frozenset({"TOP"})) and len(on.problems) == 1
    assert state_of(StateFound("power", "dead")).safety == ARRIVAL


CLAIMS = st.lists(
    st.sampled_from([*dict.fromkeys(s.name for s in STEPS), "open TOP", "close TOP"]).map(step), max_size=12
)


@settings(max_examples=200, deadline=None)
@given(CLAIMS)
def test_dead_is_only_ever_reached_by_proving_it(claims: list[StateClaimed]) -> None:
    state = state_of(*claims)
    if state.safety is not None and state.safety.power in ("dead", "discharged"):
        names = [claim.step for claim in claims]
        proven = len(names) - 1 - names[::-1].index(DEAD)
        assert "energise" not in names[proven:]
        assert any(name == PLUG for name in names[:proven])
