"""Which question to ask next: what an answer is worth, by the second of phone time.

An answer is worth the money by which the expected cost of the call falls, by the planner's own cheap figure, and a tenth of
the money by which it brings the ends of the price bracket together. A question whose lack loses visits is worth those visits.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tundish.appliance.records import Description, Question
from tundish.ask.answers import Answers, answer_chances
from tundish.ask.bracket import ends, narrowing
from tundish.ask.matter import Matter, trying
from tundish.ask.tariff import Bills, Tariff, bills
from tundish.plan.candidates import Trying, savings
from tundish.plan.change import Floats

# A bracket narrower by ten is worth one to the customer who must decide on it. Our choice.
WIDTH = 0.1
# Money below which nothing is saved but rounding.
NOTHING_SAVED = 1e-9


@dataclass(frozen=True)
class Turn:
    """What an answer leads to. told, denied : circumstances to record. low, high : the bracket after it, money. stop : stop words."""

    answer: str
    chance: float
    low: float
    high: float
    told: tuple[str, ...]
    denied: tuple[str, ...]
    stop: str


@dataclass(frozen=True)
class Valued:
    """A question with its worth.

    saves : fall of the expected cost of the call. narrows : fall of the distance between the ends of the bracket.
    keeps : expected cost of the visits lost without it. All money. turns : by answer, none where nothing is worked out.
    """

    question: Question
    saves: float
    narrows: float
    keeps: float
    turns: tuple[Turn, ...]

    @property
    def worth(self) -> float:
        """Money of all three; what narrows counts a tenth."""
        return self.saves + WIDTH * self.narrows + self.keeps

    @property
    def each_second(self) -> float:
        """Worth by the second of phone time."""
        return self.worth / self.question.seconds

    @property
    def asks_danger(self) -> bool:
        """Whether one of its answers is a stop word: safety is never weighed against money."""
        return any(reply.stop for reply in self.question.replies)


def first_questions(description: Description) -> tuple[Question, ...]:
    """What to ask while the complaint is not known: only its class says what could be simulated."""
    return tuple(q for q in description.questions.values() if any(reply.complaint for reply in q.replies))


def open_questions(call: Matter) -> tuple[Question, ...]:
    """The questions of a call that are not answered yet, in the file's order."""
    return tuple(
        q
        for q in call.description.questions.values()
        if q.fits(call.complaint.name)
        and not any(reply.complaint for reply in q.replies)
        # Of several circumstances in one question one that is known settles it
        and call.known.isdisjoint({q.id, q.check, *q.circumstances} - {""})
    )


def ranked(call: Matter, tariff: Tariff) -> tuple[Valued, ...]:
    """The open questions, worth most by the second first; of equals the shorter one. Those worth nothing come last."""
    asked = open_questions(call)
    billed = bills(call.description, call.shop, tariff, kinds=call.kinds)
    guess = trying(call.description, call.shop, call.kinds, weight=call.weight)
    found = valued(
        asked, answer_chances(call, asked), call.weight, guess=guess, billed=billed, trip=call.shop.trip
    )
    return in_order(found)


def valued(
    asked: Sequence[Question],
    tables: Answers,
    weight: Floats,
    *,
    guess: Trying,
    billed: Bills,
    trip: float,
) -> tuple[Valued, ...]:
    """Questions with their worth, in the order given. weight : (n,) of the kinds. trip : money of a second visit."""
    # All tables are weighed in one go; what has no table is worth its lost visits alone
    ids = [q.id for q in asked if q.id in tables]
    saved, _ = savings(guess, [tables[i][1] for i in ids], weight)
    saves = dict(zip(ids, saved.tolist(), strict=True))
    out = []
    for question in asked:
        names, table = tables.get(question.id, ((), np.zeros((0, len(weight)))))
        narrows = narrowing(weight, billed, table) if names else 0.0
        turns = _turns(question, names, table * weight, billed=billed)
        keeps = question.lost_trip * trip
        out.append(Valued(question, _real(saves.get(question.id, 0.0)), _real(narrows), keeps, turns))
    return tuple(out)


def in_order(found: Sequence[Valued]) -> tuple[Valued, ...]:
    """What may end the call for danger first, as given; then worth most by the second, then the shortest, then as given."""
    # Not a matter of money, so not sorted by it
    danger = [v for v in found if v.asks_danger]
    rest = [v for v in found if not v.asks_danger]
    return (*danger, *sorted(rest, key=lambda v: (-round(v.each_second, 9), v.question.seconds)))


def narrows_most(found: Sequence[Valued]) -> Valued | None:
    """The question that would narrow the bracket most, the shorter of equals; None when none would."""
    best = min(found, key=lambda v: (-round(v.narrows, 9), v.question.seconds), default=None)
    return best if best and best.narrows > 0 else None


def _real(money: float) -> float:
    return money if money > NOTHING_SAVED else 0.0


def _turns(question: Question, names: Sequence[str], joint: Floats, *, billed: Bills) -> tuple[Turn, ...]:
    replies = {reply.name: reply for reply in question.replies}
    out = []
    for name, row in zip(names, joint, strict=True):
        chance = float(row.sum())
        if chance > 0:
            # A look may show that the machine lacks what is looked at; no reply of ours stands for that
            reply = replies.get(name)
            told, stop = (reply.told, reply.stop) if reply else ((), "")
            out.append(Turn(name, chance, *ends(row, billed), told, question.denied(name), stop))
    return tuple(out)
