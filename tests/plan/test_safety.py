"""The safety table: what it lets one do, and that the planner and the page read the same table."""

from __future__ import annotations

from itertools import product
from pathlib import Path

import numpy as np
import pytest

from tundish.plan import actions, lawful_checks, states
from tundish.plan.errors import PlanError
from tundish.plan.exact import solve
from tundish.plan.lawful_checks import CODES, TOUCHES, Demand, lawful_states
from tundish.plan.problem import Problem
from tundish.plan.safe_graph import SafeGraph, safe_graph
from tundish.plan.states import FACETS, STEPS, Safety
from tundish.plan.states_page import codes_table, diagram, steps_table

PANELS = {"top": (5.0, 4.0), "back": (6.0, 5.0)}


def graph(*, who: str = "qualified") -> SafeGraph:
    return safe_graph(Safety(), PANELS, 1.5, who=who)


def test_every_step_names_values_of_its_facet_proof_and_source() -> None:
    for step in STEPS:
        assert {step.start, step.end} <= set(FACETS[step.facet])
        assert step.proof and step.source and 0 < step.minutes[0] <= step.minutes[1]


def test_no_cover_is_off_while_powered_closed() -> None:
    for state in graph().states.values():
        assert not (state.power == "on" and state.panels), state.name


def test_who_may_come_to_a_dead_or_a_live_machine() -> None:
    reached = {who: {state.power for state in graph(who=who).states.values()} for who in states.WHO}
    assert reached["any"] == {"on", "isolated"}
    assert reached["trained"] == {"on", "isolated", "dead", "discharged"}
    assert reached["qualified"] == reached["trained"] | {"live"}


def test_what_has_no_plug_is_locked_off_at_the_breaker() -> None:
    made = safe_graph(Safety(supply="breaker"), PANELS, 1.0, who="trained")
    assert {s.name for s in made.steps.values() if s.start == "on"} >= {"breaker off, locked and tagged"}
    assert "pull the plug" not in {s.name for s in made.steps.values()}


def test_live_is_reached_from_proven_dead_only() -> None:
    to_live = {a for (a, b), step in graph().steps.items() if step.end == "live"}
    assert to_live and all(graph().states[name].power == "dead" for name in to_live)


@pytest.mark.parametrize("code", CODES)
def test_ohms_never_on_a_machine_not_proven_dead(code: str) -> None:
    for touch in ("conductor", "stored energy"):
        lawful = lawful_states(Demand(code, touch), graph().states, who="qualified")
        assert all(graph().states[name].power in ("dead", "discharged") for name in lawful)
        assert bool(lawful) == (code in ("ISO", "NONE", "STAT"))


def test_every_code_has_a_lawful_state_that_can_be_reached() -> None:
    for code in CODES:
        assert lawful_states(Demand(code), graph().states, who="any")


def test_reasons_name_what_is_wrong() -> None:
    cases = {
        "power is on, must be": (Demand("ISO"), Safety()),
        "hand over to a licensed gas fitter": (Demand("NONE", of="gas train"), Safety(gas="present")),
        "top must be open": (Demand("ISO", panels=frozenset({"top"})), Safety("isolated", "relieved")),
        "let it cool": (Demand("ISO", hand_in=True), Safety("isolated", "relieved", heat="hot")),
        "flammable refrigerant": (Demand("ISO", heats=True), Safety("isolated", refrigerant="flammable")),
        "put the machine out of use": (Demand("NONE"), Safety(hazard="seen")),
        "place is pulled out": (Demand("FILL", place="in place"), Safety(place="pulled out")),
        "with a cover off": (Demand("NONE"), Safety(panels=frozenset({"top"}))),
        "water is on": (Demand("PWR"), Safety()),
        "look, smell and ask": (Demand("ISO"), Safety("isolated", "relieved", hazard="unknown")),
        "machine out of use": (Demand("NONE"), Safety("isolated", use="out of use")),
    }
    for words, (demand, state) in cases.items():
        assert words in lawful_checks.refusal(demand, state, who="qualified")
    live = Demand("RUN", "live part")
    assert "only for somebody qualified" in lawful_checks.refusal(live, Safety("live"), who="trained")
    assert lawful_checks.refusal(live, Safety("live"), who="qualified") == ""


def test_unlawful_steps_are_refused_with_the_reason() -> None:
    energise = next(s for s in STEPS if s.name == "energise")
    with pytest.raises(PlanError, match="panels is open, must be closed"):
        states.made(energise, Safety("isolated", panels=frozenset({"top"})), who="qualified")
    back = next(s for s in STEPS if s.name == "return to use")
    for state in (Safety("isolated"), Safety(place="pulled out"), Safety(water="off"), Safety(hazard="seen")):
        assert states.refusal(back, state, who="qualified")
    assert not states.refusal(back, Safety(), who="qualified")


def test_nothing_follows_returned_or_out_of_use() -> None:
    for use, step in product(("returned to use", "out of use"), STEPS):
        assert states.refusal(
            step, Safety(step.start if step.facet == "power" else "isolated", use=use), who="qualified"
        )


def test_a_hazard_leaves_isolating_and_out_of_use() -> None:
    open_steps = {s.end for s in STEPS if not states.refusal(s, Safety(hazard="seen"), who="qualified")}
    assert "isolated" in open_steps and not open_steps & {"on", "live", "returned to use"}
    isolated = Safety("isolated", hazard="seen")
    assert any(s.end == "out of use" and not states.refusal(s, isolated, who="qualified") for s in STEPS)


def test_unknown_words_are_refused() -> None:
    with pytest.raises(PlanError, match="power 'half'"):
        Safety(power="half")
    with pytest.raises(PlanError, match="'boss'"):
        graph(who="boss")
    with pytest.raises(PlanError, match="'WET'"):
        Demand("WET")


def test_two_checks_of_one_state_pay_it_once() -> None:
    """By hand at 1.5 a minute: plug 2, taps 1, pressure 2, prove dead 3.5, top 5 = 13.5 min; then 3 + 3 min
    of checks.
    """
    made = graph()
    ohms = Demand("ISO", "conductor", frozenset({"top"}))
    at = lawful_states(ohms, made.states, who="qualified")
    weights = np.full(4, 0.25)
    split: list[list[list[float]]] = [[[1.0, 0], [1, 0], [0, 1], [0, 1]], [[1.0, 0], [0, 1], [1, 0], [0, 1]]]
    acts = [actions.check(f"ohms {i}", 1.5 * 3, split[i], at=at) for i in range(2)]
    acts += [actions.end(f"cause {i}", 0.0, 1e6 * (np.arange(4) != i), as_="stopped") for i in range(4)]
    problem = Problem(weights, tuple(acts), made.access, start=Safety().name)
    assert solve(problem).cost == pytest.approx(1.5 * (13.5 + 6), abs=1e-9)


def test_the_page_shows_the_table() -> None:
    page = (Path(__file__).parents[2] / "docs" / "planning.md").read_text(encoding="utf-8")
    assert steps_table() in page
    assert codes_table() in page
    for facet in ("power", "water", "place", "use"):
        assert diagram(facet) in page
    assert set(TOUCHES) and all(f"`{name}`" in page for name in FACETS)
