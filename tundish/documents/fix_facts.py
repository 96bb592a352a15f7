"""A repair as plain facts: the way to a safe state, the steps with their cautions, photos, the part, and what is recorded."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tundish.appliance.records import Description, Fault
from tundish.call.entry import one_of
from tundish.call.errors import MoveError
from tundish.call.fixing import StepDone
from tundish.call.fold import CallState
from tundish.call.job_rules import need_consent
from tundish.call.lawful import arrival, way_to
from tundish.documents.doings import LAW, step_facts
from tundish.documents.fix_steps import FixStep, fix_steps
from tundish.documents.handover import handover_words
from tundish.documents.words import plain
from tundish.plan.demands import demands_of_repair, domain_of
from tundish.store.mending import part_for
from tundish.van.part import PartKey
from tundish.van.stock import Level, Levels

Facts = dict[str, Any]


def fix_facts(
    state: CallState, description: Description, faults: Sequence[str], levels: Levels, *, currency: str, who: str
) -> Facts:  # fmt: skip
    """How to mend some causes, and how far it is. levels : of the stock. who : any, trained or qualified."""
    return {
        "call": state.call,
        "repairs": [
            _repair(state, description, description.faults[f], levels, currency=currency, who=who) for f in faults
        ],
        "deference": LAW,
    }  # fmt: skip


def _repair(
    state: CallState, description: Description, fault: Fault, levels: Levels, *, currency: str, who: str
) -> Facts:
    domain = domain_of(fault)
    # What another trade mends has no steps of ours
    ours = not domain and "house" not in fault.access
    key = part_for(description, fault, currency)
    repaired = any(one.body.fault == fault.id for one in state.repairs)
    return {
        "fault": fault.id,
        "title": fault.title,
        "minutes": list(fault.minutes),
        "cures_alone": fault.cure,
        "hand_over": "" if ours else handover_words(domain),
        "consent": unagreed(state, fault.id),
        "first": _first(state, description, fault, who) if ours and not repaired else [],
        "steps": _steps(state, fault, key) if ours else [],
        "part": None if key is None else _part(state, fault.id, key, levels.get(key, Level())),
        "repaired": repaired,
    }


def fault_named(description: Description, named: str) -> str:
    """The id of a cause that can be mended, letter case aside. EntryError with near matches."""
    return one_of(named, description.faults, "cause")


def numbered(fault: Fault, *, part: bool) -> dict[int, FixStep]:
    """The steps of a repair by the number under which they are shown and recorded."""
    return dict(enumerate(fix_steps(fault, part=part), start=1))


def step_bodies(
    fault: Fault, numbers: Sequence[int], state: CallState, *, part: bool, heeded: bool
) -> tuple[StepDone, ...]:
    """The events of steps done; those recorded already are left out. EventError when a caution was not heeded."""
    steps, before = numbered(fault, part=part), _done(state, fault.id)
    for number in numbers:
        if number not in steps:
            raise MoveError(
                seen=f"step {number} of {fault.id}",
                allowed=f"1 to {len(steps)}, or all",
                do="name steps by the numbers that `tundish fix` shows",
            )
    return tuple(
        StepDone(fault.id, steps[n].step, steps[n].caution, heeded or not steps[n].caution)
        for n in numbers
        if steps[n].step not in before
    )


def unagreed(state: CallState, fault: str) -> str:
    """Why the customer's consent does not cover it, "" when it does."""
    try:
        need_consent(state, f"repair of {fault}", fault)
    except MoveError as error:
        return str(error)
    return ""


def _first(state: CallState, description: Description, fault: Fault, who: str) -> list[Facts]:
    steps = way_to(
        description, demands_of_repair(fault), state.safety or arrival(description), who=who
    )
    return [step_facts(step) for step in steps or ()]


def _steps(state: CallState, fault: Fault, key: PartKey | None) -> list[Facts]:
    before, taken = _done(state, fault.id), {one.body.subject for one in state.job.photos}
    return [
        {
            "number": number,
            "step": step.step,
            "caution": step.caution,
            "photo": step.photo,
            "photo_kept": bool({step.photo, step.step} & taken) if step.photo else False,
            "before_moving": step.before_moving,
            "done": step.step in before,
        }
        for number, step in numbered(fault, part=key is not None).items()
    ]


def _done(state: CallState, fault: str) -> set[str]:
    return {plain(one.body.step) for one in state.job.work if one.body.fault == fault}


def _part(state: CallState, fault: str, key: PartKey, level: Level) -> Facts:
    return {
        "part": str(key),
        "on_van": level.on_van,
        "on_order": level.on_order,
        "in_hand": fault in (*state.parts, *state.job.fitted),
        "used": sum(one.body.count for one in state.job.used if one.body.fault == fault),
    }
