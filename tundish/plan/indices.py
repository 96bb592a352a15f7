"""Orders that are proved best, each under the conditions its docstring names. They break outside them.

p : (m,) chance that action i is the one that settles it, [-]. c : (m,) its cost, money.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tundish.plan.change import Floats
from tundish.plan.errors import PlanError

# Cost below which an action counts as free; only avoids a division by zero.
FREE = 1e-12


def by_chance_per_cost(p: Floats, c: Floats) -> list[int]:
    """P/C: highest p/c first.

    Best when there is one fault, each fault is settled by one action of its own, each action is tried at most
    once, costs are constant, the outcome is seen at once and for nothing, and there is no question to ask.

    References: Kadane & Simon 1977; Heckerman, Breese & Rommelse 1995, CACM 38(3):49 (wording from memory);
    restated in https://arxiv.org/abs/1203.3502.

    >>> by_chance_per_cost(np.array([0.8, 0.2]), np.array([3.0, 2.0]))
    [0, 1]
    """
    return [int(i) for i in np.argsort(-p / np.maximum(c, FREE), kind="stable")]


def cost_of_order(order: Sequence[int], p: Floats, c: Floats) -> float:
    """Expected cost of trying actions in this order until one settles it: sum of c_i x (1 - p of those
    before).

    >>> round(cost_of_order([0, 1], np.array([0.8, 0.2]), np.array([3.0, 2.0])), 9)
    3.4
    """
    # Action i is paid only when all before it have failed
    left = 1.0 - np.concatenate([[0.0], np.cumsum(p[list(order)])[:-1]])
    return float((c[list(order)] * left).sum())


def service_prefix(p: Floats, c: Floats, service: float) -> tuple[list[int], float]:
    """P/C order cut where calling a sure service is cheaper; the prefix and its expected cost.

    Best under the conditions of P/C when the service always settles it at a fixed cost.

    References: Lin 2014, Int. J. Approximate Reasoning (abstract read).

    >>> service_prefix(np.array([0.4, 0.3, 0.2, 0.1]), np.array([10.0, 20, 5, 40]), 25.0)
    ([0, 2], 23.0)
    """
    order = by_chance_per_cost(p, c)
    left = 1.0 - np.concatenate([[0.0], np.cumsum(p[order])])
    paid = np.concatenate([[0.0], np.cumsum(c[order] * left[:-1])])
    # Rounded, so that of two prefixes of one cost the shorter is taken
    cut = int(np.argmin(np.round(paid + left * service, 12)))
    return order[:cut], float(paid[cut] + left[cut] * service)


def series_order(p: Floats, c: Floats) -> list[int]:
    """Test a series system: lowest c/(1 - p) first, p the chance that the unit is well.

    Best when units are independent, tests perfect, and testing stops at the first bad unit.

    References: Mitten 1960; Butterworth 1972 (both from memory).

    >>> series_order(np.array([0.875, 0.925, 0.86]), np.array([1.75, 2.0, 2.4]))
    [0, 2, 1]
    """
    return by_chance_per_cost(1.0 - p, c)


def k_of_n_next(k: int, p: Floats, c: Floats) -> int:
    """The unit to test next of a system that works when k of its n units work; p chance that a unit works.

    A unit both among the first k by c/p and among the first n - k + 1 by c/(1 - p); after each test it is
    asked again with the units left. Best when units are independent, tests perfect and only the system's
    state is wanted.

    References: Ben-Dov 1981; Chang, Shi & Fuchs 1990 (both from memory).

    >>> k_of_n_next(2, np.array([0.9, 0.7, 0.8]), np.array([4.0, 3.0, 6.0]))
    1
    """
    n = len(p)
    if not 1 <= k <= n:
        raise PlanError(
            seen=f"k = {k} of {n} units", allowed="1 to the number of units", do="stop: it is decided"
        )
    # Never empty: k and n - k + 1 units of n overlap in at least one
    both = set(by_chance_per_cost(p, c)[:k]) & set(by_chance_per_cost(1.0 - p, c)[: n - k + 1])
    return min(both)


def overlooked_next(p: Floats, alpha: Floats, c: Floats) -> int:
    """Search with overlooking: highest alpha x p / c, p the present chances.

    Best when there is one hidden object, a search of the right place finds it with chance alpha, and searches
    may be repeated with independent luck. A persistent wrong reading breaks the last condition.

    References: Blackwell, in Matula 1964 (from memory).

    >>> overlooked_next(np.array([0.5, 0.3, 0.2]), np.array([0.8, 0.9, 0.6]), np.array([4.0, 3.0, 1.0]))
    2
    """
    return int(np.argmax(alpha * p / np.maximum(c, FREE)))


def after_overlooking(p: Floats, alpha: Floats, i: int) -> Floats:
    """Chances (m,) after place i was searched in vain."""
    left = p.copy()
    # Bayes: the place searched in vain loses weight, the others gain by the division
    left[i] *= 1.0 - alpha[i]
    normalised: Floats = left / left.sum()
    return normalised


def best_prefix(p: Floats, c: Floats, opening: float) -> tuple[float, int]:
    """Highest (sum p) / (opening + sum c) over prefixes of the P/C order, and how many actions it holds.

    The worth of opening a panel: opening is paid once for all behind it.

    >>> best_prefix(np.array([0.5, 0.1]), np.array([1.0, 9.0]), 3.0)
    (0.125, 1)
    """
    order = by_chance_per_cost(p, c)
    ratio = np.cumsum(p[order]) / np.maximum(opening + np.cumsum(c[order]), FREE)
    best = int(np.argmax(ratio))
    return float(ratio[best]), best + 1


@dataclass(frozen=True)
class _Block:
    jobs: tuple[int, ...]
    p: float
    c: float

    @property
    def ratio(self) -> float:
        return self.p / max(self.c, FREE)

    def then(self, other: _Block) -> _Block:
        return _Block(self.jobs + other.jobs, self.p + other.p, self.c + other.c)


def bottom_up(parent: Sequence[int], p: Floats, c: Floats) -> list[int]:
    """Order for a tree of panels: parent[i] must come before i (-1: nothing). An opening is a job with p = 0.

    The block of highest p/c is joined to the one it waits for, until none is left. Best under the conditions
    of P/C with *inside information*: a panel need not be closed to see whether the fault is gone, and is
    opened once.

    References: Ottosen & Jensen, https://arxiv.org/abs/1203.3502; the joining is Horn 1972, SIAM J. Appl.
    Math. 23:189.

    >>> bottom_up([-1, 0, 0, -1], np.array([0, 0.3, 0.1, 0.6]), np.array([5.0, 1, 9, 10]))
    [3, 0, 1, 2]
    """
    blocks = {i: _Block((i,), float(p[i]), float(c[i])) for i in range(len(parent))}
    waits = dict(enumerate(parent))
    done = _Block((), 0.0, 0.0)
    while blocks:
        # Ties go to the lower number, so that the order is always the same
        i = max(blocks, key=lambda j: (blocks[j].ratio, -j))
        block, above = blocks.pop(i), waits.pop(i)
        if above < 0:
            done = done.then(block)
        else:
            blocks[above] = blocks[above].then(block)
        waits = {j: above if w == i else w for j, w in waits.items()}
    return list(done.jobs)
