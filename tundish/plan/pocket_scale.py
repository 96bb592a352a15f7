"""What a check would show as a whole number: steps of a small share of the error that a reading has there anyway.

A log instrument is cut evenly on the logarithm. Any other is cut on the scale on which its error is the same everywhere: with an
error of sqrt(a^2 + (r v)^2) that is asinh(r v / a) / r (a variance-stabilising transform, Bartlett 1947). The answers of a look are
their own numbers.

References
----------
https://doi.org/10.2307/3001536
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tundish.appliance.records import Check, Instrument
from tundish.plan.change import Floats

Shown = npt.NDArray[np.float32]
Codes = npt.NDArray[np.uint16]
# Steps in one sigma of a reading: rounding then adds under a hundredth of a sigma squared. Most steps a number of two bytes has.
FINE, MOST = 8.0, 65_000
# A log instrument shows no less than this share of its top, as in the likelihood.
FOOT = 1e-9
# A reading below its range's end must not become one over it by rounding.
BELOW = 1.0 - 1e-9


@dataclass(frozen=True)
class Scale:
    """How numbers of two bytes stand for true values of a check.

    kind : look, log or even. levels : numbers used, from 0; the last one stands for over range unless it is a look.
    first, step : scaled value of number 0 and between two. curve, floor : r and a of the module's text. top : the instrument's end.
    """

    kind: str
    levels: int
    first: float = 0.0
    step: float = 1.0
    curve: float = 0.0
    floor: float = 1.0
    top: float = 0.0

    def value(self, code: npt.ArrayLike) -> Floats:
        """True values of numbers, whole or between two, SI; the answer's number for a look."""
        at = np.asarray(code, dtype=np.float64)
        if self.kind == "look":
            return at
        scaled = self.first + self.step * at
        if self.kind == "log":
            value = np.exp(scaled)
        else:
            value = _plain(scaled, self.curve, self.floor)
        inside = np.minimum(value, self.top * BELOW if self.top > 0 else self.top)
        return np.where(at >= self.levels - 1, self.top, inside)

    def code(self, check: Check, shown: Shown) -> Codes:
        """Numbers of true values (m,)."""
        if check.instrument is None:
            return np.clip(shown.astype(np.int64), 0, self.levels - 1).astype(np.uint16)
        near = np.rint((_scaled(check, check.instrument, shown) - self.first) / self.step)
        held = np.clip(near, 0, self.levels - 2)
        return np.where(shown >= check.instrument.high, self.levels - 1, held).astype(np.uint16)


def scale_of(check: Check, shown: Shown) -> Scale:
    """The scale of a check for what machines show at it, (m,), healthy ones included.

    >>> from tundish.plan.pocket_scale import Scale
    >>> Scale("log", 12, first=0.0, step=0.5, top=1e3).value([0, 2, 11]).round(3).tolist()
    [1.0, 2.718, 1000.0]
    """
    if check.instrument is None:
        return Scale("look", len(check.answers))
    kept = shown[shown < check.instrument.high]
    scaled = _scaled(check, check.instrument, kept) if len(kept) else np.zeros(1)
    low, high = float(scaled.min()), float(scaled.max())
    curve, floor = _error(check, check.instrument)
    sigma = np.hypot(check.instrument.relative, check.model) if check.instrument.log else 1.0
    # A check without any error would be cut without end
    step = max(sigma / FINE, (high - low) / MOST, 1e-12)
    levels = round((high - low) / step) + 2
    kind = "log" if check.instrument.log else "even"
    return Scale(kind, levels, low, step, curve, floor, check.instrument.high)


def _scaled(check: Check, instrument: Instrument, shown: Shown) -> Floats:
    value = np.clip(shown.astype(np.float64), instrument.low, instrument.high)
    if instrument.log:
        return np.asarray(np.log(np.maximum(value, FOOT * instrument.high)))
    curve, floor = _error(check, instrument)
    return np.asarray(np.arcsinh(curve * value / floor) / curve if curve > 0 else value / floor)


def _plain(scaled: Floats, curve: float, floor: float) -> Floats:
    return np.asarray(np.sinh(curve * scaled) * floor / curve if curve > 0 else scaled * floor)


def _error(check: Check, instrument: Instrument) -> tuple[float, float]:
    """Relative and absolute error of a reading, one sigma; an absolute one of nothing is taken as a little."""
    absolute = np.hypot(instrument.absolute, instrument.resolution / np.sqrt(12.0))
    # Without any absolute error the scale would have no step at nothing
    least = 1e-9 * max(abs(instrument.high), abs(instrument.low))
    return float(np.hypot(instrument.relative, check.model)), float(absolute if absolute > 0 else least)
