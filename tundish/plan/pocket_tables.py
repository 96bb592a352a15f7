"""What every check may show on the kinds of machine that are left: P(outcome | kind), readings cut into fine bands.

As `outcomes` and `samples` do it for the full plan, on all machines of the pocket at once: they are counted by kind and number shown,
and P(outcome | number) is worked out once for each number.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tundish.diagnosis.likelihood import MISDONE_NOTHING, MISDONE_OVER
from tundish.diagnosis.odds import UNKNOWN_LIKE_HEALTHY
from tundish.plan.change import Floats
from tundish.plan.outcomes import BY_GAP, BY_RANK
from tundish.plan.pocket_kernel import Shown, Weighed, flat
from tundish.plan.samples import EARNEST, MATTERS

Rows = npt.NDArray[np.intp]
# Steps of a scale that make a gap worth a cut: one sigma is eight of them.
GAP = 8


@dataclass(frozen=True, eq=False)
class Left:
    """Kinds that matter. kinds : (k,) their numbers. mass : (k,) their chance, sums to 1 - unknown. unknown : not described.

    rows : (n,) machines of them with any weight. owner : (n,) place of each one's kind. share : (n,) its share of the kind.
    twins, twin_of : (t,) places in `eased` of machines that moving changes, and the place of their kind.
    """

    kinds: Rows
    mass: Floats
    unknown: float
    rows: Rows
    owner: Rows
    share: Floats
    twins: Rows
    twin_of: Rows

    @property
    def moved(self) -> Rows:
        """Places of kinds that have a twin pulled out, in the order of the twins' columns."""
        return np.unique(self.twin_of)


@dataclass(frozen=True, eq=False)
class Table:
    """P(outcome | state) of a check, (r, k + t + 1): kinds, twins, not described. edges : SI, none for a look. fine : rows that are bands.

    The row after the bands, where there is one, is that the machine has not what the check needs.
    """

    shown: Shown
    chances: Floats
    edges: Floats
    fine: int


def left(weighed: Weighed) -> Left:
    """The kinds that matter after readings."""
    pocket = weighed.pocket
    number = len(pocket.head["kinds"])
    mass = np.bincount(pocket.kind, weights=weighed.weight, minlength=number)
    kept = np.flatnonzero(mass > MATTERS * max(mass.sum(), 1e-300))
    place = np.full(number, -1, dtype=np.intp)
    place[kept] = np.arange(len(kept))
    rows = np.flatnonzero((place[pocket.kind] >= 0) & (weighed.weight > 0))
    owner = place[pocket.kind[rows]]
    share = np.zeros(len(rows))
    for k in range(len(kept)):
        share[owner == k] = flat(weighed.weight[rows[owner == k]])
    eased = pocket.arrays["eased"].astype(np.intp)
    of = np.searchsorted(rows, eased)
    there = (of < len(rows)) & (rows[np.minimum(of, max(len(rows) - 1, 0))] == eased) if len(rows) else eased < 0
    twins = np.flatnonzero(there)
    total = max(float(mass[kept].sum()), 1e-300)
    known = 1.0 - weighed.unknown if len(kept) else 0.0
    return Left(
        kept, mass[kept] / total * known, 1.0 - known, rows, owner, share, twins, owner[of[twins]]
    )


def table(found: Left, shown: Shown) -> Table | None:
    """P(outcome | state) of a check; None where most machines have not what it needs."""
    lacks = np.zeros(len(found.rows)) if shown.lacks is None else shown.lacks[found.rows] * 1.0
    weight = found.share * (1.0 - lacks)
    k, levels = len(found.kinds), shown.scale.levels
    count = _counted(found.owner, shown.codes[found.rows], weight, shape=(k, levels))
    has = count.sum(axis=1)
    if not k or float(found.mass @ has) < 0.5 * found.mass.sum():
        return None
    edges = _edges(shown, found.mass @ count)
    fine = _fine(shown, edges)
    each, square = count @ fine.T, count @ (fine**2).T
    healthy, twin = fine[:, shown.healthy].mean(axis=1), _twins(found, shown, fine)
    unknown = UNKNOWN_LIKE_HEALTHY * healthy + (1.0 - UNKNOWN_LIKE_HEALTHY) * _anything(shown, edges)
    number = np.bincount(found.owner, weights=found.share**2, minlength=k)
    if shown.lacks is not None:
        each, square = np.column_stack([each, 1.0 - has]), np.column_stack([square, 1.0 - has])
        twin, unknown = np.column_stack([twin, np.zeros(len(twin))]), np.append(unknown, 0.0)
    means = _drawn_together(each, square, found.mass, 1.0 / number)
    whole = np.vstack([means, twin, unknown]).T
    return Table(shown, whole / whole.sum(axis=0), edges, len(fine))


