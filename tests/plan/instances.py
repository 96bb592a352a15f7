"""Published and own instances as problems of the planner. Profits are written as negative costs."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product

import numpy as np
import numpy.typing as npt

from tundish.plan import actions
from tundish.plan.access import Move, access
from tundish.plan.change import becoming
from tundish.plan.problem import CHECK, Action, Outcome, Problem

# Penalty for a wrong verdict, so high that none is ever given on a guess. Ours.
WRONG = 1e6
Series = Sequence[float] | npt.NDArray[np.float64]


def boxes(p: Series, c: Series, service: float | None = None) -> Problem:
    """One fault, one perfect repair each, maybe a service that always cures."""
    n = len(p)
    acts = [actions.repair(f"repair {i}", c[i], np.eye(n)[i]) for i in range(n)]
    if service is not None:
        acts.append(actions.hand_over(n, service, to="service"))
    return Problem(np.asarray(p), tuple(acts))


def panels(p: Series, c: Series, cluster: Sequence[int], opening: Series) -> Problem:
    """One fault; repair i lies behind panel cluster[i], -1 for none; panels are opened once and stay open."""
    n, m = len(p), len(opening)
    states = list(product((0, 1), repeat=m))
    moves = [
        Move(_name(s), _name((*s[:i], 1, *s[i + 1 :])), opening[i])
        for s in states
        for i in range(m)
        if not s[i]
    ]
    graph = access([_name(s) for s in states], moves)
    acts = [
        actions.repair(
            f"repair {i}",
            c[i],
            np.eye(n)[i],
            at=frozenset(_name(s) for s in states if cluster[i] < 0 or s[cluster[i]]),
        )
        for i in range(n)
    ]
    return Problem(np.asarray(p), tuple(acts), graph, start=_name((0,) * m))


def nested(p: Series, c: Series, opening: tuple[float, float]) -> Problem:
    """One fault; a panel behind a panel; repairs 0 and 1 outside, 2 and 3 behind the first, the rest behind
    both.
    """
    n = len(p)
    graph = access(
        ["shut", "open", "inner"], [Move("shut", "open", opening[0]), Move("open", "inner", opening[1])]
    )
    where = [None, None, {"open", "inner"}, {"open", "inner"}] + [{"inner"}] * (n - 4)
    acts = [
        actions.repair(f"repair {i}", c[i], np.eye(n)[i], at=None if w is None else frozenset(w))
        for i, w in enumerate(where)
    ]
    return Problem(np.asarray(p), tuple(acts), graph, start="shut")


def _name(state: tuple[int, ...]) -> str:
    return "".join(map(str, state))


def k_of_n(k: int, p: Series, c: Series) -> Problem:
    """Units well with chance p, tested at cost c without error; say whether at least k of them are well."""
    units = np.array(list(product((0, 1), repeat=len(p))))
    weights = np.where(units, p, 1 - np.asarray(p)).prod(axis=1)
    works = units.sum(axis=1) >= k
    tests = [
        actions.check(f"test {i}", c[i], np.column_stack([units[:, i], 1 - units[:, i]]).astype(float))
        for i in range(len(p))
    ]
    verdicts = [
        actions.end("it works", 0.0, np.where(works, 0, WRONG), as_="nothing wrong"),
        actions.end("it does not", 0.0, np.where(works, WRONG, 0), as_="stopped"),
    ]
    return Problem(weights, (*tests, *verdicts))


def wildcatter() -> Problem:
    """Drill for oil, perhaps after soundings: Raiffa 1968, in Shenoy 1992, Oper. Res. 40(3):463."""
    seen = [[0.6, 0.3, 0.1], [0.3, 0.4, 0.3], [0.1, 0.4, 0.5]]
    acts = (
        actions.check("soundings", 10_000, seen, answers=["none", "open", "closed"]),
        actions.end("drill", 70_000, -np.array([0.0, 120_000, 270_000]), as_="stopped"),
        actions.end("do not drill", 0.0, np.zeros(3), as_="refused"),
    )
    return Problem(np.array([0.5, 0.3, 0.2]), acts)


def car_buyer(*, extras: bool = True) -> Problem:
    """Lemon or peach, perfect test, warranty: Howard 1977, figures of the DecisionProgramming.jl
    documentation.
    """
    acts: list[Action] = [actions.end("buy", -100.0, [200, 40], as_="stopped")]
    if extras:
        acts.append(actions.check("test", 25.0, [[1.0, 0.0], [0.0, 1.0]]))
        acts.append(actions.end("buy with warranty", -40.0, [0, 20], as_="stopped"))
    acts.append(actions.end("leave it", 0.0, [0, 0], as_="refused"))
    return Problem(np.array([0.2, 0.8]), tuple(acts))


def weak_test(cost: float = 50.0) -> Problem:
    """A used car whose imperfect test cannot change the act: Russell & Norvig, exercises of chapter 16."""
    acts = (
        actions.check("test", cost, [[0.8, 0.2], [0.35, 0.65]]),
        actions.end("buy", 1_500.0, [-2_000, -1_300], as_="stopped"),
        actions.end("leave it", 0.0, [0, 0], as_="refused"),
    )
    return Problem(np.array([0.7, 0.3]), acts)


def shale() -> Problem:
    """Sell, dig or test for gas; a test changes the price: Kaminski et al. 2018, CEJOR 26:135."""
    gas = np.array([1.0, 0.0])
    told = (
        Outcome("positive", np.array([0.9, 0.3]), grants=frozenset({"positive"})),
        Outcome("negative", np.array([0.1, 0.7]), grants=frozenset({"negative"})),
    )
    zero, both = np.zeros(2), frozenset({"positive", "negative"})
    acts = (
        Action("test", CHECK, 50.0, told),
        actions.end("dig", 300.0, -2_500 * gas, as_="stopped"),
        actions.end("sell untested", -800.0, zero, as_="refused", unless=both),
        actions.end("sell positive", -1_000.0, zero, as_="refused", needs=frozenset({"positive"})),
        actions.end("sell negative", -600.0, zero, as_="refused", needs=frozenset({"negative"})),
    )
    return Problem(np.array([0.7, 0.3]), acts)


def tiger(discount: float = 0.75) -> Problem:
    """Listen at two doors, then open one: Cassandra, Kaelbling & Littman 1994.

    The discount is written as a chance of 1 - discount that the game ends after each step, which is the same
    value. After a door is opened the tiger is put behind either door anew.
    """
    left, right = np.array([1.0, 0.0]), np.array([0.0, 1.0])
    over = Outcome("over", np.full(2, 1 - discount), ends="stopped")
    listen = (
        Outcome("left", discount * (0.85 * left + 0.15 * right)),
        Outcome("right", discount * (0.15 * left + 0.85 * right)),
        over,
    )
    acts = [Action("listen", CHECK, 1.0, listen, repeats=True)]
    for name, toll in (("open left", 100 * left - 10 * right), ("open right", 100 * right - 10 * left)):
        acts.append(_door(name, toll, discount))
    acts.append(actions.end("leave", 500.0, [0, 0], as_="refused"))
    return Problem(np.array([0.5, 0.5]), tuple(acts))


def _door(name: str, toll: np.ndarray, discount: float) -> Action:
    anew = becoming(2, [0, 1], [1, 0], [0.5, 0.5])
    goes_on = Outcome("again", np.full(2, discount), toll=toll, change=anew)
    over = Outcome("over", np.full(2, 1 - discount), toll=toll, ends="stopped")
    return Action(name, CHECK, 0.0, (goes_on, over), repeats=True)


def overlooked() -> Problem:
    """Three boxes that may be searched again, each search finding the object with some chance. Ours."""
    alpha, c = (0.8, 0.9, 0.6), (4.0, 3.0, 1.0)
    acts = [actions.repair(f"search {i}", c[i], alpha[i] * np.eye(3)[i], repeats=True) for i in range(3)]
    acts.append(actions.hand_over(3, 200.0, to="a last resort"))
    return Problem(np.array([0.5, 0.3, 0.2]), tuple(acts))
