"""Each index rule against the exact planner on random instances that meet its conditions."""

from __future__ import annotations

from collections.abc import Sequence

import instances
import numpy as np
import pytest

from tundish.plan.actions import repair
from tundish.plan.base import base, base_policy, worth
from tundish.plan.change import Floats
from tundish.plan.errors import PlanError
from tundish.plan.exact import solve
from tundish.plan.frame import Option, Situation
from tundish.plan.indices import (
    after_overlooking,
    bottom_up,
    by_chance_per_cost,
    cost_of_order,
    k_of_n_next,
    overlooked_next,
    series_order,
    service_prefix,
)
from tundish.plan.problem import Problem
from tundish.plan.promise import promise

TIGHT = 1e-6


def draw(rng: np.random.Generator, n: int) -> tuple[Floats, Floats]:
    return rng.dirichlet(np.ones(n)), rng.uniform(1, 10, n)


def test_chance_per_cost_and_service_prefix() -> None:
    """T1 and T2: 400 instances of 6 actions; the index policy inside the planner finds the same."""
    rng = np.random.default_rng(2)
    for _ in range(400):
        p, c = draw(rng, 6)
        service = float(rng.uniform(2, 40))
        prefix, cost = service_prefix(p, c, service)
        assert prefix == by_chance_per_cost(p, c)[: len(prefix)]
        problem = instances.boxes(p, c, service)
        assert solve(problem).cost == pytest.approx(cost, abs=TIGHT)
        own = base(problem)
        assert worth(own, own.frame.start, p)[0] == pytest.approx(cost, abs=TIGHT)


def test_chance_per_cost_alone() -> None:
    """T1: without a service, the whole order."""
    rng = np.random.default_rng(3)
    for _ in range(50):
        p, c = draw(rng, 5)
        assert solve(instances.boxes(p, c)).cost == pytest.approx(
            cost_of_order(by_chance_per_cost(p, c), p, c), abs=TIGHT
        )


def test_flat_panels() -> None:
    """T3: 300 instances of 3 panels with 3 actions; bottom-up order, exact planner and index policy agree."""
    rng = np.random.default_rng(4)
    cluster = [0, 0, 0, 1, 1, 1, 2, 2, 2]
    for _ in range(300):
        p, c = draw(rng, 9)
        opening = rng.uniform(2, 20, 3)
        expected = panel_cost(p, c, cluster, opening)
        problem = instances.panels(p, c, cluster, opening)
        assert solve(problem).cost == pytest.approx(expected, abs=TIGHT)
        own = base(problem)
        assert worth(own, own.frame.start, p)[0] == pytest.approx(expected, abs=TIGHT)


def panel_cost(p: Floats, c: Floats, cluster: Sequence[int], opening: Floats) -> float:
    jobs = len(p)
    parent = [jobs + k for k in cluster] + [-1] * len(opening)
    chance, cost = np.concatenate([p, np.zeros(len(opening))]), np.concatenate([c, opening])
    return cost_of_order(bottom_up(parent, chance, cost), chance, cost)


def test_panel_behind_a_panel() -> None:
    """T3 for a deeper tree."""
    rng = np.random.default_rng(6)
    for _ in range(60):
        p, c = draw(rng, 7)
        first, second = rng.uniform(2, 20, 2)
        chance, cost = np.concatenate([p, [0, 0]]), np.concatenate([c, [first, second]])
        order = bottom_up([-1, -1, 7, 7, 8, 8, 8, -1, 7], chance, cost)
        assert solve(instances.nested(p, c, (first, second))).cost == pytest.approx(
            cost_of_order(order, chance, cost), abs=TIGHT
        )


def test_series() -> None:
    """T4: series systems of up to 4 units."""
    rng = np.random.default_rng(7)
    for _ in range(60):
        n = int(rng.integers(2, 5))
        p, c = rng.uniform(0.1, 0.95, n), rng.uniform(1, 10, n)
        order = series_order(p, c)
        well = np.concatenate([[1.0], np.cumprod(p[order])[:-1]])
        assert solve(instances.k_of_n(n, p, c)).cost == pytest.approx(
            float((c[order] * well).sum()), abs=TIGHT
        )


