"""What a technician says he did, as events; what is refused, and with which cure."""

from __future__ import annotations

import pytest
from call_maker import OPENING, agreed, event, reading

from tundish.call import bodies, moves
from tundish.call.deals import ConsentRefused
from tundish.call.doing import SPOKEN, Said, doing, steps_known
from tundish.call.doings import CallEnded, HandedOver, PartOrdered, PartTaken, StateClaimed, StateFound
from tundish.call.errors import MoveError
from tundish.call.fold import CallState, fold
from tundish.call.lawful import after, before_reading, check_repair, way_to
from tundish.plan.demands import demands_of_check, demands_of_repair, panels_of, refused
from tundish.plan.lawful_checks import OTHERS
from tundish.plan.states import Safety
from tundish.store.library import load

WASHER = load("front-load washer")
LOOKED = Safety()
DEAD = Safety("dead", water="relieved", panels=frozenset({"TOP"}))


def state_of(*later: bodies.Body) -> CallState:
    return fold(event(number, body) for number, body in enumerate((OPENING, *later)))


def done(
    words: str, *before: bodies.Body, proof: str = "", why: str = "", who: str = "trained"
) -> tuple[bodies.Body, ...]:
    state = state_of(*before)
    bodies_ = doing(WASHER, state, words, Said(proof, why, who))
    for body in bodies_:
        moves.check(state, body)
    return bodies_


def claims(*names: str) -> list[StateClaimed]:
    return [StateClaimed(name, "seen") for name in names]


SAID = [
    ("pull the plug", StateClaimed("pull the plug", "plug out and in sight")),
    ("  Pull   the PLUG ", StateClaimed("pull the plug", "plug out and in sight")),
    ("found power isolated", StateFound("power", "isolated", "")),
    ("found panel top", StateFound("panel", "TOP", "")),
    ("found place pulled out", StateFound("place", "pulled out", "")),
    ("S06", bodies.RepairDone("S06")),
    ("repair s06", bodies.RepairDone("S06")),
    ("order F01", PartOrdered("F01")),
    ("take F01", PartTaken("F01")),
    ("hazard: smell of gas", StateFound("hazard", "seen", "smell of gas")),
    ("hand over S24", HandedOver(OTHERS["house wiring"], WASHER.faults["S24"].title)),
    ("hand over S09", HandedOver("a licensed plumber", WASHER.faults["S09"].title)),
    ("end stopped", CallEnded("stopped")),
    ("refused", CallEnded("refused")),
]


# What has to be there first: a consent that covers the repair, a refusal that says what is owed.
FIRST = {"S06": agreed(1, "S06"), "repair s06": agreed(1, "S06"), "refused": (ConsentRefused(6_050, "EUR"),)}


@pytest.mark.parametrize(("words", "body"), SAID, ids=[words for words, _ in SAID])
def test_what_is_said_becomes_an_event(words: str, body: bodies.Body) -> None:
    assert done(words, *FIRST.get(words, ())) == (body,)


def test_one_part_that_cures_several_causes_repairs_all() -> None:
    assert done("repair F01/F02/F03 new inlet valve", *agreed(1, "F01", "F02", "F03")) == tuple(
        bodies.RepairDone(f) for f in ("F01", "F02", "F03")
    )
    assert done("order part for F01/F02 and part for S17, return") == tuple(
        PartOrdered(f) for f in ("F01", "F02", "S17")
    )


def test_proof_is_told_by_whoever_works_on_a_dead_machine() -> None:
    with pytest.raises(
        MoveError, match="saw 'prove dead' without its proof; allowed: 0 V on all pairs"
    ) as error:
        done("prove dead", *claims("pull the plug"))
    assert "--proof" in error.value.do
    assert done("prove dead", *claims("pull the plug"), proof="0 V") == (StateClaimed("prove dead", "0 V"),)
    opened = done("open top", *claims("pull the plug"))
    assert opened == (StateClaimed("open TOP", "photo before"),)


def test_undo_withdraws_what_was_done_last() -> None:
    state = state_of(*claims("pull the plug"), reading(1.0), bodies.RepairDone("S06"))
    first = doing(WASHER, state, "undo", Said(why="not done"))[0]
    assert isinstance(first, bodies.Corrected) and first.by is None and first.why == "not done"
    once = fold([*state.events, event(7, first)])
    assert once.repairs == () and once.safety is not None
    second = doing(WASHER, once, "undo", Said())[0]
    twice = fold([*once.events, event(8, second)])
    assert twice.safety is None and len(twice.readings) == 1
    with pytest.raises(MoveError, match="where nothing was done"):
        doing(WASHER, twice, "undo", Said())


REFUSED = [
    ("W01.cold", (), "a check", "tundish reading CALL W01.cold VALUE"),
    ("fly", (), "'fly' done", "see the state"),
    ("pull the plog", (), "done", "did you mean"),
    ("open LID", (), "panel 'LID'", "name one of these"),
    ("found colour red", (), "found 'colour red'", "say found"),
    ("found power half", (), "power found 'half'", "name one of these"),
    ("end fixed", (), "ended as 'fixed'", "name one of these"),
    ("hand over to a plumber", (), "without a reason", "--because"),
    ("hand over", (), "nobody", "--because"),
    ("hazard", (), "a hazard", "--because"),
    ("S24", (), "repair of S24", "record the hand over"),
    ("S06", tuple(claims("look, smell and ask")), "repair of S06", "record first: pull the machine out"),
    ("F01", tuple(claims("look, smell and ask", "pull the plug")), "repair of F01", "shut the taps"),
    ("F01", (PartOrdered("F01"),), "on order", "first: take F01"),
    ("S06", (), "repair of S06 without a consent", "quote it, and ask for consent"),
    ("S06", agreed(1, "S04"), "repair of S06, a cause that was not agreed to", "quote S06 with the rest"),
]


