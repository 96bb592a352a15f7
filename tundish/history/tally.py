"""Closed calls to weighted counts: causes by complaint and circumstances, returns by repair, minutes by repair.

This is what an engine will count in tables; here it is counted from records, and says what the tables must agree with.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from tundish.appliance.records import Complaint, Description
from tundish.history.noisy import USUAL, CallbackRates, Returns
from tundish.history.outcome import Outcome, weights
from tundish.history.posterior import Floats
from tundish.population.hypotheses import NOTHING, shares


@dataclass(frozen=True)
class Counted:
    """The calls of one complaint.

    causes : (k,) fault ids, those of the complaint's table. counts : (c, k) weighted calls by cell of age and circumstances.
    factors : (c, k) what age and circumstances did to the shares in each cell. unlisted : weighted calls of causes that the table
    does not have, by cause; they are told, never dropped in silence.
    """

    causes: tuple[str, ...]
    counts: Floats
    factors: Floats
    unlisted: Mapping[str, float]


def causes_of(
    outcomes: Iterable[Outcome], description: Description, rates: CallbackRates = USUAL
) -> dict[str, Counted]:
    """Complaint -> its weighted counts. Calls of other families, and of complaints no longer there, are left out."""
    by_complaint: dict[str, list[Outcome]] = defaultdict(list)
    for outcome in outcomes:
        if outcome.family == description.family and outcome.complaint in description.complaints:
            by_complaint[outcome.complaint].append(outcome)
    return {
        name: _counted(calls, description, description.complaints[name], rates)
        for name, calls in sorted(by_complaint.items())
    }


def _counted(
    calls: Sequence[Outcome], description: Description, complaint: Complaint, rates: CallbackRates
) -> Counted:
    # A share of 0 can neither be tilted nor learned
    causes = tuple(fault for fault, share in complaint.shares.items() if share > 0)
    base = np.array([complaint.shares[fault] for fault in causes])
    cells: dict[bytes, tuple[Floats, Floats]] = {}
    unlisted: dict[str, float] = defaultdict(float)
    for call in calls:
        # A circumstance that a later description dropped tilts nothing
        told = [name for name in call.circumstances if name in description.circumstances]
        tilted = shares(description, complaint, call.age, told)
        factors = np.array([tilted[fault] for fault in causes]) / base
        # Calls whose shares were tilted alike are one cell
        counts = cells.setdefault(factors.tobytes(), (np.zeros(len(causes)), factors))[0]
        for cause, weight in weights(call, rates).items():
            fault = _normal(description, causes) if cause == NOTHING else cause
            if fault in causes and factors[causes.index(fault)] > 0:
                counts[causes.index(fault)] += weight
            else:
                unlisted[cause] += weight
    counts_all, factors_all = (np.array(rows) for rows in zip(*cells.values(), strict=True))
    return Counted(causes, counts_all, factors_all, dict(unlisted))


def _normal(description: Description, causes: Sequence[str]) -> str:
    """The row that says nothing is wrong, "" where there is none or more than one."""
    normal = [fault for fault in causes if description.faults[fault].kind == "normal"]
    return normal[0] if len(normal) == 1 else ""


def returns_of(outcomes: Iterable[Outcome], family: str, rates: CallbackRates = USUAL) -> dict[str, Returns]:
    """Fault -> how its repairs held. Only calls with one repair: of two, nobody knows which held."""
    back: dict[str, int] = defaultdict(int)
    quiet: dict[str, list[float]] = defaultdict(list)
    for outcome in outcomes:
        if outcome.family == family and len(outcome.repairs) == 1:
            fault = outcome.repairs[0][0]
            # One that came later than the window was quiet in it
            if outcome.called_back and outcome.days <= rates.window:
                back[fault] += 1
            else:
                quiet[fault].append(outcome.days)
    return {fault: Returns(back[fault], np.array(quiet[fault])) for fault in sorted({*back, *quiet})}


def minutes_of(outcomes: Iterable[Outcome], family: str) -> dict[str, Floats]:
    """Fault -> (n,) minutes of its repairs, those that were measured."""
    found: dict[str, list[float]] = defaultdict(list)
    for outcome in outcomes:
        for fault, minutes in outcome.repairs if outcome.family == family else ():
            if minutes:
                found[fault].append(minutes)
    return {fault: np.array(minutes) for fault, minutes in sorted(found.items())}
