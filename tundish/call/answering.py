"""From an answer to the events that record it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from tundish.appliance.records import Description
from tundish.call.asking import QuestionAnswered
from tundish.call.bodies import Body, CircumstanceAdded, Corrected
from tundish.call.doings import CircumstanceDenied
from tundish.call.fold import CallState


def answered(
    state: CallState, answer: QuestionAnswered, circumstance: str = "", *, holds: bool = True
) -> tuple[Body, ...]:
    """The answer, and what it tells of a circumstance.

    circumstance : the one the question asks for, "" for none. holds : whether the answer means that it holds.
    One that was told already, or denied as now, is not told again.
    """
    known = state.circumstances if holds else (*state.circumstances, *state.denied)
    if not circumstance or circumstance in known:
        return (answer,)
    return (answer, CircumstanceAdded(circumstance) if holds else CircumstanceDenied(circumstance))


def denied(description: Description, state: CallState, name: str) -> tuple[Body, ...]:
    """A circumstance denied; where it was told before, all that told it is taken back first."""
    return (*_taken_back(description, state, name), CircumstanceDenied(name))


def _taken_back(description: Description, state: CallState, name: str) -> Iterator[Corrected]:
    why = f"{name}: denied later"
    opened, standing = state.opened, state.settled.standing
    if opened is not None and name in opened.body.circumstances:
        others = tuple(one for one in opened.body.circumstances if one != name)
        yield Corrected(opened.event, replace(opened.body, circumstances=others), why)
    # Two devices may both have told it
    for event in state.events:
        body = standing[event.id]
        if isinstance(body, CircumstanceAdded) and body.name == name:
            yield Corrected(event.id, None, why)
    for answer in state.job.answers:
        question = description.questions.get(answer.body.question)
        if question and any(name in r.told for r in question.replies if r.name == answer.body.answer):
            yield Corrected(answer.event, None, why)
