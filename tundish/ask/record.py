"""From an answer on the phone to the events that keep it: the answer itself, and what it stands for."""

from __future__ import annotations

from tundish.appliance.possible import complaints_of
from tundish.appliance.records import Description, Question, Reply
from tundish.appliance.refusals import listed, near
from tundish.call.answering import answered
from tundish.call.asking import QuestionAnswered
from tundish.call.bodies import Body, ReadingTaken
from tundish.call.entry import EntryError, check_in, one_of, reading_of
from tundish.call.fold import CallState
from tundish.call.hazards import safety_of
from tundish.call.lawful import before_reading


def record_answer(
    description: Description, state: CallState, question: str, said: str, *, seconds: float = 0.0
) -> tuple[Body, ...]:
    """The events of an answer: itself, the circumstances it tells or denies, the look it is.

    EntryError for an unknown question or answer. seconds : of phone time, [s].
    """
    asked = question_named(description, question)
    market = state.opened.body.market if state.opened else ""
    reply = reply_of(description, asked, said, market)
    if reply is not None and reply.complaint not in ("", state.opened.body.complaint if state.opened else ""):
        raise EntryError(
            f"question {asked.id}: saw {reply.name!r} in a call that is open; allowed: answers that do not change the "
            f"complaint; open another call with complaint {reply.complaint}, or leave it"
        )
    answer = QuestionAnswered(asked.id, reply.name if reply else " ".join(said.split()), seconds)
    return (answer, *_told(state, asked, answer, reply), *_look(description, state, asked, answer))


def question_named(description: Description, named: str) -> Question:
    """The question of an id, letter case aside. EntryError with near matches."""
    return description.questions[one_of(named, description.questions, "question")]


def reply_of(description: Description, asked: Question, said: str, market: str) -> Reply | None:
    """The answer meant; None for a question answered in the customer's own words. EntryError for no such answer."""
    replies = replies_in(description, asked, market)
    if not asked.replies:
        if not said.strip():
            raise EntryError(
                f"question {asked.id}: saw no answer; allowed: the customer's own words; write them down"
            )
        return None
    words = " ".join(said.split()).casefold()
    found = next((reply for reply in replies if reply.name.casefold() == words), None)
    if found is None:
        names = [reply.name for reply in replies]
        raise EntryError(
            f"question {asked.id}: saw {said!r}; allowed: {listed(names)}; {near(said, names) or 'name one of these'}"
        )
    return found


def replies_in(description: Description, asked: Question, market: str) -> tuple[Reply, ...]:
    """The answers that make sense in a market."""
    there = complaints_of(description, market) if market else tuple(description.complaints)
    return tuple(reply for reply in asked.replies if not reply.complaint or reply.complaint in there)


def _told(
    state: CallState, asked: Question, answer: QuestionAnswered, reply: Reply | None
) -> tuple[Body, ...]:
    # A question about a look tells its circumstances through the odds of the look alone
    if reply is None:
        return ()
    told = [body for name in reply.told for body in answered(state, answer, name)[1:]]
    denied = [
        body
        for name in asked.denied(reply.name)
        if name not in state.circumstances
        for body in answered(state, answer, name, holds=False)[1:]
    ]
    return (*told, *denied)


def _look(
    description: Description, state: CallState, asked: Question, answer: QuestionAnswered
) -> tuple[Body, ...]:
    market = state.opened.body.market if state.opened else ""
    if not asked.check:
        return ()
    found = reading_of(check_in(description, market, asked.check), answer.answer)
    return (
        *before_reading(description, description.checks[asked.check], safety_of(description, state)),
        ReadingTaken(found.check, None, found.answer, typed=f"told on the phone: {answer.answer}"),
    )