@pytest.mark.parametrize(
    ("words", "before", "seen", "cure"),
    REFUSED,
    ids=[f"{row[0]}-{number}" for number, row in enumerate(REFUSED)],
)
def test_what_cannot_be_done_is_refused_with_the_cure(
    words: str, before: tuple[bodies.Body, ...], seen: str, cure: str
) -> None:
    with pytest.raises(MoveError) as error:
        done(words, *before)
    assert seen in error.value.seen and error.value.allowed
    assert cure in error.value.do


def test_every_ending_a_plan_names_can_be_recorded() -> None:
    state = state_of(bodies.RepairDone("S06"), HandedOver("a plumber", "x"))
    for words in SPOKEN:
        body = doing(WASHER, state, words, Said())[0]
        assert isinstance(body, CallEnded)


def test_giving_up_after_a_repair_leaves_it_unproven() -> None:
    assert done("stop, unrepaired") == (CallEnded("stopped"),)
    assert done("stop, unrepaired", bodies.RepairDone("S06")) == (CallEnded("unproven"),)
    with pytest.raises(MoveError, match="allowed: no repair; end as unproven"):
        done("end stopped", bodies.RepairDone("S06"))


def test_undo_takes_back_a_price_too() -> None:
    state = state_of(*agreed(1, "S06"))
    taken = doing(WASHER, state, "undo", Said())[0]
    assert isinstance(taken, bodies.Corrected) and taken.target == state.events[-1].id


def test_readings_are_free_until_a_step_is_recorded() -> None:
    for check in WASHER.checks.values():
        assert before_reading(WASHER, check, None) == ()


def test_a_reading_shows_that_the_machine_was_on() -> None:
    implied = before_reading(WASHER, WASHER.checks["C04"], Safety("isolated", water="off"))
    # Power comes last: joints are seen dry before anything can switch.
    assert [claim.step for claim in implied] == ["open the taps", "energise"]
    assert "C04" in implied[0].proof
    assert after(Safety("isolated", water="off"), implied) == LOOKED


HIDDEN = [
    ("W01.cold", LOOKED, "power is on", "prove dead"),
    (
        "W01.cold",
        Safety("isolated", water="relieved", panels=frozenset({"TOP"})),
        "power is isolated",
        "prove dead",
    ),
    ("C04", DEAD, "power is dead", "close TOP, then open the taps, then energise"),
    ("C05.cold", LOOKED, "place is in place", "pull the machine out"),
    ("C04", Safety(hazard="unknown"), "look, smell and ask", "look, smell and ask"),
    (
        "W02.cold",
        LOOKED,
        "only for somebody qualified",
        "energise open, leads clipped on dead (only qualified)",
    ),
    ("C04", Safety("isolated", hazard="seen"), "a hazard was seen", "no lawful step leads there"),
]


@pytest.mark.parametrize(("check", "state", "why", "cure"), HIDDEN, ids=range(len(HIDDEN)))
def test_a_reading_that_was_not_lawful_names_what_to_record_first(
    check: str, state: Safety, why: str, cure: str
) -> None:
    with pytest.raises(MoveError) as error:
        before_reading(WASHER, WASHER.checks[check], state)
    assert why in error.value.allowed
    assert cure in error.value.do or set(cure.split(", then ")) <= set(
        error.value.do.split("; ")[0][14:].split(", then ")
    )


def test_ohms_are_lawful_on_a_dead_machine_only() -> None:
    ohms = [c for c in WASHER.checks.values() if c.instrument and c.instrument.name == "ohmmeter"]
    assert len(ohms) > 5
    for check in ohms:
        for power in ("on", "isolated", "live"):
            everything_open = Safety(
                power, water="relieved", place="pulled out", panels=frozenset(panels_of(WASHER))
            )
            assert refused(demands_of_check(check), everything_open, who="qualified")


def test_every_check_and_repair_has_a_lawful_way_or_belongs_to_others() -> None:
    start = Safety(hazard="unknown")
    for check in WASHER.checks.values():
        assert way_to(WASHER, demands_of_check(check), start) is not None, check.id
    for fault in WASHER.faults.values():
        demands = demands_of_repair(fault)
        assert demands[0].of or way_to(WASHER, demands, start) is not None, fault.id


def test_only_live_checks_need_somebody_qualified() -> None:
    for check in WASHER.checks.values():
        trained = way_to(WASHER, demands_of_check(check), LOOKED, who="trained")
        assert not (check.live and trained is not None), check.id
        if trained is None:
            assert demands_of_check(check)[0].touches == "live part"


def test_a_repair_behind_a_panel_needs_it_dead_and_open() -> None:
    check_repair(WASHER, WASHER.faults["F01"], DEAD)
    check_repair(WASHER, WASHER.faults["F01"], None)
    with pytest.raises(MoveError, match="must be open"):
        check_repair(WASHER, WASHER.faults["F01"], Safety("dead", water="relieved"))
    with pytest.raises(MoveError, match="not ours: hand over to a licensed electrician"):
        check_repair(WASHER, WASHER.faults["S24"], None)


def test_names_of_steps_are_those_of_the_table() -> None:
    names = steps_known(WASHER)
    assert {"pull the plug", "open TOP", "close FRONT"} <= set(names)
    assert len(names) == len(set(names))