def _counted(owner: Rows, codes: npt.NDArray[np.integer], weight: Floats, *, shape: tuple[int, int]) -> Floats:
    at = owner * shape[1] + codes
    return np.bincount(at, weights=weight, minlength=shape[0] * shape[1]).reshape(shape).astype(np.float64)


def _edges(shown: Shown, count: Floats) -> Floats:
    """Edges of fine bands, SI: at ranks and at the widest gaps of what the machines left would show, and over range."""
    tool = shown.record.instrument
    if tool is None:
        return np.zeros(0)
    inside, over = count[:-1], count[-1] > 0
    taken = np.flatnonzero(inside > 0)
    edges = {float(tool.high)} if over else set[float]()
    if len(taken) > 1:
        summed = np.cumsum(inside[taken])
        ranks = [int(np.searchsorted(summed, summed[-1] * q / (BY_RANK + 1))) for q in range(1, BY_RANK + 1)]
        gaps = np.diff(taken)
        wide = [int(i) for i in np.argsort(-gaps, kind="stable")[:BY_GAP] if gaps[i] >= GAP]
        at = sorted({min(i, len(taken) - 2) for i in [*ranks, *wide]})
        edges |= {float(v) for v in shown.scale.value([(taken[i] + taken[i + 1]) / 2 for i in at])}
    return np.array(sorted(e for e in edges if e > tool.low))


def _fine(shown: Shown, edges: Floats) -> Floats:
    """P(outcome | number shown), (r, l)."""
    if shown.record.instrument is None:
        good = np.array(shown.facts["chances"]).T
    else:
        above = shown.over(edges[:, None]) if len(edges) else np.zeros((0, shown.scale.levels))
        ends = np.ones((1, shown.scale.levels)), np.zeros((1, shown.scale.levels))
        good = np.maximum(-np.diff(np.concatenate([ends[0], above, ends[1]]), axis=0), 0.0)
    misdone = shown.record.misdone
    return np.asarray((1.0 - misdone) * good + misdone * _anything(shown, edges)[:, None])


def _anything(shown: Shown, edges: Floats) -> Floats:
    """P(outcome) of a check mis-done, (r,)."""
    tool, reach = shown.record.instrument, shown.reach
    if tool is None:
        return np.full(len(shown.facts["answers"]), 1.0 / len(shown.facts["answers"]))
    at = np.log(edges) if tool.log else edges
    below = np.clip((at - reach.low) / (reach.high - reach.low), 0.0, 1.0)
    nothing = 0.0 if tool.log else MISDONE_NOTHING
    out = (1.0 - MISDONE_OVER - nothing) * np.diff(np.concatenate([[0.0], below, [1.0]]))
    out[0] += nothing
    out[-1] += MISDONE_OVER
    return np.asarray(out)


def _twins(found: Left, shown: Shown, fine: Floats) -> Floats:
    """Means of kinds pulled out, (t, r)."""
    moved = found.moved
    if not len(moved):
        return np.zeros((0, len(fine)))
    place = np.searchsorted(moved, found.twin_of)
    ones = np.ones(len(place))
    count = _counted(place, shown.outside[found.twins], ones, shape=(len(moved), shown.scale.levels))
    return np.asarray((count / count.sum(axis=1)[:, None]) @ fine.T)


def _drawn_together(each: Floats, square: Floats, mass: Floats, number: Floats) -> Floats:
    """Means (k, r) drawn to the mean of all as far as chance may explain the difference, as `samples.Sample.means` does."""
    spread = np.maximum(square - each**2, 0.0).sum(axis=1)
    overall = mass @ each / mass.sum()
    apart = ((each - overall) ** 2).sum(axis=1)
    factor = np.clip(1.0 - EARNEST * spread / number / np.maximum(apart, 1e-300), 0.0, 1.0)
    # Rounding must leave no chance below nothing
    return np.asarray(np.maximum(overall + factor[:, None] * (each - overall), 0.0))


def tables(found: Left, checks: Sequence[Shown]) -> list[Table]:
    """Tables of the checks that most machines have."""
    made = [table(found, shown) for shown in checks]
    return [t for t in made if t is not None]
