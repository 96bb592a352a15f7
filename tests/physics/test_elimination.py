"""The linear step: against a general solver, and against exact fractions where conductances differ by 1e18."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from tundish.physics.elimination import Plan, plan, solve_linear


def random_network(seed: int) -> tuple[Plan, list[tuple[int, int]], int, np.random.Generator]:
    rng = np.random.default_rng(seed)
    nodes = int(rng.integers(1, 12))
    edges = [(i, int(rng.integers(0, i))) for i in range(1, nodes)]
    if nodes > 1:
        edges += [
            tuple(int(x) for x in rng.choice(nodes, 2, replace=False)) for _ in range(rng.integers(0, 8))
        ]
    return plan(nodes, edges), edges, nodes, rng


def matrix(scheme: Plan, between: list, ground: list) -> list[list]:
    """The nodal matrix of one machine."""
    full = [[between[0] * 0 if between else ground[0] * 0] * scheme.nodes for _ in range(scheme.nodes)]
    for i in range(scheme.nodes):
        full[i][i] += ground[i]
    for (a, b), g in zip(scheme.pairs, between, strict=False):
        full[a][a] += g
        full[b][b] += g
        full[a][b] -= g
        full[b][a] -= g
    return full


def gauss(full: list[list[Fraction]], right: list[Fraction]) -> list[Fraction]:
    """Exact elimination."""
    n = len(right)
    for k in range(n):
        for i in range(k + 1, n):
            factor = full[i][k] / full[k][k]
            full[i] = [x - factor * y for x, y in zip(full[i], full[k], strict=True)]
            right[i] -= factor * right[k]
    result = [Fraction(0)] * n
    for k in reversed(range(n)):
        known = sum((full[k][j] * result[j] for j in range(k + 1, n)), Fraction(0))
        result[k] = (right[k] - known) / full[k][k]
    return result


@pytest.mark.parametrize("seed", range(60))
def test_against_a_general_solver(seed: int) -> None:
    scheme, edges, nodes, rng = random_network(seed)
    joined = len({tuple(sorted(edge)) for edge in edges})
    between, ground, inflow = rng.random((joined, 3)), rng.random((nodes, 3)), rng.standard_normal((nodes, 3))
    mine = solve_linear(scheme, between, ground, inflow)
    for machine in range(3):
        full = np.array(matrix(scheme, list(between[:, machine]), list(ground[:, machine])))
        np.testing.assert_allclose(
            mine[:, machine], np.linalg.solve(full, inflow[:, machine]), rtol=1e-10, atol=1e-12
        )


@pytest.mark.parametrize("seed", range(40))
def test_every_digit_holds_over_eighteen_powers_of_ten(seed: int) -> None:
    scheme, edges, nodes, rng = random_network(seed)
    joined = len({tuple(sorted(edge)) for edge in edges})
    between = 10.0 ** rng.uniform(-15, 3, (joined, 1))
    ground = 10.0 ** rng.uniform(-15, 3, (nodes, 1))
    inflow = 10.0 ** rng.uniform(-9, 0, (nodes, 1))
    mine = solve_linear(scheme, between, ground, inflow)[:, 0]
    exact = gauss(
        matrix(scheme, [Fraction(x) for x in between[:, 0]], [Fraction(x) for x in ground[:, 0]]),
        [Fraction(x) for x in inflow[:, 0]],
    )
    np.testing.assert_allclose(mine, [float(x) for x in exact], rtol=1e-13)


def test_a_chain_makes_no_new_pairs() -> None:
    assert len(plan(9, [(i, i + 1) for i in range(8)]).pairs) == 8


def test_a_ring_is_eliminated_with_few_new_pairs() -> None:
    ring = plan(8, [(i, (i + 1) % 8) for i in range(8)])
    assert len(ring.pairs) == 8 + 5


def test_every_node_is_eliminated_once() -> None:
    scheme = plan(6, [(0, 1), (1, 2), (4, 5)])
    assert sorted(pivot.node for pivot in scheme.pivots) == list(range(6))


def test_parallel_links_share_a_pair() -> None:
    assert plan(2, [(0, 1), (1, 0)]).pairs == ((0, 1),)
