"""What every check would show on every machine, before any instrument's error."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import numpy.typing as npt

from tundish.appliance.records import Answer, Check
from tundish.population.draws import Floats
from tundish.population.machines import Machines


def predict(machines: Machines, checks: Iterable[Check]) -> npt.NDArray[np.float32]:
    """True values (n_checks, n): SI for a reading, the answer's number for a look."""
    return np.array([column(machines, check) for check in checks], dtype=np.float32)


def column(machines: Machines, check: Check) -> Floats:
    """True values of one check, (n,)."""
    value = machines.value(check.reads)
    if not check.is_look or not any(_has_band(a) for a in check.answers):
        return value
    return _banded(value, check.answers)


def _has_band(answer: Answer) -> bool:
    return answer.low is not None or answer.high is not None


def _banded(value: Floats, answers: tuple[Answer, ...]) -> Floats:
    # Bands cover all values without overlap (the reader has checked), so every machine gets its one answer.
    code = np.zeros(value.shape)
    for index, answer in enumerate(answers):
        low = -np.inf if answer.low is None else answer.low
        high = np.inf if answer.high is None else answer.high
        code[(value >= low) & (value < high)] = index
    return code
