"""How often looks err, from answers alone or with later proof: latent classes by expectation and maximisation.

Every item (a call) has one true class, unseen. Every reader (a look, a technician, the final proof, a callback) answers it, with its
own chances for each true class, independently given the truth. One set of equations serves several published models:

- several readers, one population: Dawid and Skene 1979, https://doi.org/10.2307/2346806
- two readers, two populations of different shares: Hui and Walter 1980, https://doi.org/10.2307/2530508
- two coins of unknown bias: Do and Batzoglou 2008, https://doi.org/10.1038/nbt1406

Two readers in one population are not enough. Two populations are, when the errors are the same in both, the readers independent
given the truth, and the shares different. The order of the classes is fixed by the start: readers are better than a coin.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
from scipy.special import xlogy

from tundish.history.errors import HistoryError
from tundish.history.posterior import Floats

Ints = npt.NDArray[np.intp]


@dataclass(frozen=True)
class Sightings:
    """What readers answered.

    answers : (i, r, k) how often reader r gave item i the answer k; all 0 where it did not look.
    times : (i,) how many items are alike, or None for one each. groups : (i,) population of each item, or None for one.
    proven : (i, k) chances of the true class known otherwise, such as 1 for a proven one; None when nothing is.
    """

    answers: Floats
    times: Floats | None = None
    groups: Ints | None = None
    proven: Floats | None = None

    def __post_init__(self) -> None:
        shape = np.shape(self.answers)
        if len(shape) != 3 or shape[2] < 2 or not (np.asarray(self.answers) >= 0).all():
            raise HistoryError(
                seen=f"answers of shape {shape}",
                allowed="counts of 0 or more by item, reader and answer, two answers or more",
                do="count how often each reader gave each answer",
            )

    @cached_property
    def counts(self) -> Floats:
        """(i,) items behind each row."""
        return np.ones(len(self.answers)) if self.times is None else np.asarray(self.times, float)

    @cached_property
    def member(self) -> Floats:
        """(g, i) 1 where an item belongs to a population."""
        groups = np.zeros(len(self.answers), int) if self.groups is None else np.asarray(self.groups)
        return np.asarray(groups == np.arange(groups.max() + 1)[:, None], float)


@dataclass(frozen=True)
class Believed:
    """What is believed beforehand, or held fixed.

    rates : (r, k, k) pseudo-counts of answers by true class, such as a description's mistakes times the calls they count as.
    shares : (g, k) shares of the classes, held fixed; None to learn them.
    """

    rates: Floats | float = 0.0
    shares: Floats | None = None


NOTHING_BELIEVED = Believed()


@dataclass(frozen=True)
class Looked:
    """What was learned.

    shares : (g, k) of the true classes. rates : (r, k, k) chance of each answer by true class, rows summing to 1.
    truth : (i, k) chance of each item's true class. log_likelihood : of the answers, as sequences. steps : taken.
    """

    shares: Floats
    rates: Floats
    truth: Floats
    log_likelihood: float
    steps: int


def look_errors(
    seen: Sightings,
    believed: Believed = NOTHING_BELIEVED,
    *,
    start: Floats | None = None,
    steps: int = 10_000,
    until: float = 1e-10,
) -> Looked:
    """Shares of the classes and error rates of the readers that make the answers likeliest.

    start : (r, k, k) rates to begin with; when left out each item begins at the mean of its answers.
    steps : most steps. until : change of every chance below which it has settled.

    Three readers of 90 items: one in ten answers of each is wrong, so all agree on most.

    >>> from itertools import product
    >>> rows = np.array(list(product([0, 1], repeat=3)))
    >>> chance = 0.5 * np.prod(np.where(rows == 0, 0.9, 0.1), 1) + 0.5 * np.prod(np.where(rows == 1, 0.9, 0.1), 1)
    >>> found = look_errors(Sightings(np.eye(2)[rows], times=90 * chance))
    >>> found.rates[0].round(6).tolist()
    [[0.9, 0.1], [0.1, 0.9]]
    """
    if start is None:
        truth = _proven(seen, _first_guess(seen))
        shares, rates = _maximise(seen, truth, believed)
    else:
        shares, rates = _even(seen) if believed.shares is None else believed.shares, np.asarray(start, float)
    taken, moved = 0, np.inf
    while taken < steps and moved >= until:
        truth, _ = _expect(seen, shares, rates)
        before = rates, shares
        shares, rates = _maximise(seen, truth, believed, before=rates)
        moved = max(float(np.abs(rates - before[0]).max()), float(np.abs(shares - before[1]).max()))
        taken += 1
    # The classes by the rates as they stand at the end
    truth, likelihood = _expect(seen, shares, rates)
    return Looked(shares, rates, truth, likelihood, taken)


def _first_guess(seen: Sightings) -> Floats:
    counts: Floats = np.asarray(seen.answers, float).sum(axis=1)
    whole = counts.sum(axis=1, keepdims=True)
    # An item nobody looked at may be anything
    return np.where(whole > 0, counts / np.where(whole > 0, whole, 1.0), 1.0 / counts.shape[1])


def _even(seen: Sightings) -> Floats:
    return np.full((len(seen.member), seen.answers.shape[2]), 1.0 / seen.answers.shape[2])


def _proven(seen: Sightings, weight: Floats) -> Floats:
    known = weight if seen.proven is None else weight * seen.proven
    whole = known.sum(axis=1, keepdims=True)
    # Proof against every answer given still counts
    return np.where(
        whole > 0, known / np.where(whole > 0, whole, 1.0), weight if seen.proven is None else seen.proven
    )


def _expect(seen: Sightings, shares: Floats, rates: Floats) -> tuple[Floats, float]:
    """(i, k) chances of the true classes, and the log likelihood."""
    with np.errstate(divide="ignore"):
        log_share = np.log(seen.member.T @ shares)
        log_proven = 0.0 if seen.proven is None else np.log(seen.proven)
    # 0 answers of chance 0 say nothing: 0 log 0 = 0
    said = xlogy(seen.answers[:, :, None, :], rates)
    log_joint = said.sum(axis=(1, 3)) + log_share + log_proven
    top = log_joint.max(axis=1, keepdims=True)
    if not np.isfinite(top).all():
        raise HistoryError(
            seen=f"answers of item {int(np.argmin(np.isfinite(top)))} that no true class allows",
            allowed="rates and proof under which every answer may happen",
            do="give the rates a few pseudo-counts, or mend the proof",
        )
    # Against the likeliest class, so that many readers do not underflow
    weight = np.exp(log_joint - top)
    whole = weight.sum(axis=1, keepdims=True)
    return weight / whole, float(seen.counts @ (np.log(whole) + top)[:, 0])


def _maximise(
    seen: Sightings, truth: Floats, believed: Believed, *, before: Floats | None = None
) -> tuple[Floats, Floats]:
    """Likeliest shares and rates when the items' classes have these chances."""
    items = truth * seen.counts[:, None]
    counts = np.einsum("ij,irl->rjl", items, seen.answers) + believed.rates
    whole = counts.sum(axis=2, keepdims=True)
    # A class that a reader never met keeps the rates it had
    else_ = 1.0 / counts.shape[2] if before is None else before
    rates = np.where(whole > 0, counts / np.where(whole > 0, whole, 1.0), else_)
    # Each population has its own shares, all have the same readers
    if believed.shares is not None:
        return believed.shares, rates
    shares = seen.member @ items
    return shares / shares.sum(axis=1, keepdims=True), rates
