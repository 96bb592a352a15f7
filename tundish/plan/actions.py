"""The actions of a call, each built from what the trade says of it: chances by state, money, access."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import combinations
from typing import Any

import numpy as np
import numpy.typing as npt

from tundish.plan.change import Floats, becoming
from tundish.plan.problem import CHECK, END, ORDER, QUESTION, REPAIR, Action, Guard, Outcome


def check(
    name: str, cost: float, chances: npt.ArrayLike, *, answers: Sequence[str] = (), **more: Any
) -> Action:
    """A check. chances : (n, k) P(answer | state). more : other fields of Action (at, leaves, live, ...)."""
    table = np.asarray(chances, dtype=np.float64)
    names = answers or [str(i) for i in range(table.shape[1])]
    # Rows of the planner's table are outcomes, so each column becomes an array of its own
    outcomes = [Outcome(answer, np.ascontiguousarray(c)) for answer, c in zip(names, table.T, strict=True)]
    return Action(name, more.pop("kind", CHECK), cost, tuple(outcomes), **more)


def question(
    name: str, cost: float, chances: npt.ArrayLike, *, at: str, answers: Sequence[str] = ()
) -> Action:
    """A question on the phone, before the visit. at : the access state of the phone call."""
    return check(name, cost, chances, answers=answers, kind=QUESTION, at=frozenset({at}))


def repair(
    name: str, cost: float, cures: npt.ArrayLike, *, returns: npt.ArrayLike = 0.0, **more: Any
) -> Action:
    """A repair whose result is seen at once; `cost` holds the test.

    cures : (n,) chance that the machine works after it. returns : (n,) or one number, money to expect later
    when it works now: chance that the complaint comes back (a consequence repaired, its root left) x cost of
    a callback.
    """
    chance = np.asarray(cures, dtype=np.float64)
    # A callback is expected only where the repair seemed to work: the toll hangs on that outcome
    toll = np.broadcast_to(np.asarray(returns, dtype=np.float64), chance.shape).copy()
    works = Outcome("works", chance, toll=toll if toll.any() else None, ends="fixed")
    return Action(name, REPAIR, cost, (works, Outcome("still fails", 1.0 - chance)), cures=chance, **more)


def repair_unseen(
    name: str, cost: float, cures: npt.ArrayLike, *, healthy: Sequence[int], **more: Any
) -> Action:
    """A repair without a test: state i becomes healthy[i] with chance cures[i]. What it did must be found out
    later.
    """
    chance = np.asarray(cures, dtype=np.float64)
    # The outcome says nothing, so the belief moves by the change alone
    n = len(chance)
    change = becoming(n, range(n), healthy, chance.tolist())
    return Action(name, REPAIR, cost, (Outcome("done", np.ones(n), change=change),), cures=chance, **more)


def orders(n: int, parts: Sequence[str], trip: float, *, home: str, at_once: int = 2) -> list[Action]:
    """Order up to `at_once` of the parts and come back: one second trip for all, access starts again at
    `home`.
    """
    # Every set of parts is an action of its own: the trip is paid once for the whole set
    sets: Iterable[tuple[str, ...]] = (s for k in range(1, at_once + 1) for s in combinations(parts, k))
    return [
        Action(
            f"order {' and '.join(some)}, return",
            ORDER,
            trip,
            (Outcome("back with it", np.ones(n), grants=frozenset(some)),),
            leaves=home,
        )
        for some in sets
    ]


def end(name: str, cost: float, tolls: npt.ArrayLike, *, as_: str, **more: Any) -> Action:
    """An ending. tolls : (n,) money still to be paid by state; as_ : one of problem.ENDS."""
    toll: Floats = np.asarray(tolls, dtype=np.float64)
    return Action(name, END, cost, (Outcome(as_, np.ones(len(toll)), toll=toll, ends=as_),), **more)


def hand_over(n: int, cost: float, *, to: str, **more: Any) -> Action:
    """Hand over to a licensed trade: settles the complaint whatever the cause. cost : their visit and what is
    lost.
    """
    return end(f"hand over to {to}", cost, np.zeros(n), as_="handed over", **more)


def replace(n: int, cost: float, **more: Any) -> Action:
    """Advise another machine."""
    return end("advise another machine", cost, np.zeros(n), as_="replaced", **more)


def nothing_wrong(sick: npt.ArrayLike, callback: float, **more: Any) -> Action:
    """Say that nothing is wrong, with the healthy numbers. sick : (n,) chance that the customer will call
    again.
    """
    return end("nothing is wrong", 0.0, callback * np.asarray(sick), as_="nothing wrong", **more)


def close_proven(left: npt.ArrayLike, callback: float, *, limit: float, **more: Any) -> Action:
    """Close as proven; lawful only while the chance that a cause is left is at most the shop's limit. left :
    (n,).
    """
    chance = np.asarray(left, dtype=np.float64)
    return end("close, proven", 0.0, callback * chance, as_="proven", guard=Guard(chance, limit), **more)
