"""Random calls through the planner and the record: nothing unlawful is ever proposed, nothing is a dead end, every call ends.

More calls than the suite has time for: TUNDISH_RANDOM_CALLS=300 pytest tests/plan/test_random_calls.py
"""

import os
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from whole_calls import Visit, bench_of, carry_out, close, opened, wrong_closing, wrong_live, wrong_with

from tundish.appliance.possible import complaints_of
from tundish.call.doings import ENDINGS
from tundish.diagnosis.reading import Reading
from tundish.plan.ground import ground
from tundish.plan.proof import taken_as_used
from tundish.plan.remedies import demands_of_all
from tundish.plan.states import Safety
from tundish.store.library import load

CALLS = int(os.environ.get("TUNDISH_RANDOM_CALLS", "12"))
FAMILIES = (
    "front-load washer", "top-load washer", "dishwasher", "dryer", "oven and hob", "refrigerator-freezer",
)  # fmt: skip
# No call may need more steps; checks, remedies and orders are each proposed once.
MOST = 60


@pytest.fixture(scope="module")
def made():
    """A bench by family, market and complaint; populations are built once."""
    return cache(bench_of)


def drawn(made, number: int) -> tuple[Visit, np.random.Generator]:
    """A random call: family, market, complaint, circumstances, who works, how the machine is found."""
    rng = np.random.default_rng([17, number])
    description = load(FAMILIES[number % len(FAMILIES)])
    market = str(rng.choice(list(description.markets)))
    complaint = str(rng.choice(list(complaints_of(description, market))))
    bench = made(description.family, market, complaint)
    shop = replace(bench.shop, qualified=bool(rng.random() < 0.4))
    bench = replace(bench, shop=shop)
    told = tuple(n for n in description.circumstances if rng.random() < 0.1)
    age = float(rng.uniform(0, 15)) if rng.random() < 0.7 else None
    visit = opened(bench, number, told=told, age=age)
    visit.phone, visit.tracked = bool(rng.random() < 0.3), bool(rng.random() < 0.8)
    return visit, rng


def arrive(visit: Visit, rng: np.random.Generator) -> None:
    if not visit.tracked:
        return
    for words in ("place pulled out", "water off", "power isolated", "heat hot", "supply breaker"):
        if rng.random() < 0.1:
            visit.do(f"found {words}")
    if rng.random() < 0.9:
        visit.do("look, smell and ask")


def play(made, number: int) -> Visit:
    visit, rng = drawn(made, number)
    came = False
    for _ in range(MOST):
        if not visit.phone and not came:
            arrive(visit, rng)
            came = True
        if visit.state.ended is not None:
            break
        one_step(visit, rng, number)
    return visit


def one_step(visit: Visit, rng: np.random.Generator, number: int) -> None:
    if visit.tracked and came(visit) and rng.random() < 0.02:
        visit.do("hazard: smell of gas")
    advice = visit.advice(number)
    for option in advice.options:
        visit.wrong += wrong_with(visit, option)
    visit.wrong += wrong_live(visit, advice, number)
    visit.wrong += wrong_closing(visit, advice)
    hazard = visit.safety.hazard == "seen"
    if hazard:
        close(visit, "handed over" if rng.random() < 0.5 else "stopped")
    elif came(visit) and rng.random() < 0.02:
        # The customer says no, with the machine as it stands
        close(visit, "refused")
    else:
        # Now and then a technician does something else than what comes first
        place = int(rng.integers(len(advice.options))) if rng.random() < 0.2 else 0
        carry_out(visit, advice.options[place], rng, wild=0.05)


def came(visit: Visit) -> bool:
    return not visit.phone


@pytest.mark.parametrize("number", range(CALLS))
def test_a_random_call_is_lawful_and_ends(made, number):
    visit = play(made, number)
    told = "\n".join(visit.history)
    assert not visit.wrong, f"{visit.wrong}\n{told}"
    assert visit.state.ended is not None, told
    assert visit.state.ended.body.as_ in ENDINGS


@pytest.mark.parametrize("family", ["dryer", "front-load washer"])
@pytest.mark.parametrize("steps", [(), ("pull the plug",), ("pull the plug", "open TOP")])
def test_where_a_hazard_was_seen_the_call_only_ends(made, family, steps):
    """Smell of gas, shock, smoke: nothing is read, repaired or ordered any more, wherever the machine stands."""
    market, complaint = {"dryer": ("NA", "NOHEAT240"), "front-load washer": ("EU", "TRIP")}[family]
    visit = opened(made(family, market, complaint), 1)
    for step in ("look, smell and ask", *steps, "hazard: smell of gas"):
        visit.do(step)
    advice = visit.advice()
    assert {o.kind for o in advice.options} == {"end"}
    assert not [w for o in advice.options for w in wrong_with(visit, o)]
    close(visit, "handed over")
    assert visit.safety.use == "out of use"
    assert not visit.safety.panels


def test_a_part_that_cures_several_faults_is_reached_as_all_of_them_are(made):
    """By hand: of the mixing valve's faults two are reached by the top or the back, two by the back only."""
    valve = [
        f for f in load("top-load washer").faults.values() if f.part == "mixing valve" and f.kind == "wear"
    ]
    assert {tuple(f.access) for f in valve} == {("TOP", "BACK"), ("BACK",)}
    assert [sorted(d.panels) for d in demands_of_all(valve)] == [["BACK"]]
    heater = [f for f in load("dishwasher").faults.values() if f.part == "heater" and f.kind == "wear"]
    assert [(sorted(d.panels), d.place) for d in demands_of_all(heater)] == [(["TOE"], "pulled out")]


def test_after_a_repair_no_cheap_repair_stands_for_the_test(made):
    """A machine that works already is not made to work: the plan asks what is read as used, or leaves it unproven."""
    visit = opened(made("front-load washer", "EU", "NODRAIN"), 2)
    for step in ("look, smell and ask", "pull the plug", "shut the taps", "let off the pressure"):
        visit.do(step)
    visit.read(Reading("W08", answer="object"))
    visit.do("repair F14")
    options = visit.advice().options
    assert options[0].check or options[0].kind == "test"
    assert "nothing is wrong" not in {o.name for o in options}
    assert "end unproven" in {o.name for o in options}


def test_after_a_repair_nothing_as_used_is_read_with_the_machine_pulled_out(made):
    visit = opened(made("front-load washer", "EU", "NODRAIN"), 3)
    opened_up = ("pull the machine out", "pull the plug", "shut the taps", "let off the pressure")
    for words in ("look, smell and ask", *opened_up, "repair F14"):
        visit.do(words)
    options = visit.advice().options
    used = [o for o in options if o.check and taken_as_used(visit.description.checks[o.check])]
    assert used
    assert all("push the machine back" in [s.name for s in o.steps] for o in used)


def test_from_live_a_lawful_way_leads_on():
    """Off again comes first, whatever stands open and flows: nobody is left with a live machine and nothing to do."""
    for water in ("on", "relieved"):
        live = Safety("live", water, panels=frozenset({"TOP"}))
        steps = ground(live, {"TOP": (4.0, 4.0)}, 1.0, who="qualified").way(live.name, Safety().name)
        assert [s.name for s in steps][:2] == ["off again", "close TOP"]
