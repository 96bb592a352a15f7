"""The dangers that stand in a call: what was read, told or answered stops all work below it.

They are worked out from the facts each time, so the correction of a reading lifts what it showed.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from tundish.appliance.records import HALTS, Description, StopWord
from tundish.call.bodies import Body, Corrected, NoteAdded
from tundish.call.doings import CallEnded, HandedOver, StateClaimed, StateFound
from tundish.call.errors import MoveError
from tundish.call.fold import CallState
from tundish.call.heard import heard_in, said_before
from tundish.call.readings import for_odds
from tundish.call.safety import ARRIVAL, step_of, unsafe_to_leave
from tundish.diagnosis.notices import asks
from tundish.plan.demands import water_of
from tundish.plan.states import Safety
from tundish.quantity.show import show

ISOLATE, LEAVE = HALTS
# Who takes over where the stop words name nobody.
ELECTRICIAN = "a licensed electrician"
# How a call may end below a hazard; unproven only because what was repaired stays on record.
ENDS = ("handed over", "stopped", "unproven", "refused")
# All that may be recorded below a hazard beside making safe.
SAID = (HandedOver, CallEnded, Corrected, NoteAdded, StateFound)
# Of the steps at the power only this may be made where not even the plug is touched: nobody is left with a live machine.
OFF_AGAIN = "off again"


@dataclass(frozen=True)
class Hazard:
    """A danger that stands. name : of its notice or stop word. shown : by what. say : what to do now. refer : who takes over.

    leave : not even the plug is touched.
    on_site : it was read at the machine, not told.
    """

    name: str
    shown: str
    say: str
    refer: str
    leave: bool
    on_site: bool


def hazards(description: Description, state: CallState) -> tuple[Hazard, ...]:
    """The dangers that stand in a call, those read first, then those told, then those heard in what was said."""
    found = (*_read(description, state), *_told(description, state))
    named = {hazard.name for hazard in found}
    return (*found, *(h for h in _said(description, state) if h.name not in named))


def safety_of(description: Description, state: CallState) -> Safety | None:
    """The safety state with what was read and told counted in: a danger that stands is a hazard seen. None when untracked."""
    if not hazards(description, state):
        return state.safety
    here = state.safety or replace(ARRIVAL, water=water_of(description))
    return replace(here, hazard="seen")


def check_below(description: Description, state: CallState, body: Body) -> None:
    """MoveError for what may not be done while a danger stands: anything but making safe, handing over and ending."""
    found = hazards(description, state)
    here = safety_of(description, state)
    if here is None or here.hazard != "seen":
        return
    why = _barred(body, here, leave=any(h.leave for h in found))
    if isinstance(body, CallEnded) and not why:
        why = _left(state, here, found)
    if why:
        raise MoveError(seen=f"{_named(body)} while {shown(found)}", allowed=why, do=cure(found))


def shown(found: tuple[Hazard, ...]) -> str:
    """What showed the danger, in words."""
    return "; ".join(h.shown for h in found) or "a hazard was seen"


def cure(found: tuple[Hazard, ...]) -> str:
    """What to do now, and to whom it goes."""
    if not found:
        return "isolate the machine, put it out of use, tell the customer in writing and hand over"
    said = " ".join(dict.fromkeys(h.say for h in found))
    to = " and ".join(dict.fromkeys(h.refer for h in found))
    safe = "Touch nothing" if any(h.leave for h in found) else "Isolate it and put it out of use"
    return f"{said} {safe}, tell the customer in writing, hand over to {to}; or correct what was recorded wrongly"


def _read(description: Description, state: CallState) -> Iterator[Hazard]:
    for notice in description.notices.values():
        if not notice.halts:
            continue
        for reading in (r for spell in state.spells for r in for_odds(spell) if asks(notice, r)):
            value = reading.answer or show(reading.value or 0.0, description.checks[reading.check].unit)
            what = f"{notice.name}: {reading.check} shows {value}"
            yield Hazard(notice.name, what, notice.say, notice.refer, notice.halts == LEAVE, on_site=True)


def _told(description: Description, state: CallState) -> Iterator[Hazard]:
    answers = {(fact.body.question, fact.body.answer) for fact in state.job.answers}
    looks = {(r.check, r.answer) for spell in state.spells for r in for_odds(spell)}
    told = set(state.circumstances)
    for question in description.questions.values():
        for reply in question.replies:
            said = {(question.id, reply.name)} & answers or {(question.check, reply.name)} & looks
            if reply.stop and (said or told & set(reply.told)):
                yield _meant(description.stop_words[reply.stop], f"told {reply.name!r}")


def _said(description: Description, state: CallState) -> Iterator[Hazard]:
    for word in heard_in(description, said_before(description, state)):
        yield _meant(word, "it stands in what the customer said")


def _meant(word: StopWord, how: str) -> Hazard:
    refer = word.refer or ELECTRICIAN
    return Hazard(word.name, f"{word.name}: {how}", word.say, refer, leave=word.halts == LEAVE, on_site=False)


def _barred(body: Body, here: Safety, *, leave: bool) -> str:
    """What is allowed instead of a body; empty when it may be recorded."""
    if isinstance(body, CallEnded):
        return "" if body.as_ in ENDS else f"an ending as {', '.join(ENDS)}"
    if isinstance(body, SAID):
        return ""
    if not isinstance(body, StateClaimed):
        return "making safe, putting out of use, handing over, ending"
    step = step_of(body.step, here)
    if step is None:
        return ""
    if leave and step.facet == "power" and step.name != OFF_AGAIN:
        return "no step at the power: not even its plug is touched"
    # Looking again takes nothing back: what was recorded wrongly is corrected
    if step.facet == "hazard" or "hazard" in step.needs:
        return "no step that asks for a machine without hazard: hazard is seen, must be none seen"
    return "no panel opened" if step.facet == "panels" and step.end != "closed" else ""


def _left(state: CallState, here: Safety, found: tuple[Hazard, ...]) -> str:
    # Nobody was there: the customer keeps away from it, and no step of ours can be asked
    if state.safety is None and not any(h.on_site for h in found):
        return ""
    if any(h.leave for h in found):
        return "" if here.power != "live" else f"a machine not live: {OFF_AGAIN}"
    why = unsafe_to_leave(here)
    return f"a machine safe to be left; {why}" if why else ""


def _named(body: Body) -> str:
    if isinstance(body, StateClaimed):
        return f"step {body.step!r}"
    return f"the call ended as {body.as_}" if isinstance(body, CallEnded) else f"{body.kind!r}"