def test_k_of_n() -> None:
    """T5: 2,000 instances; the policy of the rule costs what the exact plan costs."""
    rng = np.random.default_rng(8)
    for i in range(2_000):
        n = int(rng.integers(2, 5)) if i % 50 else 5
        k = int(rng.integers(1, n + 1))
        p, c = rng.uniform(0.1, 0.95, n), rng.uniform(1, 10, n)
        assert solve(instances.k_of_n(k, p, c)).cost == pytest.approx(by_rule(k, p, c), abs=TIGHT)


def by_rule(k: int, p: Floats, c: Floats) -> float:
    """Cost of testing by the rule: units left, units still needed. No planner code."""
    if k <= 0 or k > len(p):
        return 0.0
    i = k_of_n_next(k, p, c)
    rest, money = np.delete(p, i), np.delete(c, i)
    return float(c[i] + p[i] * by_rule(k - 1, rest, money) + (1 - p[i]) * by_rule(k, rest, money))


def test_k_of_n_policy_through_the_planner() -> None:
    """The rule as a policy of the planner: same promise as its own recursion."""
    p, c = np.array([0.9, 0.7, 0.8]), np.array([4.0, 3.0, 6.0])
    problem = instances.k_of_n(2, p, c)

    def rule(situation: Situation, weights: Floats) -> Option:
        units = np.array([o.chance for a in problem.actions[:3] for o in a.outcomes[:1]])
        well = np.round(units @ weights, 12)
        good, left = int((well == 1).sum()), [i for i in range(3) if 0 < well[i] < 1]
        if good >= 2 or good + len(left) < 2:
            return Option(3 if good >= 2 else 4, 0, 0.0)
        return Option(left[k_of_n_next(2 - good, p[left], c[left])], 0, 0.0)

    assert promise(problem, rule).cost == pytest.approx(8.98, abs=TIGHT)


def test_overlooking_rule_starts_as_the_base_policy() -> None:
    """T6: the published order of the instance, 3 1 2 3 1 3 2 3 1, from the rule and from the base policy."""
    problem = instances.overlooked()
    p, own, order, asked = problem.weights, base(problem), [], []
    alpha, c = np.array([0.8, 0.9, 0.6]), np.array([4.0, 3.0, 1.0])
    for _ in range(9):
        order.append(overlooked_next(p, alpha, c))
        option = base_policy(own, own.frame.start, p)
        assert option is not None
        asked.append(option.action)
        p = after_overlooking(p, alpha, order[-1])
    assert [i + 1 for i in order] == [3, 1, 2, 3, 1, 3, 2, 3, 1]
    assert asked == order


def test_updates_matter() -> None:
    """When one repair cures several causes the fixed P/C order loses to the same rule asked again."""
    cures = np.array([[1, 1, 0], [1, 0, 0], [0, 0, 1]], dtype=float)
    weights, c = np.array([0.45, 0.15, 0.4]), np.array([5.0, 4.9, 5.0])
    problem = _covering(weights, cures, c)
    own = base(problem)
    updated = worth(own, own.frame.start, weights)[0]
    fixed = 5.0 + 0.4 * 4.9 + 0.4 * 5.0
    assert updated == pytest.approx(5.0 + 0.4 * 5.0) and updated < fixed


def _covering(weights: Floats, cures: Floats, c: Floats) -> Problem:
    return Problem(weights, tuple(repair(f"r{i}", c[i], cures[i]) for i in range(len(c))))


def test_k_beyond_n_is_refused() -> None:
    with pytest.raises(PlanError, match="k = 4 of 3 units"):
        k_of_n_next(4, np.full(3, 0.5), np.ones(3))
