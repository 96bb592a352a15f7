"""Which checks are worth planning with: a cheap figure of what each saves, before the planner looks at it properly.

The figure is the expected cost of trying remedies by chance over cost (P/C, see `indices`), with access and orders counted
but not shared, and giving up where that is cheaper. A check saves what this falls by when its answer is known.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from tundish.plan.change import Floats
from tundish.plan.outcomes import merged

# Most checks a plan weighs, and most bands of a reading. Our choice: more made decisions slower, hardly better.
MOST_CHECKS, MOST_BANDS = 10, 3
TINY = 1e-12
# Checks looked at one by one, beliefs told apart meanwhile, and a saving too small to look at. Our choice.
POOL, ROWS, LEAST_SAVING = 24, 10, 0.02


@dataclass(frozen=True, eq=False)
class Trying:
    """Remedies as a cheap figure sees them. cures : (d, n) chance that each works. cost : (d,) money. give_up : money."""

    cures: Floats
    cost: Floats
    give_up: float

    def expected(self, joint: Floats) -> Floats:
        """Expected cost x chance, (k,), for rows of chance x weight (k, n)."""
        chance = joint.sum(axis=1)
        p = joint @ self.cures.T / np.maximum(chance, TINY)[:, None]
        order = np.argsort(-p / self.cost, axis=1, kind="stable")
        p, c = np.take_along_axis(p, order, axis=1), self.cost[order]
        left = np.maximum(1.0 - np.cumsum(p, axis=1), 0.0)
        before = np.concatenate([np.ones((len(p), 1)), left[:, :-1]], axis=1)
        tried = np.cumsum(c * before, axis=1) + left * self.give_up
        return np.asarray(chance * np.minimum(tried.min(axis=1, initial=self.give_up), self.give_up))

    def guessed(self, joint: Floats) -> Floats:
        """Chance that the likeliest remedy is the wrong one, x chance, (k,)."""
        return np.asarray(joint.sum(axis=1) - (joint @ self.cures.T).max(axis=1, initial=0.0))


def savings(trying: Trying, tables: Sequence[Floats], weight: Floats) -> tuple[Floats, Floats]:
    """What each check saves in money and in chance to guess wrong, (checks,). tables : P(outcome | machine), (k, n) each."""
    if not tables:
        return np.zeros(0), np.zeros(0)
    first = np.cumsum([0, *(len(t) for t in tables)])[:-1]
    joint = np.concatenate(tables) * weight
    now = weight[None, :]
    money = trying.expected(now)[0] - np.add.reduceat(trying.expected(joint), first)
    wrong = trying.guessed(now)[0] - np.add.reduceat(trying.guessed(joint), first)
    return np.maximum(money, 0.0), np.maximum(wrong, 0.0)


def chosen(
    trying: Trying,
    tables: Sequence[Floats],
    weight: Floats,
    cost: Floats,
    *,
    perishable: Sequence[int] = (),
    most: int = MOST_CHECKS,
) -> list[int]:
    """The checks to plan with, picked one by one for what each saves once the answers of those before it are known.

    In turn the one that saves most for its cost and the one that saves most. Four ways to see one cause bring little more
    than one; checks that see other causes get their place. perishable : checks whose evidence goes when the machine is
    moved; they are in when they pay.
    """
    money, wrong = savings(trying, tables, weight)
    # Two checks together may save what neither saves alone; being right more often stands for that
    worth = money + trying.give_up * wrong / len(trying.cost)
    pool = np.argsort(-worth, kind="stable")[:POOL].tolist()
    pool = [i for i in pool if worth[i] > LEAST_SAVING]
    picked = [i for i in perishable if money[i] > cost[i]]
    pool = [i for i in pool if i not in picked]
    known = weight[None, :]
    while pool and len(picked) < most:
        gains = np.array([_gain(trying, known, tables[i]) for i in pool])
        # The first rule alone would take only cheap looks, the second only dear readings
        score = gains / cost[pool] if len(pool) % 2 == 0 else gains - cost[pool]
        best = pool.pop(int(np.argmax(score)))
        picked.append(best)
        known = _coarse((known[:, None, :] * tables[best]).reshape(-1, known.shape[1]))
    return picked


def _gain(trying: Trying, known: Floats, table: Floats) -> float:
    joint = (known[:, None, :] * table).reshape(-1, known.shape[1])
    return float(trying.expected(known).sum() - trying.expected(joint).sum())


def _coarse(rows: Floats) -> Floats:
    """The likeliest rows, the others added up."""
    if len(rows) <= ROWS:
        return rows
    order = np.argsort(-rows.sum(axis=1), kind="stable")
    return np.vstack([rows[order[:ROWS]], rows[order[ROWS:]].sum(axis=0)])


def bands(trying: Trying, table: Floats, weight: Floats, *, most: int = MOST_BANDS) -> list[int]:
    """Last rows of the bands when neighbours are joined until `most` are left, each time where it costs least."""
    keep = list(range(len(table)))
    while len(keep) > most:
        now = merged(table, keep) * weight
        joined = now[:-1] + now[1:]
        apart = trying.expected(now)
        loss = trying.expected(joined) - apart[:-1] - apart[1:]
        # Of equal losses the joint that puts least chance together goes first, so that rare bands do not stay alone
        keep.pop(int(np.lexsort((joined.sum(axis=1), np.round(loss, 9)))[0]))
    return keep


def question_chances(times: Mapping[str, float], left: Sequence[frozenset[str]]) -> Floats:
    """P(yes), P(no) of a circumstance on machines with these faults, (2, n).

    The description says by how much a yes multiplies a fault's share; how often anybody says yes it does not say. Yes is
    taken at 0.9 for the fault it points to most, and never above 0.2 where it says nothing (our choice).
    """
    most = max([1.0, *times.values()])
    usual = min(0.2, 0.9 / most)
    yes = np.array([min(0.9, usual * max([times.get(f, 1.0) for f in faults] or [1.0])) for faults in left])
    return np.array([yes, 1.0 - yes])
