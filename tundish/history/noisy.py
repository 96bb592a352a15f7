"""Cure chances from callbacks, which are noisy labels: a quiet call is no proof and a callback no disproof.

Z = the right thing was done. A callback within the window comes with chance `right` when Z (another fault, a slip in fitting) and
`wrong` when not. A call younger than the window has been watched for a part of it only; it says less, and is not left out.
A repair cures with chance `cure` only where its cause was there, so Z has the chance `before` x `cure`; what the test and the
readings after the repair said counts too, and so does a repair that another had to follow. Left out, causes that are often named
wrongly would seem to cure poorly, and those that were seen to fail would be missing.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tundish.history.errors import HistoryError
from tundish.history.posterior import Floats, Posterior, posterior

# Cells of the grid of cure chances.
CELLS = 2001
# Calls whose 1 + gain is alike within this, of its logarithm, are counted together with their mean gain; the error is of second order.
STEP = 0.1
# 1 + gain is kept at least this: no call is certain.
LEAST = 1e-6
# Logarithm of a likelihood so small that it rules out; e^-50 is still a number on every engine.
FAILED = -50.0


@dataclass(frozen=True)
class CallbackRates:
    """Chance of a callback within `window` days. right, wrong : [-]. window : [day].

    The figures are stated assumptions, ours. They cannot be learned from callbacks alone: fix them by calls proven otherwise.
    """

    right: float = 0.04
    wrong: float = 0.55
    window: float = 30.0

    def __post_init__(self) -> None:
        if not (0 <= self.right < self.wrong <= 1 and self.window > 0):
            raise HistoryError(
                seen=f"callbacks {self.right:g} after the right repair, {self.wrong:g} after a wrong one, {self.window:g} days",
                allowed="chances from 0 to 1, the second one greater; a window above 0",
                do="state how often a good and a bad repair come back",
            )

    def watched(self, days: float | Floats) -> Floats:
        """Share of the window's callbacks that would have come by now: as if they came evenly over it (our choice), [-]."""
        return np.asarray(np.clip(np.asarray(days, float) / self.window, 0.0, 1.0))


USUAL = CallbackRates()


def right_after(
    prior: float, *, called_back: bool, days: float = 30.0, rates: CallbackRates = USUAL
) -> float:
    """Chance that the right thing was done, after the call was watched for some days, [-].

    prior : the same chance on closing. days : watched so far; without meaning when called back.

    >>> round(right_after(0.85, called_back=False), 4), round(right_after(0.85, called_back=True), 4)
    (0.9236, 0.2918)

    A call closed today says nothing yet:

    >>> right_after(0.85, called_back=False, days=0)
    0.85
    """
    _check_chance(prior)
    # A callback says the same on whichever day it comes; silence says more the longer it lasts
    seen = float(rates.watched(days))
    good, bad = (
        (rates.right, rates.wrong) if called_back else (1 - seen * rates.right, 1 - seen * rates.wrong)
    )
    return prior * good / (prior * good + (1 - prior) * bad)


def callback_chance(prior: float, rates: CallbackRates = USUAL) -> float:
    """Chance of a callback within the window, [-].

    >>> round(callback_chance(0.85), 4)
    0.1165
    """
    _check_chance(prior)
    return prior * rates.right + (1 - prior) * rates.wrong


@dataclass(frozen=True)
class Returns:
    """How repairs of one kind held. calls : (n,) alike. gain : (n,) of each, as `gain` gives it."""

    calls: Floats
    gain: Floats


