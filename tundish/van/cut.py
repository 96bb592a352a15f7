"""The best pieces by a minimum cut: exact where no limit binds.

Each want is a node fed by the source with what it is worth; it leads without limit to its pieces; each piece leads to the sink with what
it costs. A cut severs a want (its trip is paid) or a piece (it is carried), and may not leave a want joined to a piece that is not
carried. So the cheapest cut is the cheapest load, parts needed together or not. The form is that of the selection problem (Rhys 1970,
https://doi.org/10.1287/mnsc.17.3.200; Picard 1976, https://doi.org/10.1287/mnsc.22.11.1268); Mamer & Smith 1982 used it for kits of parts
that a job needs together (https://doi.org/10.1287/mnsc.28.11.1328).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.sparse import csr_array
from scipy.sparse.csgraph import breadth_first_order, maximum_flow

from tundish.van.need import Floats
from tundish.van.tour import Bools, Tour

Rows = npt.NDArray[np.intp]
# The flow is found in whole numbers of 31 bits, so it is found again on what is left, ever finer, until nothing is.
MOST = 2**30
# Share of the whole flow that counts as nothing; ten times the rounding of a sum of doubles of a few thousand terms.
NOTHING = 1e-13
# Rounds after which the rest is rounding; each gains at least a factor of a thousand for up to a million edges.
ROUNDS = 8


@dataclass(frozen=True, eq=False)
class _Edges:
    """Edges from `tail` to `head`, (e,), and what may still flow forth and back."""

    tail: Rows
    head: Rows
    forth: Floats
    back: Floats
    nodes: int


def by_cut(problem: Tour) -> Bools:
    """(n,) the pieces of least expected cost when nothing limits the load; of equal loads the smallest."""
    m, n = len(problem.wants), len(problem.pieces)
    if not m:
        return np.zeros(n, dtype=np.bool_)
    edges = _network(problem)
    total = float(min(problem.worth.sum(), problem.cost.sum()))
    # No flow is larger than all that leaves the source, nor than all that enters the sink
    left = total
    for _ in range(ROUNDS):
        if left <= NOTHING * total:
            break
        edges, left = _round(edges, left)
    reached = _reached(edges, NOTHING * max(total, float(problem.worth.max())))
    return np.asarray(reached[2 + m :])


def _network(problem: Tour) -> _Edges:
    """Source 0, sink 1, then wants, then pieces."""
    m, n = len(problem.wants), len(problem.pieces)
    wants, pieces = 2 + np.arange(m), 2 + m + np.arange(n)
    sizes = [len(want) for want in problem.wants]
    inside = 2 + m + np.concatenate([np.array(want, dtype=np.intp) for want in problem.wants])
    tail = np.concatenate([np.zeros(m, dtype=np.intp), np.repeat(wants, sizes), pieces])
    head = np.concatenate([wants, inside, np.ones(n, dtype=np.intp)])
    forth = np.concatenate([problem.worth, np.full(len(inside), np.inf), problem.cost])
    return _Edges(tail, head, forth, np.zeros(len(tail)), 2 + m + n)


def _round(edges: _Edges, left: float) -> tuple[_Edges, float]:
    """The edges after the largest whole flow on what is left, and the most that may flow yet."""
    # No edge carries more than may flow in all, so cutting it down to that changes nothing
    scale = MOST / left
    ends = np.concatenate([edges.tail, edges.head]), np.concatenate([edges.head, edges.tail])
    whole = np.floor(np.minimum(np.concatenate([edges.forth, edges.back]), left) * scale).astype(np.int32)
    graph = csr_array((whole, ends), shape=(edges.nodes, edges.nodes))
    # The flow is net: below 0 where this round takes back what an earlier one sent
    flow = maximum_flow(graph, 0, 1).flow
    moved = np.asarray(flow[edges.tail, edges.head]).ravel() / scale
    forth, back = np.maximum(edges.forth - moved, 0.0), np.maximum(edges.back + moved, 0.0)
    # A cut that is full in whole numbers can still pass less than one of them on each edge
    return _Edges(edges.tail, edges.head, forth, back, edges.nodes), 2 * len(edges.tail) / scale


def _reached(edges: _Edges, least: float) -> Bools:
    """(nodes,) what the source still reaches: the smallest of the cheapest cuts."""
    ends = np.concatenate([edges.tail, edges.head]), np.concatenate([edges.head, edges.tail])
    open_ = np.concatenate([edges.forth, edges.back]) > least
    graph = csr_array(
        (open_[open_].astype(np.int8), (ends[0][open_], ends[1][open_])), shape=(edges.nodes,) * 2
    )
    reached = np.zeros(edges.nodes, dtype=np.bool_)
    reached[breadth_first_order(graph, 0, return_predecessors=False)] = True
    return reached
