"""The price bracket told on the phone: from where to where, why so wide, and what would narrow it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from tundish.ask.matter import Matter, causes
from tundish.ask.spread import TAIL, mean, quantile, reach
from tundish.ask.tariff import Bills, Tariff, bills
from tundish.plan.change import Floats
from tundish.population.hypotheses import NOTHING, UNDESCRIBED

# Causes named as reasons, and the share of the width a cause must make to be one. Our choice.
REASONS, MATTERS = 3, 0.02


@dataclass(frozen=True)
class Reason:
    """A cause that makes the bracket wide. chance : of it. low, high : the bill where it is there.

    narrower : money by which the bracket would be narrower were it ruled out.
    """

    cause: str
    chance: float
    low: float
    high: float
    narrower: float


@dataclass(frozen=True)
class Bracket:
    """What the visit may cost, money. low, high : P10 and P90 of the bill. middle : its mean. visit : diagnosis only.

    apart : mean of the dearest tenth less that of the cheapest. elsewhere : chance that another trade bills beside it.
    """

    low: float
    high: float
    middle: float
    visit: float
    apart: float
    elsewhere: float
    reasons: tuple[Reason, ...]

    @property
    def width(self) -> float:
        """From P10 to P90."""
        return self.high - self.low


def bracket(call: Matter, tariff: Tariff) -> Bracket:
    """The bracket of a call. It is a chance, not a quote: one bill in ten may be dearer, and one repair may not be enough."""
    billed = bills(call.description, call.shop, tariff, kinds=call.kinds)
    return bracket_of(call.kinds, call.weight, billed, visit=tariff.call_out * (1 + tariff.tax))


def bracket_of(kinds: Sequence[frozenset[str]], weight: Floats, billed: Bills, *, visit: float) -> Bracket:
    """The bracket over kinds (k,) and something not described. weight : (k + 1,)."""
    low, high = ends(weight, billed)
    return Bracket(
        low,
        high,
        mean(weight, billed.low, billed.high),
        visit,
        reach(weight, billed.low, billed.high),
        float(weight @ billed.away / weight.sum()),
        _reasons(kinds, weight, billed),
    )


def ends(weight: Floats, billed: Bills) -> tuple[float, float]:
    """P10 and P90 of the bill."""
    low, high = (quantile(weight, billed.low, billed.high, share=p) for p in (TAIL, 1.0 - TAIL))
    return low, high


def narrowing(weight: Floats, billed: Bills, table: Floats) -> float:
    """Money by which an answer brings the ends together, on average. table : P(answer | kind), (answers, n). Never below 0."""
    # Each answer has its own bracket; what counts is the mean of their reach over the answers
    total = float(weight.sum())
    now = reach(weight, billed.low, billed.high)
    then = 0.0
    for row in table * weight:
        chance = float(row.sum()) / total
        then += chance * reach(row, billed.low, billed.high) if chance > 0 else 0.0
    return max(now - then, 0.0)


def _reasons(kinds: Sequence[frozenset[str]], weight: Floats, billed: Bills) -> tuple[Reason, ...]:
    """The causes without which the bracket would be narrowest, the one that makes most of it first."""
    low, high = ends(weight, billed)
    found = []
    for cause, chance in causes(kinds, weight).items():
        there = np.array([_has(kind, cause) for kind in kinds] + [cause == UNDESCRIBED])
        # Ruled out: its kinds weigh nothing. What is certain cannot be ruled out
        if chance <= 0 or not (weight[~there] > 0).any():
            continue
        left, right = ends(weight * ~there, billed)
        narrower = (high - low) - (right - left)
        if narrower > max(MATTERS * (high - low), 1e-9):
            found.append(Reason(cause, chance, *ends(weight * there, billed), narrower))
    return tuple(sorted(found, key=lambda r: (-r.narrower, r.cause))[:REASONS])


def _has(kind: frozenset[str], cause: str) -> bool:
    return cause in kind or (cause == NOTHING and not kind)
