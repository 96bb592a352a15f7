"""What parts cost the shop, learned: prices spread by a factor, and some were mistyped, so those far off count little.

Logarithms of prices follow Student's t about a middle; it is found by weighting each price by (v + 1) / (v + z^2) in turn, from the
shipped range on (Lange, Little and Taylor 1989, https://doi.org/10.1080/01621459.1989.10478852 ). The weighted prices then teach on
top of the shipped range as minutes do in `amounts`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np

from tundish.appliance.records import Description, Fault
from tundish.history.amounts import Amount, learned_amount, shipped

Row = Mapping[str, Any]
# Prices alike within this, of their logarithm, are counted together; rounded money is no finer. Our choice.
PRICE_STEP = 0.02
# Degrees of freedom of Student's t: few, so that a price wrong by a factor of ten counts for hardly anything. Our choice.
FREEDOM = 4.0
TURNS = 30
# A shipped price of one number is taken as wide as this, each way: our choice.
WIDEN = 1.25


def prices_of(rows: Iterable[Row], description: Description) -> dict[str, dict[str, tuple[float, float]]]:
    """Currency -> fault -> range that holds four of five prices to come. rows : as `asked.prices` gives them.

    Faults that a new part of one price cures share its calls, or the planner would take them for two parts.
    """
    by_part: dict[tuple[str, str], dict[int, list[float]]] = defaultdict(lambda: defaultdict(lambda: [0.0, 0.0]))
    for row in rows:
        fault = description.faults.get(row["fault"])
        if row["family"] == description.family and fault and row["currency"] in fault.price:
            held = by_part[row["currency"], _part(fault)][row["step"]]
            held[0] += row["calls"]
            held[1] += row["log"]
    found: dict[str, dict[str, tuple[float, float]]] = {}
    for (currency, part), steps in sorted(by_part.items()):
        mine = [fault for fault in description.faults.values() if _part(fault) == part]
        low, high = mine[0].price[currency]
        # Where nothing is fitted there is no price to learn
        if high > 0:
            calls, logs = np.array([steps[step] for step in sorted(steps)]).T
            paid = robust(_before(low, high), np.exp(logs / calls), calls).next()
            found.setdefault(currency, {}).update({fault.id: paid for fault in mine})
    return found


def robust(before: Amount, amounts: np.ndarray, calls: np.ndarray) -> Amount:
    """What is known after amounts, (n,), each seen in so many calls, (n,). One far from all others moves it little.

    >>> known = robust(shipped(20, 45), np.array([30.0, 31.0, 3000.0]), np.array([4.0, 4.0, 1.0]))
    >>> bool(29 < known.median < 33)
    True
    """
    logs, known = np.log(amounts), before
    for _ in range(TURNS):
        z2 = (logs - known.mean) ** 2 / known.square
        known = learned_amount(before, amounts, calls * np.minimum((FREEDOM + 1) / (FREEDOM + z2), 1.0))
    return known


def _before(low: float, high: float) -> Amount:
    low = low or high / WIDEN**2
    return shipped(low / WIDEN, high * WIDEN) if low == high else shipped(low, high)


def _part(fault: Fault) -> str:
    # As `plan.remedies` brings worn faults of one part together
    shared = fault.kind == "wear"
    return f"{fault.part} {sorted(fault.price.items())}" if shared else fault.id
