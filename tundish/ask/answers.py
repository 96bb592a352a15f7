"""What each answer to a question says about each kind of machine."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from tundish.appliance.records import Description, Question
from tundish.ask.matter import Matter
from tundish.diagnosis.reading import NOT_THERE
from tundish.plan.candidates import question_chances
from tundish.plan.change import Floats
from tundish.plan.standing import Standing
from tundish.plan.wired import check_tables

# Least share of the answers of which nothing follows; the planner's own for a question with yes and no. Our choice.
LEAST_REST = 0.1
# Share of customers who name one of several circumstances that have nothing to do with their fault. Our choice.
MOST_TOLD = 0.5
Answers = Mapping[str, tuple[tuple[str, ...], Floats]]


def answer_chances(call: Matter, asked: Sequence[Question]) -> Answers:
    """Question id -> its answers and P(answer | kind), (answers, k + 1), of those questions that say something on machines."""
    looks = _looks(call, {question.check for question in asked if question.check})
    found = {}
    for question in asked:
        if question.check in looks:
            found[question.id] = looks[question.check]
        elif question.circumstances:
            names = tuple(reply.name for reply in question.replies)
            found[question.id] = names, told_chances(call.description, question, [*call.kinds, frozenset()])
    return found


def told_chances(description: Description, question: Question, kinds: Sequence[frozenset[str]]) -> Floats:
    """P(answer | kind) of a question about circumstances, (answers, n).

    Each answer that tells something is as likely as the planner takes it to be on its own. Where many of them stand side by
    side they are made rarer together, so that `MOST_TOLD` of the customers at most name one of them when the machine has
    nothing to do with it. What they leave goes to the other answers, and at least `LEAST_REST` of it.
    """
    each = [_told(description, reply.told, [*kinds, frozenset()]) for reply in question.replies]
    rows = [row for row in each if row is not None]
    said = np.sum(rows, axis=0)
    silent = len(each) - len(rows)
    rarer = min(1.0, MOST_TOLD / float(said[-1])) if silent else 1.0
    rest = np.maximum(1.0 - rarer * said, LEAST_REST) / max(silent, 1)
    table = np.array([rest if row is None else rarer * row for row in each])
    return np.asarray(table / table.sum(axis=0))[:, :-1]


def _told(description: Description, told: Sequence[str], kinds: Sequence[frozenset[str]]) -> Floats | None:
    """Chance of an answer before it is set beside the others, (n,); None where it tells nothing."""
    if not told:
        return None
    times: dict[str, float] = {}
    for name in told:
        for fault, factor in description.circumstances[name].times.items():
            times[fault] = times.get(fault, 1.0) * factor
    return np.asarray(question_chances(times, kinds)[0])


def _looks(call: Matter, checks: set[str]) -> dict[str, tuple[tuple[str, ...], Floats]]:
    """Tables of looks that a customer takes, by check."""
    if not len(call.sample.rows):
        return {}
    # All others count as taken, so that only these are worked out
    read = frozenset(call.description.checks) - checks
    standing = replace(Standing(), read=read, phone=True)
    tables = check_tables(call.place, call.cloud, standing, call.sample)
    return {
        t.check.id: (t.cut.names(t.check) if t.has_all else (*t.cut.names(t.check), NOT_THERE), t.chances)
        for t in tables
    }
