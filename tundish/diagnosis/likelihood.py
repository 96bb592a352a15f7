"""How likely a reading is on each machine.

A reading is the machine's true value plus the instrument's error and the model's error, unless the check was mis-done: then it may
show anything the check can show. A repeated check repeats the persistent part of its error and, if mis-done, is mis-done again.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import log_ndtr, ndtr

from tundish.appliance.records import Check, Instrument
from tundish.diagnosis.reading import Reading

Floats = npt.NDArray[np.float64]
Shown = npt.NDArray[np.float32]

# Chance that a mis-done check shows over range; the rest falls evenly on the span of what machines show. Our choice, wide.
MISDONE_OVER = 0.2
# ... and that it shows nothing at all (the foot of the range, such as no flow). Our choice.
MISDONE_NOTHING = 0.1
# How far the span of a check reaches beyond what simulated machines show, as a share of it. Our choice, wide.
SPAN_MARGIN = 0.25


@dataclass(frozen=True)
class Span:
    """Where a mis-done or unexplained reading of a check may fall: between low and high (logarithms for a log instrument)."""

    low: float
    high: float


def span(check: Check, shown: Shown) -> Span:
    """The span of what machines of all kinds show at a check, (m,) true values, kept inside the instrument's range."""
    if check.instrument is None:
        return Span(0.0, float(len(check.answers)))
    scale = _scaled(check.instrument, _clipped(check.instrument, shown.astype(np.float64)))
    seen = scale[np.isfinite(shown) & (shown < check.instrument.high)]
    if not len(seen):
        seen = _scaled(check.instrument, np.array([max(check.instrument.low, 1e-12), check.instrument.high]))
    low, high = np.quantile(seen, [0.005, 0.995])
    sigma = float(
        np.max(_sigma(check, np.array([_unscaled(check.instrument, low), _unscaled(check.instrument, high)])))
    )
    # Three sigma at least: with a narrow population an honest reading would else fall outside the span.
    margin = max(SPAN_MARGIN * (high - low), 3.0 * sigma)
    return Span(float(low - margin), float(high + margin))


def log_likelihood(check: Check, reach: Span, shown: Shown, readings: Sequence[Reading]) -> Floats:
    """Natural logarithm of the chance (density) of all readings of one check on each machine.

    shown : (m,) true values of the check. Returns (m,).
    """
    if check.instrument is None:
        # Two stories for the same readings: the check was done right, or it was not.
        good, bad = _look(check, shown, readings), len(readings[:1]) * -np.log(len(check.answers))
    else:
        good, bad = (
            _instrument_read(check, check.instrument, shown, readings),
            misdone(check, reach, readings),
        )
    if check.misdone <= 0:
        return good
    return np.asarray(np.logaddexp(np.log1p(-check.misdone) + good, np.log(check.misdone) + bad))


def misdone(check: Check, reach: Span, readings: Sequence[Reading]) -> float:
    """Log chance (density) of the readings when nothing is known but the check's span.

    The first reading falls anywhere in the span; repeats follow the first with the instrument's fresh error.
    """
    if check.instrument is None:
        return -float(np.log(len(check.answers)))
    # Whoever mis-does a check mis-does it again: repeats only follow the first.
    first = readings[0]
    total = _misdone_one(check.instrument, reach, first)
    for repeat in readings[1:]:
        same = repeat.bound == "exact" and first.bound == "exact" and first.value is not None
        at = np.array([first.value if same else 0.0], dtype=np.float32)
        total += float(_one(check, check.instrument, at, repeat)[0]) if same else np.log(0.5)
    return total


