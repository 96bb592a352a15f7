"""A call's events to its state.

The state depends on the set of events only: not on their order, not on how often one is given, not on which
device brought it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

from tundish.call.agreed import troubles
from tundish.call.bodies import (
    Body,
    CallOpened,
    CircumstanceAdded,
    Corrected,
    NoteAdded,
    ReadingTaken,
    RepairDone,
    Unknown,
)
from tundish.call.codec import write
from tundish.call.corrections import Problem, Settled, settle
from tundish.call.doings import (
    CallEnded,
    CircumstanceDenied,
    HandedOver,
    PartOrdered,
    PartTaken,
    StateClaimed,
    StateFound,
    Tested,
)
from tundish.call.errors import EventError, MoveError
from tundish.call.events import Event
from tundish.call.fact import Fact
from tundish.call.fixing import PartUsed
from tundish.call.job import Job
from tundish.call.job_fold import JOB_STEPS, JobStep, repaired, used
from tundish.call.safety import ARRIVAL, claimed, feared, found, on_leaving
from tundish.plan.states import Safety

__all__ = ["STEPS", "CallState", "Fact", "Readings", "fold"]

Readings = tuple[Fact[ReadingTaken], ...]


@dataclass(frozen=True)
class CallState:
    """All that is known of a call.

    call : its id, "" when there are no events. opened : the opening, None while it is missing.
    circumstances : names, those of the opening first. denied : names asked for and denied.
    spells : readings in event order, cut at each repair; one tuple more than there are repairs.
    unknown : facts of kinds this version does not understand. problems : events that could not be used.
    safety : the state of the machine, None until the first step is recorded. steps : the claims and finds behind it.
    tested : for each spell the last test as used, None for none; the first spell never has one.
    ordered, parts : faults whose parts are on order, in hand. handed : to whom it was handed over.
    ended : how the call ended, None while it goes on. job : the customer, the price and the work.
    events : all events, sorted by id, each once. settled : what each of them says after corrections.
    """

    call: str
    opened: Fact[CallOpened] | None = None
    circumstances: tuple[str, ...] = ()
    spells: tuple[Readings, ...] = ((),)
    repairs: tuple[Fact[RepairDone], ...] = ()
    tested: tuple[Fact[Tested] | None, ...] = (None,)
    notes: tuple[Fact[NoteAdded], ...] = ()
    unknown: tuple[Fact[Unknown], ...] = ()
    problems: tuple[Problem, ...] = ()
    denied: tuple[str, ...] = ()
    safety: Safety | None = None
    steps: tuple[Fact[StateClaimed] | Fact[StateFound], ...] = ()
    ordered: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    handed: tuple[Fact[HandedOver], ...] = ()
    ended: Fact[CallEnded] | None = None
    job: Job = field(default=Job())
    events: tuple[Event, ...] = field(default=(), repr=False)
    settled: Settled = field(default=Settled({}, {}, {}, ()), repr=False)

    @property
    def readings(self) -> Readings:
        """Readings since the last repair."""
        return self.spells[-1]

    @property
    def before(self) -> Readings:
        """Readings before the last repair."""
        return tuple(reading for spell in self.spells[:-1] for reading in spell)

    @property
    def works(self) -> bool | None:
        """Whether the machine worked at the last test since the last repair; None when it was not tried."""
        last = self.tested[-1]
        return None if last is None else last.body.works

    @property
    def last(self) -> str | None:
        """The greatest event id; a new event must sort after it."""
        return self.events[-1].id if self.events else None


def fold(events: Iterable[Event]) -> CallState:
    """The state of one call from its events, in any order and with repeats.

    EventError when the events belong to more than one call.
    """
    ordered, clashes = _merged(events)
    calls = sorted({event.call for event in ordered})
    if len(calls) > 1:
        raise EventError(
            seen=f"events of calls {', '.join(calls)}", allowed="one call", do="fold each call alone"
        )
    settled = settle(ordered)
    state = CallState(
        calls[0] if calls else "", events=ordered, settled=settled, problems=clashes + settled.problems
    )
    for event in ordered:
        body = settled.standing[event.id]
        if body is not None:
            # A fact keeps the place of the event that first said it: a correction does not move a reading.
            fact = Fact(event.id, event.device, event.at, body, settled.decided.get(event.id))
            state = _step(body)(state, fact)
    problems = (*state.problems, *troubles(state.job))
    return replace(state, problems=tuple(sorted(problems, key=lambda problem: (problem.event, problem.seen))))


def _merged(events: Iterable[Event]) -> tuple[tuple[Event, ...], tuple[Problem, ...]]:
    # Two different events with one id can only come from a file changed by hand. Which one counts must not
    # depend on who brought it first, so the smaller in writing counts and the clash is reported.
    kept: dict[str, Event] = {}
    clashing: set[str] = set()
    for event in events:
        other = kept.setdefault(event.id, event)
        if other != event:
            clashing.add(event.id)
            kept[event.id] = min(event, other, key=_text)
    clashes = (
        Problem(id, "two different events with this id", "find out which file was changed by hand")
        for id in clashing
    )
    return tuple(kept[id] for id in sorted(kept)), tuple(clashes)


def _text(event: Event) -> tuple[str, ...]:
    row = write(event)
    return row.call, row.at, row.device, row.kind, f"{row.schema:09d}", row.body


def _open(state: CallState, fact: Fact[CallOpened]) -> CallState:
    # Two openings cannot be told apart by who was right, so the first by id counts.
    if state.opened is not None:
        problem = Problem(
            fact.event, f"a second opening of call {state.call}", "open another call for another job"
        )
        return replace(state, problems=(*state.problems, problem))
    # A device with a late clock may have told a circumstance "before" the opening.
    names = tuple(dict.fromkeys((*fact.body.circumstances, *state.circumstances)))
    return replace(state, opened=fact, circumstances=names)


def _circumstance(state: CallState, fact: Fact[CircumstanceAdded]) -> CallState:
    return replace(state, circumstances=tuple(dict.fromkeys((*state.circumstances, fact.body.name))))


def _reading(state: CallState, fact: Fact[ReadingTaken]) -> CallState:
    return replace(state, spells=(*state.spells[:-1], (*state.spells[-1], fact)))


def _repair(state: CallState, fact: Fact[RepairDone]) -> CallState:
    # A repaired machine is another machine: its readings start a new spell. The part in hand is used up.
    fault = fact.body.fault
    job = repaired(state.job, fact, in_hand=fault in state.parts)
    parts = _without(state.parts, fault)
    return replace(
        state,
        repairs=(*state.repairs, fact),
        spells=(*state.spells, ()),
        tested=(*state.tested, None),
        parts=parts,
        job=job,
    )


def _test(state: CallState, fact: Fact[Tested]) -> CallState:
    # What was tried before anything was repaired is the complaint itself
    if not state.repairs:
        problem = Problem(fact.event, "a test before any repair", "record the repair, or withdraw the test")
        return replace(state, problems=(*state.problems, problem))
    return replace(state, tested=(*state.tested[:-1], fact))


def _use(state: CallState, fact: Fact[PartUsed]) -> CallState:
    return replace(state, job=used(state.job, fact, in_hand=fact.body.fault in state.parts))


def _note(state: CallState, fact: Fact[NoteAdded]) -> CallState:
    return replace(state, notes=(*state.notes, fact))


def _correction(state: CallState, fact: Fact[Corrected]) -> CallState:
    return state  # already heard by `settle`


def _denied(state: CallState, fact: Fact[CircumstanceDenied]) -> CallState:
    return replace(state, denied=(*_without(state.denied, fact.body.name), fact.body.name))


def _claim(state: CallState, fact: Fact[StateClaimed]) -> CallState:
    here, problems = state.safety or ARRIVAL, state.problems
    try:
        there = claimed(here, fact.body)
    except MoveError as error:
        there, problems = feared(here, fact.body.step), (*problems, Problem(fact.event, error.seen, error.do))
    return replace(state, safety=there, steps=(*state.steps, fact), problems=problems)


def _find(state: CallState, fact: Fact[StateFound]) -> CallState:
    here, problems = state.safety or ARRIVAL, state.problems
    try:
        there = found(here, fact.body)
    except MoveError as error:
        there, problems = here, (*problems, Problem(fact.event, error.seen, error.do))
    return replace(state, safety=there, steps=(*state.steps, fact), problems=problems)


def _order(state: CallState, fact: Fact[PartOrdered]) -> CallState:
    # He leaves until the part is there, so what was proven has to be proven again.
    there = None if state.safety is None else on_leaving(state.safety)
    return replace(state, ordered=(*_without(state.ordered, fact.body.fault), fact.body.fault), safety=there)


def _take(state: CallState, fact: Fact[PartTaken]) -> CallState:
    fault = fact.body.fault
    return replace(
        state, parts=(*_without(state.parts, fault), fault), ordered=_without(state.ordered, fault)
    )


def _hand_over(state: CallState, fact: Fact[HandedOver]) -> CallState:
    return replace(state, handed=(*state.handed, fact))


def _end(state: CallState, fact: Fact[CallEnded]) -> CallState:
    if state.ended is not None:
        problem = Problem(fact.event, f"a second ending of call {state.call}", "withdraw one of the two")
        return replace(state, problems=(*state.problems, problem))
    return replace(state, ended=fact)


def _without(names: tuple[str, ...], name: str) -> tuple[str, ...]:
    return tuple(n for n in names if n != name)


def _keep(state: CallState, fact: Fact[Unknown]) -> CallState:
    return replace(state, unknown=(*state.unknown, fact))


def _on_job(step: JobStep) -> Callable[[CallState, Fact[Any]], CallState]:
    return lambda state, fact: replace(state, job=step(state.job, fact))


# One step for each row of KINDS; a test compares the two.
STEPS: Mapping[str, Callable[[CallState, Fact[Any]], CallState]] = {
    CallOpened.KIND: _open,
    CircumstanceAdded.KIND: _circumstance,
    ReadingTaken.KIND: _reading,
    RepairDone.KIND: _repair,
    NoteAdded.KIND: _note,
    Corrected.KIND: _correction,
    CircumstanceDenied.KIND: _denied,
    StateClaimed.KIND: _claim,
    StateFound.KIND: _find,
    PartOrdered.KIND: _order,
    PartTaken.KIND: _take,
    Tested.KIND: _test,
    HandedOver.KIND: _hand_over,
    CallEnded.KIND: _end,
    PartUsed.KIND: _use,
    **{kind: _on_job(step) for kind, step in JOB_STEPS.items()},
}


def _step(body: Body) -> Callable[[CallState, Fact[Any]], CallState]:
    return _keep if isinstance(body, Unknown) else STEPS[body.kind]
