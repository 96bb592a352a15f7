"""What a check may show on each machine: readings cut into a few bands, looks by their answers.

P(outcome | machine) comes from the same likelihood as the odds: instrument, model and mis-done checks.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from tundish.appliance.records import Check
from tundish.diagnosis.likelihood import MISDONE_NOTHING, MISDONE_OVER, Span, exceeds
from tundish.diagnosis.odds import UNKNOWN_LIKE_HEALTHY
from tundish.plan.change import Floats
from tundish.quantity.show import show

Shown = npt.NDArray[np.float32]
Bools = npt.NDArray[np.bool_]
# Bands a reading is first cut into, by rank and by gap. Our choice; merged again to a few by what they are worth.
BY_RANK, BY_GAP = 4, 3


@dataclass(frozen=True, eq=False)
class Cuts:
    """Edges (k,) of a reading's bands in SI; none for a look."""

    edges: Floats

    def names(self, check: Check) -> tuple[str, ...]:
        """What each outcome is called."""
        if check.is_look:
            return tuple(a.name for a in check.answers)
        top = check.instrument.high if check.instrument else np.inf
        said = [show(float(e), check.unit) for e in self.edges]
        if not said:
            return ("any reading",)
        between = [f"{a} to {b}" for a, b in pairwise(said)]
        last = "over range" if self.edges[-1] >= top else f"{said[-1]} or more"
        return (f"below {said[0]}", *between, last)


def cuts(check: Check, shown: Shown) -> Cuts:
    """Fine bands for a reading: cut at ranks and at the widest gaps of what the machines would show, (m,)."""
    if check.instrument is None:
        return Cuts(np.zeros(0))
    top = check.instrument.high
    inside = np.unique(np.clip(shown[np.isfinite(shown) & (shown < top)], check.instrument.low, None)).astype(
        np.float64
    )
    edges = [top] if (shown >= top).any() else []
    if len(inside) > 1:
        scale = np.log(np.maximum(inside, 1e-12 * top)) if check.instrument.log else inside
        ranks = np.quantile(scale, np.linspace(0, 1, BY_RANK + 2)[1:-1])
        # Ranks fall where most machines are, gaps where causes part; both are wanted
        wide = np.argsort(-np.diff(scale), kind="stable")[:BY_GAP]
        at = np.concatenate([ranks, (scale[wide] + scale[wide + 1]) / 2])
        edges += (np.exp(at) if check.instrument.log else at).tolist()
    kept = sorted({float(f"{e:.3g}") if e < top else e for e in edges if e > check.instrument.low})
    return Cuts(np.array(kept))


def chances(check: Check, reach: Span, shown: Shown, cut: Cuts) -> Floats:
    """P(outcome | machine), (outcomes, m)."""
    anything = _anything(check, reach, cut)
    good = _named(check, shown) if check.is_look else _banded(check, shown, cut)
    return (1.0 - check.misdone) * good + check.misdone * anything[:, None]


def unknown_chances(check: Check, reach: Span, healthy: Shown, cut: Cuts) -> Floats:
    """P(outcome | something not described), (outcomes,): half as on a healthy machine, half anything."""
    anything = _anything(check, reach, cut)
    like = chances(check, reach, healthy, cut).mean(axis=1) if len(healthy) else anything
    return UNKNOWN_LIKE_HEALTHY * like + (1.0 - UNKNOWN_LIKE_HEALTHY) * anything


def merged(table: Floats, keep: list[int]) -> Floats:
    """Rows of a table summed up to the last row of each group. keep : last rows."""
    starts = [0, *(k + 1 for k in keep[:-1])]
    return np.add.reduceat(table, starts, axis=0)


def _banded(check: Check, shown: Shown, cut: Cuts) -> Floats:
    above = exceeds(check, shown, cut.edges[:, None])
    ends = np.ones((1, len(shown))), np.zeros((1, len(shown)))
    return np.maximum(-np.diff(np.concatenate([ends[0], above, ends[1]]), axis=0), 0.0)


def _named(check: Check, shown: Shown) -> Floats:
    names = [a.name for a in check.answers]
    rows = []
    for true in names:
        wrong = check.mistakes.get(true, {})
        rows.append([1.0 - sum(wrong.values()) if n == true else wrong.get(n, 0.0) for n in names])
    return np.asarray(np.array(rows)[np.clip(shown.astype(int), 0, len(names) - 1)].T, dtype=np.float64)


def _anything(check: Check, reach: Span, cut: Cuts) -> Floats:
    """P(outcome) of a mis-done check, (outcomes,)."""
    if check.instrument is None:
        return np.full(len(check.answers), 1.0 / len(check.answers))
    edges = np.log(np.maximum(cut.edges, 1e-300)) if check.instrument.log else cut.edges
    below = np.clip((edges - reach.low) / (reach.high - reach.low), 0.0, 1.0)
    # A mis-done reading falls evenly over the span of what machines show
    even = np.diff(np.concatenate([[0.0], below, [1.0]]))
    nothing = 0.0 if check.instrument.log else MISDONE_NOTHING
    out = (1.0 - MISDONE_OVER - nothing) * even
    out[0] += nothing
    out[-1] += MISDONE_OVER
    return np.asarray(out / out.sum())
