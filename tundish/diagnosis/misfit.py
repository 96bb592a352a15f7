"""Do the readings fit any simulated machine at all?

Each reading is compared with what the machines that agree with all other readings would show (a leave-one-out predictive check: Gelman,
Meng & Stern 1996; the weights without a reading are the weights divided by its likelihood). A reading far in both tails, or an answer they
hardly give, does not fit.

References
----------
https://www3.stat.sinica.edu.tw/statistica/oldpdf/A6n41.pdf
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from tundish.appliance.records import Check
from tundish.diagnosis.likelihood import exceeds, log_likelihood
from tundish.diagnosis.odds import Cloud, Odds, reach_of
from tundish.diagnosis.reading import Reading, by_check

# A reading is said not to fit below this two-sided chance; our choice: with ten readings one call in a hundred is a false alarm.
ALARM_CHANCE = 0.001
# Alarm too when something not described holds more than half of the odds.
ALARM_UNKNOWN = 0.5


@dataclass(frozen=True)
class Fit:
    """How well one check's readings fit the machines left: two-sided chance of a reading this far out."""

    check: str
    chance: float


@dataclass(frozen=True)
class Misfit:
    """The alarm. `worst` is the reading that fits least (None without readings); `fits` all of them, worst first."""

    alarm: bool
    worst: str | None
    fits: tuple[Fit, ...]


def misfit(cloud: Cloud, known: Odds, checks: Mapping[str, Check], readings: Sequence[Reading]) -> Misfit:
    """Whether the readings fit, and which fits least."""
    groups = by_check(readings)
    fits = sorted(
        (Fit(c, _chance(cloud, checks[c], group)) for c, group in groups.items()), key=lambda f: f.chance
    )
    alarm = known.unknown > ALARM_UNKNOWN or any(f.chance < ALARM_CHANCE for f in fits)
    return Misfit(bool(readings) and alarm, fits[0].check if fits else None, tuple(fits))


def _chance(cloud: Cloud, check: Check, group: Sequence[Reading]) -> float:
    row = cloud.population.row(check.id)
    # Left out of its own test, or a lone reading would always seem to fit.
    like = log_likelihood(check, reach_of(cloud.population, check), row, group)
    # A machine ruled out for good (a look that is never mistaken) cannot be brought back by leaving the reading out.
    alive = np.isfinite(cloud.log_weight)
    if not alive.any():
        return 0.0
    without = np.where(alive, cloud.log_weight - np.where(alive, like, 0.0), -np.inf)
    weight = np.exp(without - without.max())
    weight /= weight.sum()
    reading = group[-1]
    if check.is_look:
        index = [a.name for a in check.answers].index(reading.answer or "")
        return _answer_chance(check, row, weight, index)
    value = reading.value if reading.value is not None else 0.0
    if check.instrument is not None and value >= check.instrument.high:
        # Over range counts as just below the end, where machines over it are certain to lie.
        value = np.nextafter(check.instrument.high, 0.0)
        return float((weight * exceeds(check, row, value)).sum())
    above = float((weight * exceeds(check, row, value)).sum())
    return _sided(reading.bound, above)


def _sided(bound: str, above: float) -> float:
    if bound == "above":
        return above
    return 1.0 - above if bound == "below" else 2.0 * min(above, 1.0 - above)


def _answer_chance(
    check: Check,
    row: np.ndarray[tuple[int], np.dtype[np.float32]],
    weight: np.ndarray[tuple[int], np.dtype[np.float64]],
    index: int,
) -> float:
    names = [a.name for a in check.answers]
    truth = np.bincount(np.clip(row.astype(int), 0, len(names) - 1), weights=weight, minlength=len(names))
    wrong = [check.mistakes.get(n, {}) for n in names]
    given = [1.0 - sum(w.values()) if i == index else w.get(names[index], 0.0) for i, w in enumerate(wrong)]
    return float(sum(t * g for t, g in zip(truth, given, strict=True)))
