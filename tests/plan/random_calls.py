"""Random small service calls for the tests; everything a call can hold comes up."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from tundish.plan import actions
from tundish.plan.access import Access, Move, access
from tundish.plan.change import Floats, becoming
from tundish.plan.problem import MOVE, REPAIR, Action, Outcome, Problem

CALLBACK = 100.0


def tiny(rng: np.random.Generator) -> Problem:
    """At most three things to do and two endings, so that all policies can be listed."""
    n = int(rng.integers(2, 4))
    acts = [_something(rng, i, n) for i in range(int(rng.integers(1, 3)))]
    if rng.random() < 0.5:
        acts += [_fetch(rng, n), _repair(rng, 9, n, needs=frozenset({"part"}))]
    return Problem(rng.dirichlet(np.ones(n)), (*acts, *_ends(rng, n)), _graph(rng, n), start="shut")


def call(rng: np.random.Generator) -> Problem:
    """A whole small call: checks, repairs, an order, endings, perhaps a live check and a technician who may
    do it.
    """
    n = int(rng.integers(3, 5))
    acts: list[Action] = [_check(rng, i, n, live=rng.random() < 0.3) for i in range(2)]
    acts += [_repair(rng, i, n) for i in range(2)]
    acts.append(_repair(rng, 2, n, needs=frozenset({"part"})))
    acts += actions.orders(n, ["part"], float(rng.uniform(20, 60)), home="shut")
    if rng.random() < 0.5:
        acts = [_twinned(action) if action.kind == REPAIR else action for action in acts]
    weights, qualified = rng.dirichlet(np.ones(n)), bool(rng.random() < 0.5)
    return Problem(weights, (*acts, *_ends(rng, n)), _graph(rng, n), start="shut", qualified=qualified)


def _graph(rng: np.random.Generator, n: int) -> Access:
    straight = becoming(n, [0], [n - 1], [float(rng.uniform(0.3, 1))]) if rng.random() < 0.4 else None
    cost = rng.uniform(2, 15, 6)
    ways = [
        ("shut", "open"),
        ("open", "shut"),
        ("shut", "back"),
        ("back", "shut"),
        ("open", "back"),
        ("back", "open"),
    ]
    moves = [Move(a, b, c, straight if a == "shut" else None) for (a, b), c in zip(ways, cost, strict=True)]
    return access(["shut", "open", "back"], moves if rng.random() < 0.5 else moves[:4])


def _twinned(action: Action) -> Action:
    """Machines 0 and 1 have one fault and differ in their readings only."""
    twin = [0, 0, *range(2, len(action.outcomes[0].chance))]
    outcomes = (
        replace(o, chance=o.chance[twin], toll=None if o.toll is None else o.toll[twin])
        for o in action.outcomes
    )
    return replace(
        action, outcomes=tuple(outcomes), cures=None if action.cures is None else action.cures[twin]
    )


def _at(rng: np.random.Generator) -> frozenset[str] | None:
    if rng.random() < 0.3:
        return None
    places = rng.choice(["shut", "open", "back"], int(rng.integers(1, 3)), replace=False)
    return frozenset(str(p) for p in places)


def _fetch(rng: np.random.Generator, n: int) -> Action:
    """A part ordered for a second trip, or fetched from the van."""
    if rng.random() < 0.5:
        return actions.orders(n, ["part"], float(rng.uniform(5, 30)), home="shut")[0]
    back = (Outcome("back with it", np.ones(n), grants=frozenset({"part"})),)
    return Action("fetch from the van", MOVE, float(rng.uniform(1, 5)), back, at=_at(rng))


def _something(rng: np.random.Generator, i: int, n: int) -> Action:
    if rng.random() < 0.5:
        return _check(rng, i, n)
    if rng.random() < 0.3:
        healthy = [n - 1] * n
        return actions.repair_unseen(
            f"unseen repair {i}", rng.uniform(2, 30), rng.uniform(0, 1, n), healthy=healthy
        )
    return _repair(rng, i, n)


def _check(rng: np.random.Generator, i: int, n: int, *, live: bool = False) -> Action:
    chances = rng.dirichlet(np.ones(2) * 0.4, n)
    return actions.check(f"check {i}", float(rng.uniform(1, 12)), chances, at=_at(rng), live=bool(live))


def _repair(rng: np.random.Generator, i: int, n: int, **more: frozenset[str]) -> Action:
    cures: Floats = rng.uniform(0.5, 1, n) * (rng.random(n) < 0.6)
    leaves = "shut" if rng.random() < 0.3 else None
    returns = CALLBACK * rng.uniform(0, 0.3, n)
    return actions.repair(
        f"repair {i}", float(rng.uniform(3, 40)), cures, returns=returns, at=_at(rng), leaves=leaves, **more
    )


def _ends(rng: np.random.Generator, n: int) -> list[Action]:
    left = np.append(np.ones(n - 1), 0.0)
    ends = [actions.hand_over(n, float(rng.uniform(60, 200)), to="a licensed trade")]
    if rng.random() < 0.5:
        ends.append(
            actions.close_proven(left, CALLBACK, limit=float(rng.uniform(0.05, 0.5)), at=frozenset({"shut"}))
        )
    return ends