def _misdone_one(instrument: Instrument, reach: Span, reading: Reading) -> float:
    value = _value(reading)
    if value >= instrument.high:
        return float(np.log(MISDONE_OVER))
    if reading.bound == "exact" and _nothing(instrument, value):
        return float(np.log(MISDONE_NOTHING))
    width = reach.high - reach.low
    at = float(_scaled(instrument, np.array([_floor(instrument, value)]))[0])
    if reading.bound == "exact":
        jacobian = -np.log(_floor(instrument, value)) if instrument.log else 0.0
        # Outside the span the chance falls off but never to nothing: one tenth of the height at one width away.
        outside = max(reach.low - at, at - reach.high, 0.0) / width
        return float(
            np.log1p(-MISDONE_OVER - MISDONE_NOTHING) - np.log(width) - np.log(10.0) * outside + jacobian
        )
    below = float(np.clip((at - reach.low) / width, 0.02, 0.98)) * (1 - MISDONE_OVER)
    return float(np.log(below if reading.bound == "below" else 1.0 - below))


def _look(check: Check, shown: Shown, readings: Sequence[Reading]) -> Floats:
    """A look is one judgement however often it is written down: the last answer counts."""
    names = [a.name for a in check.answers]
    named = readings[-1].answer
    table = np.array([_chance(check, true, named or "", names) for true in names])
    with np.errstate(divide="ignore"):
        return np.asarray(np.log(table)[np.clip(shown.astype(int), 0, len(names) - 1)])


def _chance(check: Check, true: str, named: str, names: Sequence[str]) -> float:
    wrong = check.mistakes.get(true, {})
    if named not in names:
        raise ValueError(
            f"check {check.id}: saw answer {named!r}; allowed: {', '.join(names)}; name one of these"
        )
    return 1.0 - sum(wrong.values()) if named == true else wrong.get(named, 0.0)


def _instrument_read(
    check: Check, instrument: Instrument, shown: Shown, readings: Sequence[Reading]
) -> Floats:
    exact = [
        r
        for r in readings
        if r.bound == "exact" and instrument.high > _value(r) and not _nothing(instrument, _value(r))
    ]
    total = (
        _repeated(check, instrument, shown, exact)
        if len(exact) > 1
        else _each(check, instrument, shown, exact)
    )
    return total + _each(check, instrument, shown, [r for r in readings if r not in exact][:1])


def _each(check: Check, instrument: Instrument, shown: Shown, readings: Sequence[Reading]) -> Floats:
    total = np.zeros(len(shown))
    for reading in readings:
        total += _one(check, instrument, shown, reading)
    return total


def _one(check: Check, instrument: Instrument, shown: Shown, reading: Reading) -> Floats:
    """One reading: a density, or the chance of its bound; over range as a chance."""
    true = _clipped(instrument, shown.astype(np.float64))
    sigma, value = _sigma(check, true), _value(reading)
    over = shown >= instrument.high
    if value >= instrument.high:
        return np.where(
            over, 0.0, log_ndtr((true - instrument.high) / np.where(instrument.log, sigma * true, sigma))
        )
    at = _scaled(instrument, np.array([_floor(instrument, value)]))[0]
    gap = (at - _scaled(instrument, true)) / sigma
    if reading.bound == "above":
        return np.where(over, 0.0, log_ndtr(-gap))
    if reading.bound == "below" or _nothing(instrument, value):
        return np.where(over, -np.inf, log_ndtr(gap))
    jacobian = np.log(_floor(instrument, value)) if instrument.log else 0.0
    return np.where(over, -np.inf, -0.5 * gap * gap - np.log(sigma) - 0.5 * np.log(2 * np.pi) - jacobian)


def _repeated(check: Check, instrument: Instrument, shown: Shown, readings: Sequence[Reading]) -> Floats:
    """Jointly normal readings that share the persistent part of the error and the model's error."""
    true = _clipped(instrument, shown.astype(np.float64))
    variance = _sigma(check, true) ** 2
    # The model's error is the machine's own and repeats in full; the instrument's repeats in part.
    shared = instrument.persistent * _instrument_variance(instrument, true) + _model_variance(check, true)
    fresh = np.maximum(variance - shared, 1e-6 * variance)
    values = np.array([_floor(instrument, _value(r)) for r in readings])
    scaled = _scaled(instrument, values)
    n, mean, spread = len(values), scaled.mean(), float(((scaled - scaled.mean()) ** 2).sum())
    joint = shared + fresh / n
    gap = mean - _scaled(instrument, true)
    jacobian = float(np.log(values).sum()) if instrument.log else 0.0
    density = (
        -0.5 * gap * gap / joint
        - 0.5 * np.log(joint * n)
        - 0.5 * spread / fresh
        - 0.5 * (n - 1) * np.log(fresh)
    )
    return np.where(shown >= instrument.high, -np.inf, density - 0.5 * n * np.log(2 * np.pi) - jacobian)


