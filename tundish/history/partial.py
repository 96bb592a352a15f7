"""Partial pooling of shares and of rates: a group with few calls leans on the others, one with many stands alone.

Rates (yes or no): hits_g ~ Binomial(total_g, r_g), r_g ~ Beta(alpha, beta), prior (alpha + beta)^(-5/2) on both, as in
Gelman et al., Bayesian Data Analysis, 3rd edition, section 5.3. The posterior is summed on a grid of log(alpha/beta) and
log(alpha + beta).

Shares (many causes): counts_g ~ Multinomial(s_g), s_g ~ Dirichlet(c m_g). m_g are the shares expected beforehand, such as the
shipped ones; c says how many calls these are worth. c is one number for all groups and is learned: where shipped shares fit
everywhere it rises, where they do not it falls. Weighted counts are taken as they are.

References: Gelman et al. as above; Minka 2000, Estimating a Dirichlet distribution (for the likelihood); both from memory.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy.special import expit, gammaln, logit

from tundish.history.errors import HistoryError
from tundish.history.posterior import NEGLIGIBLE, Floats, Posterior, beta_mixture, normalised

# Calls that shipped shares count as, and the factor within which that holds for two of three families: our choice.
SHIPPED, SHIPPED_FACTOR = 50.0, 3.0
# Range of the grid of alpha + beta, and cells each way: our choice, wide on purpose.
LEAST_TOTAL, MOST_TOTAL = 0.05, 1e6
CELLS = 41
# How often the grid is drawn closer around what is likely; after three even a nation's calls fill it.
LOOKS = 3


@dataclass(frozen=True)
class RatePool:
    """What the groups' rates have in common. alpha, beta, chance : (m,) beta distributions and the chance of each."""

    alpha: Floats
    beta: Floats
    chance: Floats

    @property
    def expected(self) -> tuple[float, float]:
        """Expected alpha and beta."""
        return float(self.alpha @ self.chance), float(self.beta @ self.chance)

    def rates(self, hits: Floats, totals: Floats) -> Floats:
        """(g,) expected rates of groups. hits, totals : (g,)."""
        a, b = self._groups(hits, totals)
        mean: Floats = self.chance @ (a / (a + b))
        return mean

    def intervals(self, hits: Floats, totals: Floats, level: float = 0.9) -> tuple[Floats, Floats]:
        """(g,) lower and (g,) upper ends of the groups' rates."""
        return beta_mixture(*self._groups(hits, totals), self.chance, level=level)

    def _groups(self, hits: Floats, totals: Floats) -> tuple[Floats, Floats]:
        # Conjugate: a group's calls add to what the groups have in common
        misses = np.asarray(totals, float) - hits
        return self.alpha[:, None] + hits, self.beta[:, None] + misses


def rate_pool(hits: Floats, totals: Floats) -> RatePool:
    """What groups have in common, from their counts. hits, totals : (g,), weighted counts allowed.

    HistoryError when a count is no part of its total, or all groups are alike empty of hits or misses: the prior alone cannot say
    where the rates lie then.

    >>> pool = rate_pool(np.array([2.0, 5.0, 1.0, 4.0]), np.array([10.0, 20.0, 10.0, 15.0]))
    >>> 0.1 < pool.rates(np.array([0.0]), np.array([2.0])).item() < 0.25
    True
    """
    hits, totals = np.asarray(hits, float), np.asarray(totals, float)
    if not ((hits >= 0) & (hits <= totals)).all() or not 0 < hits.sum() < totals.sum():
        raise HistoryError(
            seen=f"{hits.sum():g} of {totals.sum():g} in {len(hits)} groups",
            allowed="some hits and some misses, each group's hits within its total",
            do="wait for more calls, or use a prior of your own",
        )
    middle = float(logit(hits.sum() / totals.sum()))
    edges = (middle - 4, middle + 4, np.log(LEAST_TOTAL), np.log(MOST_TOTAL))
    near = np.array([], bool)
    for _ in range(LOOKS):
        x, z, log_weight = _rate_grid(hits, totals, edges)
        near = log_weight > log_weight.max() - NEGLIGIBLE
        edges = (*_around(x[near], edges[:2]), *_around(z[near], edges[2:]))
    total, share = np.exp(z[near]), expit(x[near])
    return RatePool(total * share, total * (1 - share), normalised(log_weight[near]))


def _around(near: Floats, edges: tuple[float, float]) -> tuple[float, float]:
    """Edges for a closer look: one cell beyond what is likely."""
    step = (edges[1] - edges[0]) / (CELLS - 1)
    return float(near.min()) - step, float(near.max()) + step


def _rate_grid(
    hits: Floats, totals: Floats, edges: tuple[float, float, float, float]
) -> tuple[Floats, Floats, Floats]:
    """(CELLS^2,) logit of the mean, log of alpha + beta, and log of the posterior."""
    x, z = (
        axis.ravel() for axis in np.meshgrid(np.linspace(*edges[:2], CELLS), np.linspace(*edges[2:], CELLS))
    )
    share, total = expit(x), np.exp(z)
    a, b = total * share, total * (1 - share)
    # Groups with the same counts are summed once
    pairs, times = np.unique(np.stack([hits, totals]), axis=1, return_counts=True)
    log_weight = np.log(a) + np.log(b) - 2.5 * z
    for (hit, whole), count in zip(pairs.T, times, strict=True):
        log_weight += count * (
            gammaln(a + hit) - gammaln(a) + gammaln(b + whole - hit) - gammaln(b)
            - gammaln(total + whole) + gammaln(total)
        )  # fmt: skip
    return x, z, log_weight


