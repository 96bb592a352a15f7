"""The plan's tree: its chances add up, what it promises is the cost along it, and the cut leaves only what is rare or deep."""

from __future__ import annotations

import numpy as np
import pytest

from tundish.plan import actions
from tundish.plan.change import Floats
from tundish.plan.frame import Option, Situation
from tundish.plan.lookahead import decide, scout, two_step_policy
from tundish.plan.problem import Problem
from tundish.plan.promise import promise
from tundish.plan.states import SAFE_POWER, Safety
from tundish.plan.tree import Cut, Node, endings, size, tree
from tundish.plan.way import way

PANELS = {"TOP": (4.0, 4.0)}


def call() -> Problem:
    """Three causes, a check that tells the first from the others, a repair for each, and handing over. Invented figures."""
    cures = np.eye(3) * 0.9
    acts = [actions.check("look", 3.0, [[0.95, 0.05], [0.1, 0.9], [0.02, 0.98]], answers=("yes", "no"))]
    acts += [actions.repair(f"repair {i}", cost, cures[i]) for i, cost in enumerate((20.0, 30.0, 80.0))]
    acts += [actions.hand_over(3, 200.0, to="another")]
    return Problem(np.array([0.5, 0.3, 0.2]), tuple(acts))


def grown(cut: Cut, first: str = "") -> Node:
    """The tree of the two-step planner on this call, begun with an action of a name or with its own."""
    ready = scout(call())

    def choose(situation: Situation, weights: Floats) -> tuple[Option, float]:
        decision = decide(ready, situation, weights)
        return decision.option, decision.cost

    rated = decide(ready, ready.frame.start, ready.frame.problem.weights).rated
    named = {ready.frame.problem.actions[r.option.action].name: (r.option, r.cost) for r in rated}
    return tree(ready.frame, choose, cut, first=named.get(first))


def whole() -> Node:
    return grown(Cut(depth=9, least=0.0))


def nodes(node: Node) -> list[Node]:
    return [node, *(n for b in node.branches if b.then for n in nodes(b.then))]


def test_chances_add_up_everywhere() -> None:
    for node in nodes(whole()):
        assert sum(b.chance for b in node.branches) == pytest.approx(1.0)
        assert node.weights.sum() == pytest.approx(1.0)
        for branch in node.branches:
            assert branch.reach == pytest.approx(node.reach * branch.chance)
            assert branch.then is None or branch.then.reach == branch.reach
            # Ends go no further, all others do in a tree that is not cut
            assert bool(branch.ends) == (branch.then is None)
    assert sum(endings(whole()).values()) == pytest.approx(1.0)
    assert set(endings(whole())) == {"fixed", "handed over"}


def test_the_cost_along_the_tree_is_what_the_policy_costs() -> None:
    problem = call()
    cost = {action.name: action.cost for action in problem.actions}
    along = sum(node.reach * cost[node.action] for node in nodes(whole()))
    assert along == pytest.approx(promise(problem, two_step_policy(scout(problem))).cost)
    assert along <= whole().cost + 1e-9


def test_a_cut_tree_is_the_top_of_the_whole() -> None:
    small, full = grown(Cut(depth=2, least=0.0)), whole()
    assert small.action == full.action and size(small) == 1 + len([b for b in full.branches if b.then])
    assert max(_deep(small), 0) == 2
    rare = grown(Cut(depth=9, least=0.3))
    assert all(n.reach >= 0.3 for n in nodes(rare))
    assert sum(endings(rare).values()) == pytest.approx(1.0) and endings(rare)[""] > 0


def _deep(node: Node) -> int:
    return 1 + max((_deep(b.then) for b in node.branches if b.then), default=0)


def test_the_tree_may_begin_with_another_action() -> None:
    other = grown(Cut(depth=2), first="repair 1")
    assert other.action == "repair 1" and other.cost >= whole().cost - 1e-9


def test_the_way_is_shortest_lawful_and_empty_when_there() -> None:
    start = Safety(hazard="unknown")
    steps = way(start, lambda s: s.power in SAFE_POWER and "TOP" in s.panels, PANELS, who="trained")
    assert steps is not None and [s.name for s in steps] == ["pull the plug", "open TOP"]
    back = way(Safety("dead", panels=frozenset({"TOP"})), lambda s: s.power == "on", PANELS, who="trained")
    assert back is not None and [s.name for s in back] == ["close TOP", "energise"]
    assert way(start, lambda s: s.power == "on", PANELS, who="any") == ()
    assert way(start, lambda s: s.power == "dead", PANELS, who="any") is None
    assert way(Safety("isolated", hazard="seen"), lambda s: s.power == "on", PANELS, who="qualified") is None
    looked = way(start, lambda s: s.power == "on" and s.hazard == "none seen", PANELS, who="any")
    assert looked is not None and [s.name for s in looked] == ["look, smell and ask"]