def noise(check: Check, shown: Shown, rng: np.random.Generator) -> Floats:
    """What a technician would read (or, for a look, the number of the answer he would name), without mis-done checks.

    shown : (m,) true values. Returns (m,), infinite where over range.
    """
    if check.instrument is None:
        return _named(check, shown, rng)
    true = _clipped(check.instrument, shown.astype(np.float64))
    scaled = _scaled(check.instrument, true) + _sigma(check, true) * rng.standard_normal(len(true))
    value = _unscaled(check.instrument, scaled)
    return np.where(
        (shown >= check.instrument.high) | (value >= check.instrument.high),
        np.inf,
        np.maximum(value, check.instrument.low),
    )


def _named(check: Check, shown: Shown, rng: np.random.Generator) -> Floats:
    names = [a.name for a in check.answers]
    table = np.array([[_chance(check, true, named, names) for named in names] for true in names])
    edges = np.cumsum(table, axis=1)[np.clip(shown.astype(int), 0, len(names) - 1)]
    # One uniform number against the row's cumulated chances names the answer.
    picked = (rng.random(len(shown))[:, None] > edges).sum(axis=1)
    return np.asarray(np.minimum(picked, len(names) - 1), dtype=np.float64)


def _sigma(check: Check, true: Floats) -> Floats:
    if check.instrument is None:
        return np.zeros_like(true)
    return np.sqrt(_instrument_variance(check.instrument, true) + _model_variance(check, true))


def _instrument_variance(instrument: Instrument, true: Floats) -> Floats:
    if instrument.log:
        return np.full_like(true, instrument.relative**2)
    return np.asarray(
        instrument.absolute**2 + (instrument.relative * true) ** 2 + instrument.resolution**2 / 12.0
    )


def _model_variance(check: Check, true: Floats) -> Floats:
    log = check.instrument is not None and check.instrument.log
    return np.full_like(true, check.model**2) if log else np.asarray((check.model * true) ** 2)


def _clipped(instrument: Instrument, true: Floats) -> Floats:
    """A gauge shows no less than its range's foot; a log instrument no less than a billionth of its top."""
    return np.clip(
        true,
        max(instrument.low, 1e-9 * instrument.high) if instrument.log else instrument.low,
        instrument.high,
    )


def _scaled(instrument: Instrument, value: Floats) -> Floats:
    return np.log(value) if instrument.log else value


def _unscaled(instrument: Instrument, value: Floats) -> Floats:
    return np.exp(value) if instrument.log else value


def _nothing(instrument: Instrument, value: float) -> bool:
    """True for a reading at the foot of the range: the gauge cannot go lower, so it is a chance, not a density."""
    return not instrument.log and value <= instrument.low


def _floor(instrument: Instrument, value: float) -> float:
    return max(value, 1e-9 * instrument.high) if instrument.log else value


def _value(reading: Reading) -> float:
    if reading.value is None:
        raise ValueError(
            f"check {reading.check}: saw no number; allowed: a value with its unit; enter what the instrument showed"
        )
    return reading.value


def exceeds(check: Check, shown: Shown, value: float | Floats) -> Floats:
    """Chance that a fresh reading on each machine lies above a value, (m,); above each of many values (k, 1), (k, m)."""
    if check.instrument is None:
        return np.asarray(shown > value, dtype=np.float64)
    true = _clipped(check.instrument, shown.astype(np.float64))
    foot = 1e-9 * check.instrument.high if check.instrument.log else -np.inf
    at = _scaled(check.instrument, np.maximum(np.asarray(value, dtype=np.float64), foot))
    above = ndtr((_scaled(check.instrument, true) - at) / np.maximum(_sigma(check, true), 1e-300))
    return np.where(shown >= check.instrument.high, 1.0, above)
