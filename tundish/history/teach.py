"""From counts to what a family's description should say: shares, cure chances, minutes.

References: Dirichlet shares, noisy labels and log-normal minutes as in `partial`, `tilted`, `noisy` and `amounts`.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from tundish.appliance.records import Description
from tundish.history.amounts import learned_amount, shipped
from tundish.history.cells import Counted
from tundish.history.learned import Taught
from tundish.history.noisy import USUAL, CallbackRates, cure_chance
from tundish.history.outcome import Outcome
from tundish.history.partial import SHIPPED, trust
from tundish.history.posterior import Floats, Posterior
from tundish.history.tally import causes_of, minutes_of, returns_of
from tundish.history.tilted import base_shares
from tundish.history.tilts import Times, learned_tilts

# A shipped range of one number of minutes is taken as wide as this, each way: our choice.
WIDEN = 1.25
# A cure chance that shipped as 1 or 0 is taken as this far from it: nothing could move it otherwise. Our choice.
SURE = 0.01


def taught(outcomes: Sequence[Outcome], description: Description, rates: CallbackRates = USUAL) -> Taught:
    """What the calls of one family teach. Calls of other families are left out; one with no calls keeps what shipped.

    The mistakes of looks are not in it: what a look should have shown on a proven machine, only its population knows.
    """
    shares = learned_shares(causes_of(outcomes, description, rates), description)
    return Taught(
        description.digest,
        shares.shares,
        cures_of(outcomes, description, rates),
        minutes_ranges(outcomes, description),
        {},
        shares.calls,
        shares.unlisted,
        shares.worth,
        shares.tilts,
    )


@dataclass(frozen=True)
class SharesLearned:
    """Shares by complaint, what age bands and circumstances do to them, the calls behind them, and what shipped shares are worth.

    unlisted : complaint -> cause that its table does not have -> calls.
    """

    shares: dict[str, dict[str, float]]
    tilts: Times
    calls: dict[str, float]
    unlisted: dict[str, dict[str, float]]
    worth: float


def learned_shares(counted: Mapping[str, Counted], description: Description) -> SharesLearned:
    """What counts teach of shares: factors of age and circumstances first, then base shares freed of them."""
    worth = worth_of(counted, description)
    # Cells get their factors before anything is counted straight into shares
    tilts = learned_tilts(counted, description, worth.mean)
    return SharesLearned(
        {name: shares_of(one, description, name, worth) for name, one in tilts.counted.items()},
        tilts.times,
        {name: float(one.counts.sum()) for name, one in counted.items()},
        {name: dict(one.unlisted) for name, one in counted.items() if one.unlisted},
        worth.mean,
    )


def worth_of(counted: Mapping[str, Counted], description: Description) -> Posterior:
    """How many calls the shipped shares are worth, learned over all complaints of the family at once.

    In each complaint the shipped shares are first tilted as its calls were, in proportion to the calls of each cell.
    """
    faults = list(description.faults)
    counts, centre = np.zeros((len(counted) or 1, len(faults))), np.zeros((len(counted) or 1, len(faults)))
    # A row without calls says nothing, whatever it expects
    centre[:, 0] = 1.0
    for row, (name, one) in enumerate(counted.items()):
        places = [faults.index(cause) for cause in one.causes]
        base = _base(one, description, name)
        tilted = one.factors * base
        tilted /= tilted.sum(axis=1, keepdims=True)
        calls = one.counts.sum(axis=1)
        centre[row] = 0.0
        centre[row, places] = calls @ tilted / calls.sum() if calls.sum() > 0 else base
        counts[row, places] = one.counts.sum(axis=0)
    return trust(counts, centre)


def shares_of(one: Counted, description: Description, complaint: str, worth: Posterior) -> dict[str, float]:
    """Cause -> base share of a complaint, summing to 1: the counts, freed of circumstances, on top of what shipped."""
    # The shipped shares count as many calls as they proved to be worth
    found = base_shares(one.counts, one.factors, worth.mean * _base(one, description, complaint))
    return dict(zip(one.causes, found.tolist(), strict=True))


def cures_of(
    outcomes: Sequence[Outcome], description: Description, rates: CallbackRates = USUAL
) -> dict[str, float]:
    """Fault -> cure chance, of the repairs that were made."""
    return {
        fault: cure_chance(
            held,
            expected=min(max(description.faults[fault].cure, SURE), 1 - SURE),
            calls=SHIPPED,
        ).mean
        for fault, held in returns_of(outcomes, description.family, rates).items()
        if fault in description.faults
    }


def minutes_ranges(outcomes: Sequence[Outcome], description: Description) -> dict[str, tuple[float, float]]:
    """Fault -> range of minutes that holds four of five repairs to come."""
    found = {}
    for fault, minutes in minutes_of(outcomes, description.family).items():
        low, high = description.faults[fault].minutes if fault in description.faults else (0.0, 0.0)
        # Where nothing shipped there is nothing to learn on
        if high > 0:
            low = low or high / WIDEN**2
            before = shipped(low / WIDEN, high * WIDEN) if low == high else shipped(low, high)
            found[fault] = learned_amount(before, minutes).next()
    return found


def _base(one: Counted, description: Description, complaint: str) -> Floats:
    share = np.array([description.complaints[complaint].shares[cause] for cause in one.causes])
    return np.asarray(share / share.sum())
