"""From the rows that an engine counted to what a family's description should say: the same arithmetic as from single calls.

References: as in `teach`, whose pieces are used; only the counting was done elsewhere.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from tundish.appliance.records import Description
from tundish.history.amounts import Amount, learned_amount, shipped
from tundish.history.cells import Row, counted_causes
from tundish.history.counting import wilson
from tundish.history.honesty import BANDS, Band, Blame
from tundish.history.learned import Taught
from tundish.history.noisy import USUAL, CallbackRates, Returns, cure_chance
from tundish.history.paid import prices_of
from tundish.history.partial import SHIPPED
from tundish.history.posterior import Posterior
from tundish.history.teach import SURE, WIDEN, learned_shares

Mistakes = Mapping[str, Mapping[str, Mapping[str, float]]]


@dataclass(frozen=True)
class Rows:
    """What an engine counted of one family, as the expressions of the same names in `asked` give it."""

    causes: Sequence[Row]
    returns: Sequence[Row]
    minutes: Sequence[Row]
    prices: Sequence[Row] = ()


def taught_by(rows: Rows, description: Description, rates: CallbackRates = USUAL, *, mistakes: Mistakes | None = None) -> Taught:
    """What the counts teach; equal to `teach.taught` of the single calls. mistakes : of looks, learned elsewhere."""
    shares = learned_shares(counted_causes(rows.causes, description), description)
    return Taught(
        description.digest,
        shares.shares,
        {fault: known.mean for fault, known in cures(rows.returns, description).items()},
        {fault: known.next() for fault, known in amounts_of(rows.minutes, description).items()},
        mistakes or {},
        shares.calls,
        shares.unlisted,
        shares.worth,
        shares.tilts,
        prices_of(rows.prices, description),
    )


def cures(
    rows: Iterable[Row], description: Description
) -> dict[str, Posterior]:
    """Fault -> what is known of its cure chance."""
    held: dict[str, list[Row]] = defaultdict(list)
    for row in rows:
        if row["family"] == description.family and row["fault"] in description.faults:
            held[row["fault"]].append(row)
    return {
        fault: cure_chance(
            _returns(some),
            expected=min(max(description.faults[fault].cure, SURE), 1 - SURE),
            calls=SHIPPED,
        )
        for fault, some in sorted(held.items())
    }


def _returns(rows: Iterable[Row]) -> Returns:
    """Rows of one fault; young and old, back and quiet ones of the same step say the same and are put together."""
    sums: dict[int, list[float]] = defaultdict(lambda: [0.0, 0.0])
    # In one order, so that every engine's sums end in the same digit
    for row in sorted(rows, key=lambda row: (row["step"], row["is_back"], row["is_old"])):
        sums[row["step"]][0] += row["calls"]
        sums[row["step"]][1] += row["gain"]
    calls, gains = np.array([sums[step] for step in sorted(sums)]).T
    return Returns(calls, gains / calls)


def amounts_of(rows: Iterable[Row], description: Description) -> dict[str, Amount]:
    """Fault -> what is known of its minutes."""
    found = {}
    for row in sorted(rows, key=lambda row: str(row["fault"])):
        fault = description.faults.get(row["fault"])
        low, high = fault.minutes if fault else (0.0, 0.0)
        # Where nothing shipped there is nothing to learn on
        if row["family"] == description.family and high > 0:
            low = low or high / WIDEN**2
            before = shipped(low / WIDEN, high * WIDEN) if low == high else shipped(low, high)
            found[row["fault"]] = amount(before, row)
    return found


def amount(before: Amount, row: Row) -> Amount:
    """What is known after the amounts whose logarithms a row sums up.

    Two amounts, each half of the calls, that have the same mean and spread teach the same: the posterior knows no more of them.
    """
    # Summed by the engine: no single call leaves it
    n = float(row["calls"])
    mean = row["log"] / n
    spread = max(row["square"] / n - mean * mean, 0.0) ** 0.5
    return learned_amount(before, np.exp([mean - spread, mean + spread]), np.array([n / 2, n / 2]))


def banded(rows: Iterable[Row], level: float = 0.95) -> tuple[Band, ...]:
    """The honesty curve from the rows of `asked.bands`."""
    return tuple(
        Band(
            (BANDS[row["band"]], BANDS[row["band"] + 1]), row["calls"], row["odds"] / row["calls"],
            row["right"] / row["calls"], *wilson(row["right"], row["calls"], level),
        )
        for row in sorted(rows, key=lambda row: int(row["band"]))
    )  # fmt: skip


def z_of(row: Row) -> float:
    """How far the right ones are from what was said, in standard deviations.

    >>> round(z_of({"right": 72, "odds": 80.0, "variance": 16.0}), 6)
    -2.0
    """
    return float((row["right"] - row["odds"]) / row["variance"] ** 0.5) if row["variance"] > 0 else 0.0


def blamed(rows: Iterable[Row], group: str) -> tuple[Blame, ...]:
    """Which check or family lies, worst first, from the rows of `asked.said_by`; `chance` as in `honesty.blame`."""
    order = sorted(rows, key=lambda row: (-abs(z_of(row)), row[group]))
    found, highest = [], 0.0
    for place, row in enumerate(order):
        alone = 2 * float(ndtr(-abs(z_of(row))))
        highest = max(highest, min(alone * (len(order) - place), 1.0))
        found.append(Blame(row[group], row["calls"], z_of(row), highest))
    return tuple(found)
