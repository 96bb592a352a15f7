"""Where a machine and its call stand, as plain facts: the safety state, the steps open from it, what was done."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from tundish.appliance.records import Description
from tundish.call.doings import StateClaimed
from tundish.call.fold import CallState
from tundish.call.hazards import safety_of
from tundish.call.lawful import arrival
from tundish.plan.demands import panels_of
from tundish.plan.safe_graph import steps_for
from tundish.plan.states import FACETS, Safety, Step, refusal

Facts = dict[str, Any]
LAW = "Local law and licensed practice outrank this table."
UNTRACKED = "nothing is tracked yet; the first step you record begins it"


def state_facts(state: CallState, description: Description, who: str) -> Facts:
    """The safety state of a call's machine and what may be done from it by somebody."""
    # What was read or told counts: below a danger the steps that it bars are not offered
    here = safety_of(description, state) or arrival(description)
    steps = list(_steps(description, here))
    return {
        "call": state.call,
        "tracked": state.safety is not None,
        "state": here.name if state.safety else UNTRACKED,
        "facets": {**{facet: getattr(here, facet) for facet in FACETS}, "panels": sorted(here.panels)},
        "who": who,
        "open": [step_facts(step) for step in steps if not refusal(step, here, who=who)],
        # A step that starts elsewhere is not barred, it is just not next
        "barred": [
            {"step": step.name, "why": refusal(step, here, who=who).removeprefix(f"{step.name}: ")}
            for step in steps
            if refusal(step, here, who=who) and _starts(step, here)
        ],
        "done": [_done(fact.at, fact.body) for fact in state.steps],
        "repaired": [fact.body.fault for fact in state.repairs],
        "ordered": list(state.ordered),
        "parts": list(state.parts),
        "handed_over": [{"to": fact.body.to, "why": fact.body.why} for fact in state.handed],
        "ended": state.ended.body.as_ if state.ended else None,
        "problems": [{"seen": p.seen, "do": p.do} for p in state.problems],
        "deference": LAW,
    }


def step_facts(step: Step) -> Facts:
    """A step of the safety table."""
    return {
        "step": step.name,
        "minutes": list(step.minutes),
        "proof": step.proof,
        "who": step.who,
        "source": step.source,
    }


def _steps(description: Description, here: Safety) -> Iterator[Step]:
    for step in steps_for(panels_of(description), frozenset(FACETS)):
        # An open panel is not opened again, and only an open one is closed
        if step.end not in here.panels and (step.end != "closed" or step.start in here.panels):
            yield step


def _starts(step: Step, here: Safety) -> bool:
    return step.facet == "panels" or bool(getattr(here, step.facet) == step.start)


def _done(at: str, body: Any) -> Facts:
    if isinstance(body, StateClaimed):
        return {"at": at, "step": body.step, "proof": body.proof, "who": body.who}
    return {"at": at, "step": f"found {body.facet} {body.value}", "proof": body.why, "who": ""}