def trust(
    counts: Floats, centre: Floats, *, expected: float = SHIPPED, factor: float = SHIPPED_FACTOR
) -> Posterior:
    """How many calls the expected shares are worth: the posterior of c.

    counts : (g, k) calls by group and cause. centre : (g, k) or (k,) expected shares, each row summing to 1.
    expected, factor : c lies within `factor` of `expected` for two of three, beforehand (log-normal).

    >>> trust(np.zeros((1, 2)), np.array([0.5, 0.5])).interval(0.5)[0] < 50
    True
    """
    counts, centre = _checked(counts, centre)
    middle, width = np.log(expected), np.log(factor)

    edges = (float(middle - 5 * width), float(middle + 5 * width))
    for _ in range(LOOKS):
        log_c = np.linspace(*edges, CELLS)
        prior = -0.5 * ((log_c - middle) / width) ** 2
        log_weight = prior + shares_log_likelihood(counts, centre, np.exp(log_c))
        edges = _around(log_c[log_weight > log_weight.max() - NEGLIGIBLE], edges)
    return Posterior(np.exp(log_c), normalised(log_weight))


def shares_log_likelihood(counts: Floats, centre: Floats, c: Floats) -> Floats:
    """(m,) log likelihood of c, without what does not depend on it. counts, centre : (g, k). c : (m,)."""
    total = counts.sum(axis=1)
    a = c[:, None, None] * centre
    # A cause that is not expected and never seen adds nothing
    there = counts > 0
    seen: Floats = np.where(
        there, gammaln(np.where(there, a + counts, 1.0)) - gammaln(np.where(there, a, 1.0)), 0.0
    )
    whole: Floats = gammaln(c)[:, None] - gammaln(c[:, None] + total)
    return np.asarray(seen.sum(axis=(1, 2)) + whole.sum(axis=1))


@dataclass(frozen=True)
class Shares:
    """Shares of groups and their intervals. mean, low, high : (g, k); each row of mean sums to 1."""

    mean: Floats
    low: Floats
    high: Floats


def pooled_shares(counts: Floats, centre: Floats, worth: Posterior, *, level: float = 0.9) -> Shares:
    """Shares of every group, leaning on the expected ones as far as these are worth it.

    counts : (g, k). centre : (g, k) or (k,). worth : of `trust`. level : chance inside an interval, [-].

    Prior worth 10 calls at (.5, .3, .2), then calls (1, 6, 0):

    >>> worth = Posterior(np.array([10.0]), np.array([1.0]))
    >>> pooled_shares(np.array([[1.0, 6, 0]]), np.array([0.5, 0.3, 0.2]), worth).mean.round(4).tolist()
    [[0.3529, 0.5294, 0.1176]]
    """
    counts, centre = _checked(counts, centre)
    kept = worth.chance > worth.chance.max() * np.exp(-NEGLIGIBLE)
    chance = worth.chance[kept] / worth.chance[kept].sum()
    a = worth.values[kept, None, None] * centre + counts
    b = a.sum(axis=2, keepdims=True) - a
    # Every c gives its own answer; they are mixed by their chances
    mean = np.tensordot(chance, a / (a + b), axes=1)
    # A cause that cannot be has no interval
    possible = a[0] > 0
    low, high = beta_mixture(np.where(a > 0, a, 1.0), np.where(b > 0, b, 1.0), chance, level=level)
    return Shares(mean, np.where(possible, low, 0.0), np.where(possible, high, 0.0))


def centres(counts: Floats, shipped: Floats, weight: float = SHIPPED) -> Floats:
    """(g, k) what to expect of each group: shipped shares worth `weight` calls, and all other groups' calls.

    The group's own calls are left out, so that they are not counted twice. For age bands of a complaint, or shops of a nation.

    >>> centres(np.array([[0.0, 9], [50.0, 0]]), np.array([0.5, 0.5])).round(3).tolist()
    [[0.75, 0.25], [0.424, 0.576]]
    """
    counts, shipped = _checked(counts, shipped)
    # What the group itself says comes in later, through its counts
    others = counts.sum(axis=0) - counts + weight * shipped
    return np.asarray(others / others.sum(axis=1, keepdims=True))


def _checked(counts: Floats, centre: Floats) -> tuple[Floats, Floats]:
    counts = np.asarray(counts, float)
    whole: Floats = np.broadcast_to(np.asarray(centre, float), counts.shape)
    sums = whole.sum(axis=1)
    if not (counts >= 0).all() or not np.allclose(sums, 1) or not (whole >= 0).all():
        raise HistoryError(
            seen=f"counts from {counts.min():g}, expected shares summing to {sums.min():g} to {sums.max():g}",
            allowed="counts of 0 or more, shares summing to 1",
            do="divide the shares by their sum",
        )
    if ((counts > 0) & (whole == 0)).any():
        raise HistoryError(
            seen=f"{counts[(counts > 0) & (whole == 0)].sum():g} calls of causes with no share",
            allowed="calls of causes that are expected at all",
            do="give the cause a small share, or count these calls as something not described",
        )
    return counts, whole
