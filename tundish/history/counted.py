"""From the rows that an engine counted to what a family's description should say: the same arithmetic as from single calls.

References: as in `teach`, whose pieces are used; only the counting was done elsewhere.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.special import ndtr

from tundish.appliance.records import Complaint, Description
from tundish.history.amounts import Amount, learned_amount, shipped
from tundish.history.counting import wilson
from tundish.history.honesty import BANDS, Band, Blame
from tundish.history.learned import Taught
from tundish.history.noisy import USUAL, CallbackRates, Returns, cure_chance
from tundish.history.partial import SHIPPED
from tundish.history.posterior import Floats, Posterior
from tundish.history.tables import told_of
from tundish.history.tally import Counted
from tundish.history.teach import SURE, WIDEN, shares_of, worth_of
from tundish.population.hypotheses import NOTHING, shares

Row = Mapping[str, Any]
Mistakes = Mapping[str, Mapping[str, Mapping[str, float]]]


@dataclass(frozen=True)
class Rows:
    """What an engine counted of one family, as the expressions of the same names in `asked` give it."""

    causes: Sequence[Row]
    returns: Sequence[Row]
    minutes: Sequence[Row]


def taught_by(rows: Rows, description: Description, rates: CallbackRates = USUAL, *, mistakes: Mistakes | None = None) -> Taught:
    """What the counts teach; equal to `teach.taught` of the single calls. mistakes : of looks, learned elsewhere."""
    counted = counted_causes(rows.causes, description)
    worth = worth_of(counted, description)
    return Taught(
        description.digest,
        {name: shares_of(one, description, name, worth) for name, one in counted.items()},
        {fault: known.mean for fault, known in cures(rows.returns, description, rates).items()},
        {fault: known.next() for fault, known in amounts_of(rows.minutes, description).items()},
        mistakes or {},
        {name: float(one.counts.sum()) for name, one in counted.items()},
        {name: dict(one.unlisted) for name, one in counted.items() if one.unlisted},
        worth.mean,
    )


def counted_causes(rows: Iterable[Row], description: Description) -> dict[str, Counted]:
    """Complaint -> its weighted counts, by cell of age and circumstances."""
    by_complaint: dict[str, list[Row]] = defaultdict(list)
    for row in rows:
        if row["family"] == description.family and row["complaint"] in description.complaints:
            by_complaint[row["complaint"]].append(row)
    return {
        name: _counted(found, description, description.complaints[name])
        for name, found in sorted(by_complaint.items())
    }


def _counted(rows: Iterable[Row], description: Description, complaint: Complaint) -> Counted:
    # A share of 0 can neither be tilted nor learned
    listed = tuple(fault for fault, share in complaint.shares.items() if share > 0)
    base = np.array([complaint.shares[fault] for fault in listed])
    normal = [fault for fault in listed if description.faults[fault].kind == "normal"]
    cells: dict[bytes, tuple[Floats, Floats]] = {}
    unlisted: dict[str, float] = defaultdict(float)
    # Engines give rows in any order; sums of a fixed order are the same to the last digit
    for row in sorted(rows, key=lambda row: (row["age"] is not None, row["age"] or 0.0, row["told"], row["cause"])):
        told = [name for name in told_of(row["told"]) if name in description.circumstances]
        tilted = shares(description, complaint, row["age"], told)
        factors = np.array([tilted[fault] for fault in listed]) / base
        counts = cells.setdefault(factors.tobytes(), (np.zeros(len(listed)), factors))[0]
        fault = row["cause"]
        if fault == NOTHING and len(normal) == 1:
            fault = normal[0]
        if fault in listed and factors[listed.index(fault)] > 0:
            counts[listed.index(fault)] += row["weight"]
        else:
            unlisted[row["cause"]] += row["weight"]
    counts_all, factors_all = (np.array(held) for held in zip(*cells.values(), strict=True))
    return Counted(listed, counts_all, factors_all, dict(unlisted))


def cures(
    rows: Iterable[Row], description: Description, rates: CallbackRates = USUAL
) -> dict[str, Posterior]:
    """Fault -> what is known of its cure chance."""
    back: dict[str, int] = defaultdict(int)
    quiet: dict[str, list[tuple[float, int]]] = defaultdict(list)
    for row in rows:
        if row["family"] == description.family and row["fault"] in description.faults:
            back[row["fault"]] += row["called_back"]
            quiet[row["fault"]].append((row["watched"], row["quiet"]))
    return {
        fault: cure_chance(
            Returns(back[fault], np.repeat(*map(np.array, zip(*sorted(quiet[fault]), strict=True)))),
            expected=min(max(description.faults[fault].cure, SURE), 1 - SURE),
            calls=SHIPPED,
            rates=rates,
        )
        for fault in sorted(back)
    }


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
