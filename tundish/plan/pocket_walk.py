"""Ways between the safety states of a pocketed call: the cheapest money from each to each, and the steps of a way."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from tundish.plan.change import Floats
from tundish.plan.pocket_kernel import Pocket

Ints = npt.NDArray[np.int64]


@dataclass(frozen=True, eq=False)
class Walk:
    """money : (s, s) of the cheapest way, infinite when there is none. through : (s, s) the state before the last on it.

    step : (from, to) -> number of the step. outside : (s,) pulled out. useful : (s,). lawful : states by demand.
    """

    names: tuple[str, ...]
    money: Floats
    through: Ints
    step: dict[tuple[int, int], int]
    outside: npt.NDArray[np.bool_]
    useful: npt.NDArray[np.bool_]
    lawful: tuple[Ints, ...]
    home: int

    def nearest(self, demand: int, here: int) -> Ints:
        """(s,) the state nearest to each where a demand is met, -1 for none. here : the state of the machine now, useful or not."""
        at = self.lawful[demand]
        at = at[self.useful[at] | (at == here) | (at == self.home)]
        if not len(at):
            return np.full(len(self.names), -1, dtype=np.int64)
        best = np.argmin(self.money[:, at], axis=1)
        return np.where(np.isfinite(self.money[:, at].min(axis=1)), at[best], -1)

    def way(self, start: int, end: int) -> list[int]:
        """Numbers of the steps of the cheapest way."""
        passed = [end]
        while passed[-1] != start:
            passed.append(int(self.through[start, passed[-1]]))
        return [self.step[a, b] for a, b in pairwise(reversed(passed))]


def walk(pocket: Pocket) -> Walk:
    """The ways of a pocket (Floyd 1962, https://doi.org/10.1145/367766.368168)."""
    head, arrays = pocket.head, pocket.arrays
    number, moves = len(head["states"]), arrays["moves"].reshape(-1, 3).tolist()
    money = np.full((number, number), np.inf)
    through = np.full((number, number), -1, dtype=np.int64)
    np.fill_diagonal(money, 0.0)
    for a, b, s in moves:
        money[a, b], through[a, b] = head["steps"][s]["money"], a
    for k in range(number):
        longer = money[:, k, None] + money[k]
        better = longer < money
        money = np.where(better, longer, money)
        through = np.where(better, through[k], through)
    outside = np.zeros(number, dtype=np.bool_)
    outside[head["outside"]] = True
    ends = np.cumsum(head["lawful"])
    lawful = tuple(a.astype(np.int64) for a in np.split(arrays["lawful"], ends[:-1]))
    return Walk(
        tuple(head["states"]), money, through, {(a, b): s for a, b, s in moves}, outside,
        arrays["useful"].astype(np.bool_), lawful, int(head["home"]),
    )  # fmt: skip


def at_state(found: Walk, name: str, start: int) -> int | None:
    """Number of the state the machine is in; "" where the call began; None when the pocket has no such state."""
    if not name:
        return start
    return found.names.index(name) if name in found.names else None


