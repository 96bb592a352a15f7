"""From what a technician says he did to the events that record it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from tundish.appliance.records import Description, Fault
from tundish.appliance.refusals import listed, near
from tundish.call.bodies import Body, Corrected, RepairDone
from tundish.call.deals import ConsentGiven, ConsentRefused, Paid
from tundish.call.doings import (
    ENDINGS,
    CallEnded,
    HandedOver,
    PartOrdered,
    PartTaken,
    StateClaimed,
    StateFound,
    Tested,
)
from tundish.call.errors import MoveError
from tundish.call.fixing import PartUsed, StepDone
from tundish.call.fold import CallState
from tundish.call.hazards import check_below, safety_of
from tundish.call.lawful import arrival, before_test, check_repair
from tundish.call.quotes import Quoted
from tundish.call.safety import CLOSE, OPEN, step_of
from tundish.plan.demands import domain_of, panels_of, water_of
from tundish.plan.lawful_checks import OTHERS
from tundish.plan.states import FACETS, STEPS

# Steps anybody may do are proven by the words of the table; these need words of one's own.
TOLD = frozenset({"return to use", "put out of use"})
# How the planner names an ending, and how it is recorded.
SPOKEN = {
    "close, proven": "proven",
    "close as proven": "proven",
    "nothing is wrong": "nothing wrong",
    "advise another machine": "replaced",
    "replace": "replaced",
    "stop": "stopped",
    "stop, unrepaired": "stopped",
}
TESTED = {"works": True, "still fails": False}
PLUMBER = "a licensed plumber"
UNDONE = frozenset(
    kind.KIND
    for kind in (
        StateClaimed, StateFound, Tested, PartOrdered, PartTaken, HandedOver, CallEnded,
        Quoted, ConsentGiven, ConsentRefused, StepDone, PartUsed, Paid,
    )
)  # fmt: skip


@dataclass(frozen=True)
class Said:
    """What goes with a doing. proof : what was seen. why : in words. who : any, trained or qualified."""

    proof: str = ""
    why: str = ""
    who: str = "trained"


@dataclass(frozen=True)
class _Asked:
    description: Description
    state: CallState
    said: Said


def doing(description: Description, state: CallState, words: str, said: Said) -> tuple[Body, ...]:
    """The events of what was done. MoveError when it is no action, or not lawful now.

    words : a step of the safety table, open or close and a panel, found and what, causes that were repaired, tested
    works or tested still fails, order or take and causes, hand over to somebody, end and how, or undo; or the name of an
    action as a plan gives it.
    """
    # What was read and told counts: below a danger only making safe, handing over and ending are open
    counted = replace(state, safety=safety_of(description, state))
    text, asked = " ".join(words.split()), _Asked(description, counted, said)
    bodies = _bodies(asked, text)
    for body in bodies:
        check_below(description, state, body)
    first = state.safety is None and any(isinstance(body, StateClaimed | StateFound) for body in bodies)
    # Tracking begins here: what the family has no part in is settled before anything is held against it
    if first and water_of(description) == "none":
        return (StateFound("water", "none", f"a {description.family} has no tap"), *bodies)
    return bodies


def _bodies(asked: _Asked, text: str) -> tuple[Body, ...]:
    state = asked.state
    if state.ended is not None and text.casefold() != "undo":
        raise MoveError(
            seen=f"{text!r} in call {state.call}, ended as {state.ended.body.as_}",
            allowed="undo",
            do="undo the ending first, or open another call for another job",
        )
    # Whole names first: `open the taps` is a step and no panel
    if text.casefold() in _STEPS:
        return (_step(asked, _STEPS[text.casefold()]),)
    if text.casefold() in (*SPOKEN, *ENDINGS):
        return (_end(asked, text),)
    for begins, body_of in _BEGINNINGS.items():
        if text.casefold().startswith(begins):
            return body_of(asked, text[len(begins) :].strip())
    return _repairs(asked, text)


def steps_known(description: Description) -> tuple[str, ...]:
    """Names of all steps of a family."""
    panels = [f"{what}{panel}" for panel in panels_of(description) for what in (OPEN, CLOSE)]
    return (*dict.fromkeys(step.name for step in STEPS), *panels)


def _step(asked: _Asked, name: str) -> StateClaimed:
    here = asked.state.safety or arrival(asked.description)
    step, said = step_of(name, here), asked.said
    if step is None:
        raise _no_action(asked, name)
    # Who works on a dead or live machine says what he saw; for the rest the table's words are the claim
    if not said.proof and (step.who != "any" or name in TOLD):
        raise MoveError(
            seen=f"{name!r} without its proof", allowed=step.proof, do="say what you saw, with --proof"
        )
    return StateClaimed(name, said.proof or step.proof, said.who)


def _panel(what: str) -> Callable[[_Asked, str], tuple[Body, ...]]:
    def body(asked: _Asked, rest: str) -> tuple[Body, ...]:
        panels = {panel.casefold(): panel for panel in panels_of(asked.description)}
        panel = panels.get(rest.casefold())
        if panel is None:
            raise MoveError(seen=f"panel {rest!r}", allowed=listed(panels.values()), do="name one of these")
        return (_step(asked, f"{what}{panel}"),)

    return body


def _found(asked: _Asked, rest: str) -> StateFound:
    facet, _, value = rest.partition(" ")
    facet = facet.casefold()
    if facet not in (*FACETS, "panel"):
        raise MoveError(
            seen=f"found {rest!r}",
            allowed=listed((*FACETS, "panel")),
            do="say found, which of these, and how it is",
        )
    known = panels_of(asked.description) if facet == "panel" else FACETS[facet]
    named = {v.casefold(): v for v in known}.get(value.strip().casefold())
    if named is None:
        raise MoveError(seen=f"{facet} found {value!r}", allowed=listed(known), do="name one of these")
    return StateFound(facet, named, asked.said.why)


def _hazard(asked: _Asked, rest: str) -> StateFound:
    why = asked.said.why or rest.removeprefix(":").strip()
    if not why:
        raise MoveError(
            seen=f"a hazard, and {why!r} on it",
            allowed="smell of gas, smoke, shock, water on live parts, burnt outlet",
            do="say what it is, with --because",
        )
    return StateFound("hazard", "seen", why)


def _repairs(asked: _Asked, text: str) -> tuple[Body, ...]:
    # One new part may cure several causes: all of them are repaired
    return tuple(_repair(asked, fault) for fault in _faults(asked, text))


def _repair(asked: _Asked, fault: Fault) -> RepairDone:
    if fault.id in asked.state.ordered:
        raise MoveError(
            seen=f"repair of {fault.id} while its part is on order",
            allowed="a part in hand",
            do=f"first: take {fault.id}",
        )
    done = RepairDone(fault.id, asked.said.why)
    # A danger says more than the state it leaves
    check_below(asked.description, asked.state, done)
    check_repair(asked.description, fault, asked.state.safety)
    return done


def _tested(asked: _Asked, rest: str) -> tuple[Body, ...]:
    works = TESTED.get(rest.casefold())
    if works is None:
        raise MoveError(seen=f"tested {rest!r}", allowed=listed(TESTED), do="say which of these it showed")
    test = Tested(works, asked.said.why)
    check_below(asked.description, asked.state, test)
    return (*before_test(asked.description, asked.state.safety), test)


def _order(asked: _Asked, rest: str) -> tuple[Body, ...]:
    return tuple(PartOrdered(fault.id, asked.said.why) for fault in _faults(asked, rest))


def _take(asked: _Asked, rest: str) -> tuple[Body, ...]:
    return tuple(PartTaken(fault.id, asked.said.why) for fault in _faults(asked, rest))


def _hand_over(asked: _Asked, rest: str) -> HandedOver:
    to = rest.removeprefix("to ").strip()
    ids = to.replace("/", " ").split()[:1]
    fault = next((f for f in asked.description.faults.values() if f.id in ids), None)
    because = fault.title if fault else ""
    # A cause that is not ours is handed to whoever it belongs to; what is left of the house is water
    if fault is not None:
        to = OTHERS.get(domain_of(fault), PLUMBER)
    if not to or not (asked.said.why or because):
        raise MoveError(
            seen=f"hand over to {to!r} without a reason" if to else "hand over to nobody",
            allowed=f"somebody, such as {listed(OTHERS.values())}, and why",
            do="say to whom, and why with --because",
        )
    return HandedOver(to, asked.said.why or because)


def _end(asked: _Asked, rest: str) -> CallEnded:
    spoken = rest.casefold().removeprefix("as ").strip()
    how = SPOKEN.get(spoken, spoken)
    # A plan that gives up after a repair leaves that repair unproven
    if how != spoken and how == "stopped" and asked.state.repairs:
        how = "unproven"
    if how not in ENDINGS:
        raise MoveError(seen=f"the call ended as {rest!r}", allowed=listed(ENDINGS), do="name one of these")
    return CallEnded(how, asked.said.why)


def _undo(asked: _Asked) -> Corrected:
    state = asked.state
    doings = [
        id
        for id, kind in state.settled.subject.items()
        if kind in UNDONE | {RepairDone.KIND}
        and state.settled.standing[id] is not None
        and _is_own(state, id)
    ]
    if not doings:
        raise MoveError(
            seen=f"undo in call {state.call}, where nothing was done",
            allowed="a step, repair, test, part, quote, consent, payment, hand over or end",
            do="withdraw a reading by its check",
        )
    return Corrected(max(doings), None, asked.said.why)


def _is_own(state: CallState, id: str) -> bool:
    # A correction has the subject of what it corrects, but is not itself the doing
    return not isinstance(state.settled.standing[id], Corrected)


def _faults(asked: _Asked, text: str) -> list[Fault]:
    """The causes named in words, by their ids: as typed, or as a plan names an action."""
    named = {id.casefold(): fault for id, fault in asked.description.faults.items()}
    words = text.casefold().replace("/", " ").replace(",", " ").split()
    found = [named[word] for word in dict.fromkeys(words) if word in named]
    if not found:
        raise _no_action(asked, text)
    return found


def _no_action(asked: _Asked, text: str) -> MoveError:
    checks = {id.casefold(): id for id in asked.description.checks}
    if text.casefold() in checks:
        id = checks[text.casefold()]
        return MoveError(
            seen=f"{text!r}, a check",
            allowed="what was done to the machine",
            do=f"record what it showed: tundish reading CALL {id} VALUE",
        )
    known = (*steps_known(asked.description), *asked.description.faults)
    return MoveError(
        seen=f"{text!r} done",
        allowed="a step, a cause that was repaired, tested, found, hazard, order, take, hand over, end, undo",
        do=near(text, known) or "see the state for the steps that are open",
    )


_STEPS = {step.name.casefold(): step.name for step in STEPS}
_BEGINNINGS: dict[str, Callable[[_Asked, str], tuple[Body, ...]]] = {
    "hand over": lambda asked, rest: (_hand_over(asked, rest),),
    "found ": lambda asked, rest: (_found(asked, rest),),
    "hazard": lambda asked, rest: (_hazard(asked, rest),),
    "tested": _tested,
    "order ": _order,
    "take ": _take,
    "end ": lambda asked, rest: (_end(asked, rest),),
    "undo": lambda asked, rest: (_undo(asked),),
    OPEN: _panel(OPEN),
    CLOSE: _panel(CLOSE),
}
