"""Stated odds against what was found, over proven calls.

z = sum(hit - stated) / sqrt(sum stated (1 - stated)): under honest odds its mean is 0 and its variance 1, whatever the odds were
(Spiegelhalter 1986, https://doi.org/10.1002/sim.4780050506 , from memory). A z of -3 says that far fewer were right than was said.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from tundish.history.counting import wilson
from tundish.history.errors import HistoryError
from tundish.history.posterior import Floats

Bools = npt.NDArray[np.bool_]
BANDS = (0.0, 0.2, 0.4, 0.6, 0.7, 0.8, 0.9, 1.0)


@dataclass(frozen=True)
class Band:
    """Calls whose stated odds lay between two bounds.

    calls : how many. stated : mean of their stated odds. found : share that was right. low, high : its interval.
    """

    bounds: tuple[float, float]
    calls: int
    stated: float
    found: float
    low: float
    high: float


def bands(
    stated: Floats, hit: Bools, *, edges: Sequence[float] = BANDS, level: float = 0.95
) -> tuple[Band, ...]:
    """The honesty curve, band by band; bands without calls are left out.

    stated : (n,) odds of the cause named first, [-]. hit : (n,) whether it was proven. edges : rising, 0 to 1.

    >>> [(band.calls, round(band.found, 2)) for band in bands(np.full(10, 0.85), np.arange(10) < 9)]
    [(10, 0.9)]
    """
    stated, right = _checked(stated, hit)
    # Odds of 1 belong to the last band
    place = np.clip(np.searchsorted(edges, stated, side="right") - 1, 0, len(edges) - 2)
    return tuple(
        Band(
            (edges[band], edges[band + 1]), int(inside.sum()), float(stated[inside].mean()),
            float(right[inside].mean()), *wilson(float(right[inside].sum()), int(inside.sum()), level),
        )
        for band in range(len(edges) - 1)
        if (inside := place == band).any()
    )  # fmt: skip


def z_of_hits(stated: Floats, hit: Bools) -> float:
    """How far the number of hits is from what was said, in standard deviations; 0 when nothing was left open.

    >>> round(z_of_hits(np.full(100, 0.8), np.arange(100) < 72), 6)
    -2.0
    """
    stated, right = _checked(stated, hit)
    # Calls that were sure leave nothing to chance, and add nothing to the spread
    spread = float((stated * (1 - stated)).sum())
    return float((right - stated).sum()) / spread**0.5 if spread > 0 else 0.0


def z_of_causes(odds: Floats, found: npt.NDArray[np.intp]) -> Floats:
    """(k,) the same for every cause: how often it was found against how often it was said.

    odds : (n, k) stated chance of every cause. found : (n,) place of the cause proven.
    """
    # What was never said and never found is neither right nor wrong
    came = found[:, None] == np.arange(odds.shape[1])
    spread: Floats = np.sqrt((odds * (1 - odds)).sum(axis=0))
    return np.where(spread > 0, (came - odds).sum(axis=0) / np.where(spread > 0, spread, 1.0), 0.0)


@dataclass(frozen=True)
class Blame:
    """A group of calls. calls : how many. z : of its hits. chance : of a z so far off in any of the groups, were all honest."""

    group: str
    calls: int
    z: float
    chance: float


def blame(stated: Floats, hit: Bools, groups: Sequence[str], *, member: Bools) -> tuple[Blame, ...]:
    """Which check or family lies, worst first.

    groups : (g,) names. member : (n, g) whether a call belongs to a group: is of that family, had that check read. A call may
    belong to many. `chance` is Holm's 1979 step-down over the groups, right for groups that share calls too
    (https://www.jstor.org/stable/4615733 ). A liar may stain a group that shares its calls: mend the worst first, then look again.

    >>> member = np.arange(200)[:, None] < np.array([[100, 200]])
    >>> worst = blame(np.full(200, 0.8), np.arange(200) >= 50, ["dryer", "all"], member=member)[0]
    >>> worst.group, round(worst.z, 1), worst.chance < 0.001
    ('dryer', -7.5, True)
    """
    zs = [
        z_of_hits(stated[member[:, g]], hit[member[:, g]]) if member[:, g].any() else 0.0
        for g in range(len(groups))
    ]
    order = sorted(range(len(groups)), key=lambda g: (-abs(zs[g]), groups[g]))
    found, highest = [], 0.0
    for place, g in enumerate(order):
        alone = 2 * float(ndtr(-abs(zs[g])))
        # A chance never falls below that of a worse group
        highest = max(highest, min(alone * (len(groups) - place), 1.0))
        found.append(Blame(groups[g], int(member[:, g].sum()), zs[g], highest))
    return tuple(found)


def _checked(stated: Floats, hit: Bools) -> tuple[Floats, Floats]:
    stated, right = np.asarray(stated, float), np.asarray(hit, float)
    if len(stated) == 0 or stated.shape != right.shape or not ((stated >= 0) & (stated <= 1)).all():
        raise HistoryError(
            seen=f"{len(stated)} stated odds and {len(right)} outcomes",
            allowed="one call or more, each with odds from 0 to 1",
            do="give proven calls only, with the odds stated before the repair",
        )
    return stated, right
