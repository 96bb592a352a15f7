"""The safety state of a machine as a fold over the steps that were claimed.

Nothing is tracked until the first step is recorded. A claim that may not be made is refused where it is made;
one that comes from another device out of order never makes the machine safer than it was.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from tundish.call.doings import StateClaimed, StateFound
from tundish.call.errors import MoveError
from tundish.plan.states import STEPS, Safety, Step, close_panel, made, open_panel, refusal
from tundish.plan.way import way

# On arrival nothing is believed: running or not, the first thing is to look, smell and ask.
ARRIVAL = Safety(hazard="unknown")
# What may be found. Dead, discharged, relieved, cold and free of hazards are proven by a step, never found.
FOUND: Mapping[str, tuple[str, ...]] = {
    "power": ("on", "isolated"),
    "water": ("none", "on", "off"),
    "place": ("in place", "pulled out"),
    "heat": ("hot",),
    "gas": ("none", "present"),
    "refrigerant": ("none", "plain", "flammable"),
    "hazard": ("seen", "unknown"),
    "supply": ("plug", "breaker"),
    "use": ("in hand",),
}
OPEN, CLOSE = "open ", "close "


def step_of(name: str, state: Safety) -> Step | None:
    """The step of a name, the row that starts where the machine stands if there are several; None for no such step."""
    rows = [step for step in STEPS if step.name == name]
    if rows:
        return next((row for row in rows if getattr(state, row.facet) == row.start), rows[0])
    # Minutes of a panel stand in the description; for what happened they do not matter
    if name.startswith(OPEN):
        return open_panel(name.removeprefix(OPEN), 0.0)
    return close_panel(name.removeprefix(CLOSE), 0.0) if name.startswith(CLOSE) else None


def claimed(state: Safety, body: StateClaimed) -> Safety:
    """The state after a claimed step. MoveError names the present state, what is needed and what to do."""
    step = step_of(body.step, state)
    if step is None:
        raise MoveError(
            seen=f"step {body.step!r}",
            allowed=", ".join(dict.fromkeys(s.name for s in STEPS)),
            do="name one of these, or open or close a panel",
        )
    why = refusal(step, state, who=body.who)
    if not why and step.facet == "panels" and step.end in state.panels:
        why = f"{step.name}: it is open already"
    if why:
        raise MoveError(seen=f"{body.step!r} while {state.name}", allowed=why, do=cure(step, state, body.who))
    return made(step, state, who=body.who)


def found(state: Safety, body: StateFound) -> Safety:
    """The state as it was found. MoveError for what must be proven instead."""
    if body.facet == "panel":
        return replace(state, panels=state.panels | {body.value})
    locked = body.facet == "power" and body.value == "isolated" and state.supply == "breaker"
    if body.value not in FOUND[body.facet] or locked:
        raise MoveError(
            seen=f"{body.facet} found {body.value!r}",
            allowed=f"{body.facet} {' or '.join(FOUND[body.facet])}, else proven by a step",
            do=f"record the step that proves it: {_proving(body, locked)}",
        )
    changed: dict[str, Any] = {body.facet: body.value}
    return replace(state, **changed)


def feared(state: Safety, step: str) -> Safety:
    """The state when a claim cannot be followed: what makes it less safe is believed, the rest is not."""
    row = step_of(step, state)
    power = row.end if row is not None and row.facet == "power" else ""
    return replace(state, power=power) if power in ("on", "live") else state


def on_leaving(state: Safety) -> Safety:
    """What is still believed on coming back: a proof of dead does not outlast a visit, nor a look for hazards."""
    power = "isolated" if state.power in ("dead", "discharged") else state.power
    return replace(state, power=power, hazard="seen" if state.hazard == "seen" else "unknown")


def unsafe_to_leave(state: Safety) -> str:
    """Why a machine may not be left as it stands, with the cure; empty when it may."""
    if state.power == "live":
        return "it is live with covers off: off again"
    if state.hazard == "seen" and state.use != "out of use":
        return "a hazard was seen: put it out of use"
    if state.panels:
        return ", ".join(f"{panel} is open: {CLOSE}{panel}" for panel in sorted(state.panels))
    return ""


def cure(step: Step, state: Safety, who: str) -> str:
    """What to do before a step may be made."""
    if step.end in state.panels:
        return f"leave it; {step.end} is open already"
    if state.use != "in hand":
        return given_back(state)
    if step.facet != "panels" and getattr(state, step.facet) == step.end:
        return f"leave it; {step.facet} is {step.end} already"
    # Closing is all that may have to be done to panels that are open now
    steps = way(
        state, lambda s: not refusal(step, s, who=who), dict.fromkeys(state.panels, (1.0, 1.0)), who=who
    )
    if steps:
        return f"first: {', then '.join(s.name for s in steps)}"
    if state.hazard == "seen":
        return "isolate it, put it out of use and hand over"
    return f"leave it to somebody {step.who}" if step.who != "any" else "record what was found otherwise"


def given_back(state: Safety) -> str:
    """What to do where the machine is not in hand any more, as after a return recorded too early."""
    return (
        f'end the call; or undo the step by which it is {state.use}, if that was a mistake; or record "found use in hand", '
        "the machine found in hand again"
    )


def _proving(body: StateFound, locked: bool) -> str:
    if locked:
        return "breaker off, locked and tagged"
    return ", ".join(dict.fromkeys(s.name for s in STEPS if (s.facet, s.end) == (body.facet, body.value)))
