"""Solves the linear network of one Newton step on many machines at once.

The order of elimination is worked out once a network, on its shape. Each node is then replaced by links between
its neighbours (star to mesh). That is Gauss's elimination of a symmetric positive definite matrix, written
without a subtraction in the matrix, so conductances that differ by 1e18 do not hurt one another.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from tundish.physics.values import Numeric


@dataclass(frozen=True)
class Pivot:
    """One node's turn: which slots join it to nodes still there, and where its mesh goes.

    node : the node eliminated.
    near : its neighbours that are still there.
    slots : slot of the link to each neighbour.
    mesh : (i, j, slot) for every pair of positions i < j in `near`.
    """

    node: int
    near: tuple[int, ...]
    slots: tuple[int, ...]
    mesh: tuple[tuple[int, int, int], ...]


@dataclass(frozen=True)
class Plan:
    """How to eliminate a network's free nodes.

    nodes : how many free nodes.
    pairs : (a, b) free nodes joined by each slot, first those joined by links, then those joined on the way.
    pivots : in the order of elimination.
    """

    nodes: int
    pairs: tuple[tuple[int, int], ...]
    pivots: tuple[Pivot, ...]


def plan(nodes: int, edges: Iterable[tuple[int, int]]) -> Plan:
    """Order of elimination by least degree, on the shape of a network only.

    Parameters
    ----------
    nodes : how many free nodes, numbered from 0
    edges : pairs of free nodes that are joined by links

    Returns
    -------
    The plan.

    Examples
    --------
    A star: its arms go first, so no new pair is made.

    >>> star = plan(4, [(0, 1), (0, 2), (0, 3)])
    >>> [pivot.node for pivot in star.pivots], len(star.pairs)
    ([1, 2, 0, 3], 3)

    References
    ----------
    H. M. Markowitz, Management Science 3 (1957) 255, doi:10.1287/mnsc.3.3.255; W. F. Tinney, J. W. Walker, Proc.
    IEEE 55 (1967) 1801, doi:10.1109/PROC.1967.6011.
    """
    slots: dict[tuple[int, int], int] = {}
    for a, b in edges:
        slots.setdefault(_pair(a, b), len(slots))
    near: dict[int, set[int]] = {node: set() for node in range(nodes)}
    for a, b in slots:
        near[a].add(b)
        near[b].add(a)
    pivots = tuple(_eliminated(near, slots) for _ in range(nodes))
    return Plan(nodes, tuple(slots), pivots)


def solve_linear(scheme: Plan, between: Numeric, ground: Numeric, inflow: Numeric) -> Numeric:
    """Potentials of the free nodes of a linear network whose other nodes are held at zero, all real or all complex.

    Parameters
    ----------
    scheme : plan of the network
    between : conductance between the free nodes of each slot that has links, (slots, n), [any]
    ground : conductance from each free node to held nodes, (nodes, n), [any]
    inflow : flow put in at each free node, (nodes, n), [any]

    Returns
    -------
    Potentials, (nodes, n), [any].

    Raises
    ------
    Nothing; a part with no way to a held node gives infinite or undefined potentials.

    Examples
    --------
    1 A into two 1 S conductors in series to ground:

    >>> solve_linear(plan(2, [(0, 1)]), np.ones((1, 1)), np.array([[0.0], [1.0]]), np.array([[1.0], [0.0]]))
    array([[2.],
           [1.]])

    References
    ----------
    A. Rosen, A new network theorem, J. IEE 62 (1924) 916; accuracy without subtraction: W. K. Grassmann, M. I. Taksar,
    D. P. Heyman, Oper. Res. 33 (1985) 1107, doi:10.1287/opre.33.5.1107.
    """
    slots = list(between) + [np.zeros(0, dtype=ground.dtype)] * (len(scheme.pairs) - len(between))
    earth, flow = list(ground), list(inflow)
    shares = [_star_to_mesh(pivot, slots, earth, flow) for pivot in scheme.pivots]
    result = np.empty_like(ground)
    for pivot, share in zip(reversed(scheme.pivots), reversed(shares), strict=True):
        potential = flow[pivot.node]
        for neighbour, part in zip(pivot.near, share, strict=True):
            potential = potential + part * result[neighbour]
        result[pivot.node] = potential
    return result


def _pair(a: int, b: int) -> tuple[int, int]:
    return (a, b) if a < b else (b, a)


def _eliminated(near: dict[int, set[int]], slots: dict[tuple[int, int], int]) -> Pivot:
    """Takes the node of least degree out of the graph, joining its neighbours."""
    node = min(near, key=lambda candidate: (len(near[candidate]), candidate))
    around = tuple(sorted(near.pop(node)))
    for neighbour in around:
        near[neighbour] = (near[neighbour] | set(around)) - {node, neighbour}
    mesh = tuple(
        (i, j, slots.setdefault(_pair(around[i], around[j]), len(slots)))
        for i in range(len(around))
        for j in range(i + 1, len(around))
    )
    return Pivot(node, around, tuple(slots[_pair(node, other)] for other in around), mesh)


def _star_to_mesh(
    pivot: Pivot, slots: list[Numeric], earth: list[Numeric], flow: list[Numeric]
) -> Sequence[Numeric]:
    """Replaces a node by links between its neighbours; `flow` of the node becomes its own part of its potential.

    Returns the share of each neighbour's potential in the node's.
    """
    arms = [slots[slot] for slot in pivot.slots]
    total = earth[pivot.node]
    for arm in arms:
        total = total + arm
    shares = [arm / total for arm in arms]
    for neighbour, share in zip(pivot.near, shares, strict=True):
        earth[neighbour] = earth[neighbour] + share * earth[pivot.node]
        flow[neighbour] = flow[neighbour] + share * flow[pivot.node]
    for i, j, slot in pivot.mesh:
        made = arms[i] * shares[j]
        slots[slot] = slots[slot] + made if slots[slot].size else made
    flow[pivot.node] = flow[pivot.node] / total
    return shares
