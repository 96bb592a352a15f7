"""From an answer to the events that record it."""

from __future__ import annotations

from tundish.call.asking import QuestionAnswered
from tundish.call.bodies import Body, CircumstanceAdded
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
