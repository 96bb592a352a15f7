"""A call on the phone as plain facts: the next questions, the price bracket, minutes, what may be said, what is missing."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from tundish.appliance.records import Description, Question
from tundish.ask.question_value import Turn, Valued, first_questions
from tundish.ask.record import replies_in
from tundish.ask.stops import stops
from tundish.call.fold import CallState
from tundish.documents.facts import DEFERENCE
from tundish.store.counsel import Counsel
from tundish.store.phone import Phone

Facts = dict[str, Any]
# Why somebody is to look again when it is only that the visit is booked.
VISIT = "visit"
# Classes that are proposed; more would not help on the phone.
MOST_MEANT, LEAST_MEANT = 4, 0.001
DANGER = "safety is asked first, whatever it costs"


def ask_facts(asked: Counsel, found: Phone) -> Facts:
    """What to ask and say in a call. Money is an estimate in whole units of the currency, tax included."""
    matter, description = asked.found.matter, asked.found.description
    return {
        "call": asked.state.call,
        "family": matter.family,
        "market": matter.market,
        "complaint": matter.complaint,
        "complaint_title": description.complaints[matter.complaint].title,
        "currency": asked.shop.currency,
        "stop": [{"name": w.name, "say": w.say, "refer": w.refer} for w in found.stops],
        "questions": [valued_facts(description, v, matter.market) for v in found.questions],
        "answers": [_answer(description, fact.body.question, fact.body.answer) for fact in asked.state.job.answers],
        "bracket": _bracket(description, found),
        "minutes_on_site": {
            "low": found.on_site.low,
            "usual": found.on_site.usual,
            "high": found.on_site.high,
            "repair": found.on_site.repair,
        },
        "advice": {
            "say": [{"fault": t.fault, "chance": t.chance, "say": t.say} for t in found.advice.tips],
            "line": found.advice.line,
            "never": list(found.advice.never),
            "settled": found.advice.settled,
            "why_not": found.advice.why_not,
        },
        "missing": [
            {"question": m.question, "fact": m.fact, "ask": m.ask, "lost_trip": m.lost_trip}
            for m in found.missing
        ],
        "photos": [{"question": p.question, "what": p.what} for p in found.photos],
        "deference": DEFERENCE,
    }  # fmt: skip


def first_facts(description: Description, market: str) -> Facts:
    """What to ask while the complaint is not known: danger, then what it does, by the classes of the market."""
    danger = [q for q in description.questions.values() if any(r.stop for r in q.replies)]
    asked = [*danger, *first_questions(description)]
    return {
        "family": description.family,
        "market": market,
        "questions": [question_facts(description, q, market) for q in dict.fromkeys(asked)],
        "stop": [
            {"name": w.name, "say": w.say, "refer": w.refer} for w in description.stop_words.values()
        ],
        "deference": DEFERENCE,
    }


def meant_facts(description: Description, said: str, pairs: Sequence[tuple[str, float]]) -> Facts:
    """Which class a customer's words point to, likeliest first, and words of danger in them. pairs : (class, chance)."""
    return {
        "said": said,
        "meant": [
            {"complaint": name, "title": description.complaints[name].title, "chance": chance}
            for name, chance in pairs[:MOST_MEANT]
            if chance >= LEAST_MEANT
        ],
        "danger": [{"name": w.name, "say": w.say, "refer": w.refer} for w in stops(description, said=[said])],
    }


def booked_facts(state: CallState) -> Facts:
    """Who asked for help, where the machine is, what its plate says, and the day of the visit."""
    customer, machine, visit = state.job.customer, state.job.machine, state.job.follow_up
    return {
        "call": state.call,
        "customer": asdict(customer.body) if customer else None,
        "machine": asdict(machine.body) if machine else None,
        "age": state.opened.body.age if state.opened else None,
        "visit": None if visit is None else {"date": visit.body.date, "why": visit.body.why},
    }


def question_facts(description: Description, question: Question, market: str) -> Facts:
    """A question with the answers that make sense in a market; none for one answered in the customer's own words."""
    return {
        "id": question.id,
        "ask": question.ask,
        "seconds": question.seconds,
        "answers": [
            {"answer": r.name, "complaint": r.complaint, "told": list(r.told), "stop": r.stop}
            for r in replies_in(description, question, market)
        ],
        "photo": question.photo,
    }


def valued_facts(description: Description, valued: Valued, market: str) -> Facts:
    """A question with its worth by the second, and the bracket after each answer."""
    return {
        **question_facts(description, valued.question, market),
        "worth": valued.worth,
        "worth_a_second": valued.each_second,
        "saves": valued.saves,
        "narrows": valued.narrows,
        "keeps": valued.keeps,
        "why": DANGER if valued.asks_danger else _why(valued),
        "turns": [_turn(turn) for turn in valued.turns],
    }


def _why(valued: Valued) -> str:
    parts = {
        "it changes what to do": valued.saves,
        "it narrows the price": valued.narrows / 10,
        "without it the visit may be lost": valued.keeps,
    }
    best = max(parts, key=lambda words: parts[words])
    return best if parts[best] > 0 else "it changes nothing now"


def _turn(turn: Turn) -> Facts:
    return {
        "answer": turn.answer,
        "chance": turn.chance,
        "low": turn.low,
        "high": turn.high,
        "stop": turn.stop,
    }


def _answer(description: Description, question: str, answer: str) -> Facts:
    known = description.questions.get(question)
    return {"question": question, "ask": known.ask if known else "", "answer": answer}


def _bracket(description: Description, found: Phone) -> Facts:
    said, asking = found.bracket, found.narrowing
    return {
        "low": said.low,
        "high": said.high,
        "middle": said.middle,
        "visit": said.visit,
        "elsewhere": said.elsewhere,
        "reasons": [
            {
                "cause": reason.cause,
                "title": _title(description, reason.cause),
                "chance": reason.chance,
                "low": reason.low,
                "high": reason.high,
                "narrower": reason.narrower,
            }
            for reason in said.reasons
        ],
        "question": None
        if asking is None
        else {"id": asking.question.id, "ask": asking.question.ask, "narrows": asking.narrows},
    }


def _title(description: Description, cause: str) -> str:
    return description.faults[cause].title if cause in description.faults else cause
