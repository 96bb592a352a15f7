"""Base shares from calls whose circumstances had already tilted them.

A description multiplies the shares of a complaint by the factors of age and circumstances and makes them sum to one again. So calls
do not count straight into base shares: in a cell of calls with factors f, cause k has the chance s_k f_k / sum_l s_l f_l. The
likeliest base shares are found by minorisation and maximisation, as for paired comparisons: Hunter 2004,
https://doi.org/10.1214/aos/1079120141 . With all factors 1 it is the plain count on top of the prior.
"""

from __future__ import annotations

import numpy as np

from tundish.history.errors import HistoryError
from tundish.history.posterior import Floats

STEPS, UNTIL = 10_000, 1e-12


def base_shares(counts: Floats, factors: Floats, before: Floats) -> Floats:
    """(k,) base shares, summing to 1.

    counts : (c, k) calls by cell of circumstances and cause. factors : (c, k), 0 or more. before : (k,) shipped shares times the
    calls they count as.

    Young machines show a worn part less; seen as often there as elsewhere, it must be common:

    >>> base_shares(np.array([[10.0, 10.0]]), np.array([[0.25, 1.0]]), np.array([1e-9, 1e-9])).round(4).tolist()
    [0.8, 0.2]
    """
    counts, factors, before = (np.asarray(one, float) for one in (counts, factors, before))
    if ((counts > 0) & ((factors <= 0) | (before <= 0))).any() or not before.sum() > 0:
        raise HistoryError(
            seen=f"{counts.sum():g} calls, some of a cause that its circumstances or the shipped shares rule out",
            allowed="causes with a factor and a share above 0",
            do="give the cause a small share, or count these calls as something not described",
        )
    wanted = before + counts.sum(axis=0)
    # Every step raises the likelihood, from any start
    share = before / before.sum()
    for _ in range(STEPS):
        # The prior's calls are as if they had no circumstances
        pull = before.sum() / share.sum() + (counts.sum(axis=1) / (factors @ share)) @ factors
        fresh = wanted / pull
        fresh /= fresh.sum()
        if np.abs(fresh - share).max() < UNTIL:
            break
        share = fresh
    return np.asarray(fresh)
