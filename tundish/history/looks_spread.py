"""How well the error rates of looks are known: intervals from the scores of the items.

The information is the sum over items of score times score (the outer-product estimate), where an item's score is its expected
complete-data score (Fisher's identity; Louis 1982, https://doi.org/10.1111/j.2517-6161.1982.tb01203.x ). Shares and rates are
taken as softmax of free numbers, so that intervals stay within 0 and 1. Good for tens of items of each class and up; with fewer,
give pseudo-counts.
"""

from __future__ import annotations

import numpy as np
from scipy.special import expit, logit, ndtri

from tundish.history.looks import NOTHING_BELIEVED, Believed, Looked, Sightings
from tundish.history.posterior import Floats

# Chances are kept this far from 0 and 1 before a logit is taken.
EDGE = 1e-9


def rate_intervals(
    found: Looked, seen: Sightings, believed: Believed = NOTHING_BELIEVED, *, level: float = 0.9
) -> tuple[Floats, Floats]:
    """(r, k, k) lower and upper ends of the rates.

    A rate that nothing is known of, of a class that no item has, spans 0 to 1.

    >>> answers = np.repeat(np.eye(2)[[[0, 0, 0], [1, 1, 1], [0, 0, 1], [1, 0, 1]]], [40, 40, 10, 10], axis=0)
    >>> from tundish.history.looks import look_errors
    >>> seen, weak = Sightings(answers), Believed(rates=0.5)
    >>> low, high = rate_intervals(look_errors(seen, weak), seen, weak)
    >>> bool((low[0, 0, 0] < 0.99) & (high[0, 0, 0] > 0.99))
    True
    """
    variance = _variance(found, seen, believed)
    rates = np.clip(found.rates, EDGE, 1 - EDGE)
    middle, half = logit(rates), float(ndtri((1 + level) / 2)) * np.sqrt(variance)
    return expit(middle - half), expit(middle + half)


def _variance(found: Looked, seen: Sightings, believed: Believed) -> Floats:
    """(r, k, k) variance of the logit of every rate; infinite where nothing is known."""
    readers, classes, answers = found.rates.shape
    scores = _scores(found, seen, with_shares=believed.shares is None)
    information = (scores * seen.counts[:, None]).T @ scores
    prior = np.broadcast_to(believed.rates, found.rates.shape).sum(axis=2)
    blocks = np.arange(readers * classes * answers).reshape(-1, answers)
    for block, rate, weight in zip(blocks, found.rates.reshape(-1, answers), prior.ravel(), strict=True):
        # Pseudo-counts are calls too
        information[np.ix_(block, block)] += weight * (np.diag(rate) - np.outer(rate, rate))
    # One direction in each softmax changes nothing; the pseudo-inverse leaves it out
    spread = np.linalg.pinv(information, hermitian=True, rcond=1e-10)
    known = np.einsum("i,ij,irl->rj", seen.counts, found.truth, seen.answers) + prior
    variance = np.full((readers * classes, answers), np.inf)
    for row, (block, rate, calls) in enumerate(
        zip(blocks, found.rates.reshape(-1, answers), known.ravel(), strict=True)
    ):
        # From the free numbers to the logit of each chance
        if calls > EDGE:
            slope = (np.eye(answers) - rate) / np.clip(1 - rate, EDGE, None)[:, None]
            variance[row] = np.einsum("am,mn,an->a", slope, spread[np.ix_(block, block)], slope)
    return np.maximum(variance, 0.0).reshape(found.rates.shape)


def _scores(found: Looked, seen: Sightings, *, with_shares: bool) -> Floats:
    """(i, p) score of every item with respect to the free numbers: rates first, then shares."""
    # Seen less expected, as far as the item may be of that class
    looked = seen.answers.sum(axis=2)[:, :, None, None]
    rates = found.truth[:, None, :, None] * (seen.answers[:, :, None, :] - looked * found.rates)
    flat: Floats = rates.reshape(len(rates), -1)
    if not with_shares:
        return flat
    # Every population has its own shares
    own = seen.member.T[:, :, None] * (found.truth[:, None, :] - found.shares)
    return np.concatenate([flat, own.reshape(len(own), -1)], axis=1)