def gain(
    before: float | Floats,
    lift: float | Floats = 0.0,
    *,
    called_back: bool | npt.NDArray[np.bool_] = False,
    days: float | Floats = 30.0,
    rates: CallbackRates = USUAL,
) -> Floats:
    """How much likelier all that was seen becomes when the repair always cures what it is for rather than never, less 1, [-].

    before : chance that its cause was there. lift : logarithm of how much likelier the test and the readings after it are when Z;
    `FAILED` when it was seen not to cure. A repair with cure chance c makes what was seen 1 + c x gain times as likely.

    >>> float(gain(1.0, called_back=True).round(4)), float(gain(0.5, called_back=True).round(4)), float(gain(0.5, FAILED))
    (-0.9273, -0.4636, -0.5)
    """
    seen = rates.watched(days)
    good = np.where(called_back, rates.right, 1 - seen * rates.right)
    bad = np.where(called_back, rates.wrong, 1 - seen * rates.wrong)
    return np.asarray(before * (np.exp(lift) * good / bad - 1))


def step_of(gain: float) -> int:
    """Which calls are counted together.

    >>> step_of(0.0), step_of(-0.9), step_of(-1.0)
    (0, -23, -138)
    """
    return int(np.floor(np.log(max(1 + gain, LEAST)) / STEP + 0.5))


def binned(gains: Floats) -> Returns:
    """Calls with nearly the same gain put together."""
    steps = np.array([step_of(one) for one in np.asarray(gains, float)])
    _, place, calls = np.unique(steps, return_inverse=True, return_counts=True)
    return Returns(calls.astype(float), np.bincount(place, weights=gains, minlength=len(calls)) / calls)


def held_up(called_back: int, quiet: Floats, rates: CallbackRates = USUAL) -> Returns:
    """Repairs whose cause was surely there. called_back : how many came back. quiet : (n,) days watched of those that did not."""
    back = np.full(called_back, float(gain(1.0, called_back=True, rates=rates)))
    return binned(np.concatenate([back, gain(1.0, days=np.asarray(quiet, float), rates=rates)]))


def cure_chance(
    returns: Returns, *, expected: float, calls: float = 50.0
) -> Posterior:
    """What is known of a repair's cure chance after its calls.

    expected : cure chance that shipped. calls : how many calls that counts as.
    Every call makes a cure chance 1 + cure x gain times as likely; the posterior is summed on a grid.

    >>> none = held_up(0, np.array([]))
    >>> round(cure_chance(none, expected=0.8).mean, 3)
    0.8
    >>> cure_chance(held_up(10, np.full(10, 30.0)), expected=0.8).mean < 0.75
    True
    """
    if not (0 < expected < 1 and calls > 0):
        raise HistoryError(
            seen=f"an expected cure chance of {expected:g} worth {calls:g} calls",
            allowed="a chance between 0 and 1, more than 0 calls",
            do="use 0.99 for a repair that nearly always cures",
        )
    # Middles of cells, so that no logarithm of 0 is asked for
    cure = (np.arange(CELLS) + 0.5) / CELLS
    # The prior is the beta distribution of that mean, worth that many calls
    log_weight = (calls * expected - 1) * np.log(cure) + (calls * (1 - expected) - 1) * np.log1p(-cure)
    # What no cure chance changes is left out
    log_weight += np.log1p(np.outer(cure, returns.gain)) @ returns.calls
    return posterior(cure, log_weight)


def true_rate(apparent: float, *, sensitivity: float, specificity: float) -> float:
    """The true rate behind an apparent one, when a sign errs both ways, kept within 0 and 1, [-].

    Rogan and Gladen 1978, https://doi.org/10.1093/oxfordjournals.aje.a112510 .

    >>> round(true_rate(0.12, sensitivity=0.80, specificity=0.97), 4)
    0.1169
    """
    # How much a sign is better than a coin
    gain = sensitivity + specificity - 1
    if not gain > 0:
        raise HistoryError(
            seen=f"sensitivity {sensitivity:g} and specificity {specificity:g}",
            allowed="a sum above 1",
            do="use a sign that is better than a coin",
        )
    return min(max((apparent + specificity - 1) / gain, 0.0), 1.0)


def _check_chance(prior: float) -> None:
    if not 0 <= prior <= 1:
        raise HistoryError(seen=f"a chance of {prior:g}", allowed="0 to 1", do="give it as a share of 1")
