"""Chains of many beliefs walked side by side cost what the base policy costs belief by belief."""

import numpy as np
import pytest

from bench.bench_planner import service_call
from tundish.plan.base import base, worth
from tundish.plan.ends import single, worths
from tundish.plan.frame import Situation
from tundish.plan.lump import gather


@pytest.mark.parametrize("seed", range(40))
def test_many_beliefs_at_once_cost_what_each_costs_alone(seed):
    rng = np.random.default_rng(seed)
    problem = service_call(np.random.default_rng(seed), causes=4, checks=3)
    policy = base(problem)
    n = len(problem.weights)
    beliefs = rng.exponential(size=(30, n)) ** 3 * (rng.random((30, n)) < 0.6) + 1e-9
    merged = np.array([gather(policy.lumps, b / b.sum()) for b in beliefs])
    nodes = rng.integers(len(problem.access.names), size=30).tolist()
    at = [Situation(node, 0, policy.frame.start.held) for node in nodes]
    alone = [worth(policy, s, w)[0] for s, w in zip(at, merged, strict=True)]
    assert worths(policy, at, merged) == pytest.approx(alone, rel=1e-12)


def test_most_random_calls_have_one_way_on():
    assert (
        sum(single(base(service_call(np.random.default_rng(s), causes=4, checks=3))) for s in range(40)) > 20
    )
