"""The options of a call ranked: a few steps ahead for everything, whole courses for checks."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

import numpy as np

from tundish.plan.base import worth
from tundish.plan.change import Floats
from tundish.plan.errors import PlanError
from tundish.plan.frame import Option, Situation, foresee
from tundish.plan.guide import Guide, looked_through, pays_now
from tundish.plan.live import lawful
from tundish.plan.lookahead import Budget, Scout, decide
from tundish.plan.lump import gather
from tundish.plan.problem import LOOKS

# Checks whose course is paid for exactly, and the share of a belief that is followed there. Our choice.
PAID, FOLLOWED = 3, 0.02
# Cheap checks are paid for exactly too when they are guessed this near the best. Our choice.
NEAR = 0.03
# Figures nearer than this share are one: drawing other machines moves them by as much. Our choice.
TIE = 0.025
# Before the machine is moved, a check that saves this many times its cost where the machine stands comes first, while the
# figure is within this share of the best. Our choice: the trade looks before it pulls.
STANDS, LOOK_FIRST = 2.0, 0.06


class Ranked(NamedTuple):
    """An option with the expected cost of the whole call that it keeps."""

    option: Option
    cost: float


def decided(
    lay: Guide, situation: Situation, weights: Floats, *, budget: Budget, paid: int = PAID
) -> tuple[Ranked, ...]:
    """Options by the best figure known for each, best first. The first one's figure can be kept."""
    scout = lay.scout
    costs = _one_step(scout, situation, weights)
    # A caller with time may look a few steps ahead as well; the better figure of the two is kept
    if budget.evaluations > 0:
        for rated in decide(scout, situation, weights, budget=budget).rated:
            costs[rated.option] = min(costs[rated.option], rated.cost)
    # Seen from here a check is done where it is nearest: nothing is moved before it has to be
    nearest: dict[int, Option] = {}
    for option in sorted(costs, key=lambda o: o.move):
        if option.action in lay.checks:
            nearest.setdefault(option.action, option)
    looks, pays = list(nearest.values()), pays_now(lay, situation, weights)
    if looks:
        guessed = looked_through(lay, situation, weights, looks, followed=FOLLOWED)
        here = {o for o in looks if not _moves(scout, situation, o)}
        best = _worth_paying(looks, guessed, pays, here, paid=paid)
        exact = looked_through(lay, situation, weights, best, exact=True, followed=FOLLOWED)
        for option, cost in zip(best, exact, strict=True):
            costs[option] = min(costs[option], float(cost))
        # The others are told with a figure guessed in proportion, never better than the best that is known
        least, share = min(costs.values()), float(exact.min() / guessed.min())
        for option, guess in zip(looks, guessed, strict=True):
            if not np.isfinite(costs[option]):
                costs[option] = max(float(guess) * share, least)
                pays.pop(option.action, None)
    costs = {o: c for o, c in costs.items() if np.isfinite(c)}
    if not costs:
        raise PlanError(
            seen=f"nothing lawful to do in {scout.frame.problem.access.names[situation.node]!r}",
            allowed="at least one ending",
            do="add an ending that is lawful where the call stands",
        )
    return _ranked(costs, pays, frozenset(o for o in costs if _moves(scout, situation, o)))


def _one_step(scout: Scout, situation: Situation, weights: Floats) -> dict[Option, float]:
    """Lawful options with the cost of the whole call when the base policy goes on after them; infinite for checks whose
    whole courses are looked at instead.
    """
    actions, base = scout.frame.problem.actions, scout.base
    costs: dict[Option, float] = {}
    for option in lawful(scout.frame, base, situation, weights):
        action = actions[option.action]
        if action.kind in LOOKS and not action.live:
            costs[option] = np.inf
            continue
        total, children = foresee(scout.frame, situation, option, weights)
        later = (c.chance * worth(base, c.situation, gather(base.lumps, c.weights))[0] for c in children)
        costs[option] = total + sum(later)
    return costs


def _moves(scout: Scout, situation: Situation, option: Option) -> bool:
    return (situation.node, option.node) in scout.frame.problem.access.changes


def _worth_paying(
    looks: list[Option], guessed: Floats, pays: Mapping[int, float], here: set[Option], *, paid: int
) -> list[Option]:
    """The checks guessed best, and a few near them that pay most for their cost, those for which nothing is moved first."""
    order = np.argsort(guessed, kind="stable")
    best = [looks[i] for i in order[:paid]]
    limit = guessed[order[0]] * (1.0 + NEAR)
    near = [looks[i] for i in order[paid:] if guessed[i] <= limit and looks[i].action in pays]
    return best + sorted(near, key=lambda o: (o not in here, -pays[o.action]))[: PAID // 2]


def _ranked(
    costs: Mapping[Option, float], pays: Mapping[int, float], moved: frozenset[Option]
) -> tuple[Ranked, ...]:
    """By cost. Of checks that pay by themselves and are as good as the best, first those for which the machine stays where it
    is, then the one that saves most for its cost: they are going to be done anyway, and each may spare the others.
    """
    best = min(costs, key=lambda o: (costs[o], o.move, o.action))
    limit = costs[best] * (1.0 + TIE) if best.action in pays else -np.inf
    looked = costs[best] * (1.0 + LOOK_FIRST) if best in moved else -np.inf

    def key(option: Option) -> tuple[bool, bool, float, int]:
        ratio, stays = pays.get(option.action, 0.0), option not in moved
        first = ratio > 0 and (
            costs[option] <= limit or (stays and ratio >= STANDS and costs[option] <= looked)
        )
        score = -ratio if first else costs[option]
        return not first, first and not stays, round(score, 6), option.action

    return tuple(Ranked(option, costs[option]) for option in sorted(costs, key=key))
