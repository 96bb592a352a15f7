"""The calls of a complaint, counted by cells of age and circumstances that tilt its shares alike.

References: the factors are those of `hypotheses.shares`; what is done with the counts is in `tilted` and `partial`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from tundish.appliance.records import Complaint, Description
from tundish.history.posterior import Floats
from tundish.history.tables import told_of
from tundish.population.hypotheses import NOTHING, shares

Row = Mapping[str, Any]
# Age bands: name, from, up to [year]. The bounds of the age rule (under 2) and of long use (over 10); our choice.
AGES = (("age under 2", None, 2.0), ("age 2 to 10", 2.0, 10.0), ("age 10 and over", 10.0, None))


@dataclass(frozen=True)
class Counted:
    """The calls of one complaint.

    causes : (k,) fault ids, those of the complaint's table. counts : (c, k) weighted calls by cell of age and circumstances.
    factors : (c, k) what age and circumstances did to the shares in each cell. unlisted : weighted calls of causes that the table
    does not have, by cause; they are told, never dropped in silence. groups : (c,) age band and circumstances of each cell.
    """

    causes: tuple[str, ...]
    counts: Floats
    factors: Floats
    unlisted: Mapping[str, float]
    groups: Sequence[frozenset[str]] = ()


def band_of(age: float | None) -> str:
    """The band of an age, "" when it is not known.

    >>> band_of(1.9), band_of(2.0), band_of(10), band_of(None)
    ('age under 2', 'age 2 to 10', 'age 10 and over', '')
    """
    return "" if age is None else next(name for name, _, high in AGES if high is None or age < high)


def counted_causes(rows: Iterable[Row], description: Description) -> dict[str, Counted]:
    """Complaint -> its weighted counts, by cell of age and circumstances. Other families and complaints no longer there are left out.

    rows : as `asked.causes` gives them; of each `family`, `complaint`, `age`, `told`, `cause` and `weight` are used.
    """
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
    cells: dict[tuple[bytes, frozenset[str]], tuple[Floats, Floats]] = {}
    unlisted: dict[str, float] = defaultdict(float)
    # Engines give rows in any order; sums of a fixed order are the same to the last digit
    for row in sorted(rows, key=lambda row: (row["age"] is not None, row["age"] or 0.0, row["told"], row["cause"])):
        # A circumstance that a later description dropped tilts nothing
        told = [name for name in told_of(row["told"]) if name in description.circumstances]
        tilted = shares(description, complaint, row["age"], told)
        factors = np.array([tilted[fault] for fault in listed]) / base
        # Calls whose shares were tilted alike by the same things are one cell
        key = factors.tobytes(), frozenset({*told, band_of(row["age"])} - {""})
        counts = cells.setdefault(key, (np.zeros(len(listed)), factors))[0]
        fault = row["cause"]
        if fault == NOTHING and len(normal) == 1:
            fault = normal[0]
        if fault in listed and factors[listed.index(fault)] > 0:
            counts[listed.index(fault)] += row["weight"]
        else:
            unlisted[row["cause"]] += row["weight"]
    counts_all, factors_all = (np.array(held) for held in zip(*cells.values(), strict=True))
    return Counted(listed, counts_all, factors_all, dict(unlisted), tuple(group for _, group in cells))
