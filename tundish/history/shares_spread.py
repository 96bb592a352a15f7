"""How well learned shares are known, when circumstances had tilted the calls.

Large-sample: the curvature of the log posterior at its peak, in logarithms of the shares. For a cell of n calls with chances p it is
n (diag p - p p'), the information of a multinomial in its log-odds (McCullagh and Nelder 1989, Generalized Linear Models, section
5.4, from memory); what shipped adds the same with its own worth. Intervals are taken on the logit, so they stay within 0 and 1.
"""

from __future__ import annotations

import numpy as np
from scipy.special import expit, logit, ndtri

from tundish.history.cells import Counted
from tundish.history.posterior import Floats

# Chances are kept this far from 0 and 1 before a logit is taken.
EDGE = 1e-12


def share_intervals(one: Counted, share: Floats, worth: float, level: float = 0.9) -> tuple[Floats, Floats]:
    """(k,) lower and (k,) upper ends. share : (k,) as learned. worth : calls that what shipped counts as.

    With no circumstances and many calls it is the interval of a share of calls:

    >>> one = Counted(("a", "b"), np.array([[300.0, 700.0]]), np.ones((1, 2)), {})
    >>> [round(float(end[0]), 3) for end in share_intervals(one, np.array([0.3, 0.7]), worth=1e-9)]
    [0.277, 0.324]
    """
    information = _curvature(worth, share)
    for counts, factors in zip(one.counts, one.factors, strict=True):
        tilted = factors * share
        information = information + _curvature(float(counts.sum()), tilted / tilted.sum())
    # All logarithms moved alike change nothing; the pseudo-inverse leaves that direction out
    spread = np.linalg.pinv(information, hermitian=True)
    slope = (np.eye(len(share)) - share) / np.clip(1 - share, EDGE, None)[:, None]
    half = float(ndtri((1 + level) / 2)) * np.sqrt(np.einsum("km,mn,kn->k", slope, spread, slope))
    middle = logit(np.clip(share, EDGE, 1 - EDGE))
    return expit(middle - half), expit(middle + half)


def _curvature(calls: float, chance: Floats) -> Floats:
    return np.asarray(calls * (np.diag(chance) - np.outer(chance, chance)))
