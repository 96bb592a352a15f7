"""Whether a reading or a repair is lawful in the state on record, and what has to be recorded before it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from tundish.appliance.records import Check, Description, Fault
from tundish.call.doings import StateClaimed
from tundish.call.errors import MoveError
from tundish.call.safety import ARRIVAL, claimed, given_back
from tundish.diagnosis.reading import NOT_THERE
from tundish.plan.demands import demands_of_check, demands_of_repair, panels_of, refused, water_of
from tundish.plan.lawful_checks import Demand
from tundish.plan.states import Safety, Step
from tundish.plan.way import way

# A reading taken with the machine on shows by itself that it was on and the taps open. These steps never make the
# machine safer on paper than it is; every other step must be recorded by whoever made it.
IMPLIED = frozenset({"energise", "open the taps"})
FOUND = "or record what was found, if the machine stands otherwise than recorded"


def arrival(description: Description) -> Safety:
    """What is believed of a family's machine on arrival, before the first step."""
    return replace(ARRIVAL, water=water_of(description))


def before_reading(
    description: Description, check: Check, state: Safety | None, *, answer: str | None = None
) -> tuple[StateClaimed, ...]:
    """Steps a reading implies, to be recorded before it. MoveError when other steps have to be recorded first.

    state : None when nothing is tracked; then every reading is taken as it comes. answer : what was named; that a thing is
    not there asks for no state.
    """
    if state is None or answer == NOT_THERE:
        return ()
    what = f"a reading of {check.id} ({check.title})"
    return _implied(
        description, demands_of_check(check), state, what=what, proof=f"the reading of {check.id}"
    )


def before_test(description: Description, state: Safety | None) -> tuple[StateClaimed, ...]:
    """Steps the test after a repair implies: the machine runs in its place, closed. MoveError when others come first."""
    if state is None:
        return ()
    demands = (Demand("RUN", place="in place"),)
    return _implied(
        description, demands, state, what="a test after a repair", proof="the test after the repair"
    )


def _implied(
    description: Description, demands: Sequence[Demand], state: Safety, *, what: str, proof: str
) -> tuple[StateClaimed, ...]:
    who = worker(state)
    why = refused(demands, state, who=who)
    if not why:
        return ()
    steps = way_to(description, demands, state)
    if steps and all(step.name in IMPLIED for step in steps):
        return tuple(StateClaimed(step.name, f"shown by {proof}", who) for step in steps)
    raise MoveError(seen=f"{what} while {state.name}", allowed=why, do=_cure(steps, state))


def check_repair(description: Description, fault: Fault, state: Safety | None) -> None:
    """MoveError when a repair is not lawful in the state on record; what is not ours never is."""
    demands = demands_of_repair(fault)
    why = refused(demands, state or Safety(), who="qualified")
    # Untracked, only whose work it is can be judged
    if not why or (state is None and not demands[0].of):
        return
    what = f"repair of {fault.id} ({fault.title})"
    if demands[0].of:
        raise MoveError(seen=what, allowed=why, do="record the hand over, or leave it")
    steps = way_to(description, demands, state or Safety())
    raise MoveError(
        seen=f"{what} while {state.name if state else ''}", allowed=why, do=_cure(steps, state or Safety())
    )


def way_to(
    description: Description, demands: Sequence[Demand], state: Safety, *, who: str = "qualified"
) -> tuple[Step, ...] | None:
    """The shortest lawful steps to a state that meets one of the demands; None when there is no way."""
    return way(state, lambda s: not refused(demands, s, who=who), panels_of(description), who=who)


def worker(state: Safety) -> str:
    """Who must be at work in a state: somebody trained, or somebody qualified once it is live."""
    return "qualified" if state.power == "live" else "trained"


def after(state: Safety, claims: Sequence[StateClaimed]) -> Safety:
    """The state after claims."""
    for claim in claims:
        state = claimed(state, claim)
    return state


def _cure(steps: Sequence[Step] | None, state: Safety) -> str:
    if state.hazard == "seen":
        return "leave it, no lawful step leads there: make it safe, put it out of use and hand over; or correct what showed it"
    if state.use != "in hand":
        return given_back(state)
    if steps is None:
        return "leave it: no lawful step leads there from here"
    named = ", then ".join(f"{s.name} (only qualified)" if s.who == "qualified" else s.name for s in steps)
    return f"record first: {named}; {FOUND}"
