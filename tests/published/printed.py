"""A figure somebody else printed, and the check against it."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import pytest

from tundish.physics.values import Value

PSI = 6894.757293168  # [Pa], exact
GPM = 3.785411784e-3 / 60  # US gallon a minute [m3/s], exact
LPM = 1e-3 / 60  # litre a minute [m3/s], exact
FOOT = 0.3048  # [m], exact
C0 = 273.15  # 0 degC [K], exact


@dataclass(frozen=True)
class Case:
    """Who printed a figure (key and source), what we get, what was printed, and how close it must be."""

    key: str
    source: str
    got: Callable[[], Value]
    expected: float
    within: float


def relative(key: str, source: str, got: Callable[[], Value], expected: float, part: float) -> Case:
    """A case with a relative tolerance."""
    return Case(key, source, got, expected, within=abs(expected) * part)


def check(case: Case) -> None:
    """Fail with the source in the message."""
    got = float(case.got())
    assert abs(got - case.expected) <= case.within, (
        f"{case.key}: {got:.7g}, printed {case.expected:.7g} within {case.within:.3g} ({case.source})"
    )


def each(*groups: list[Case]) -> pytest.MarkDecorator:
    """One test for each case, named by its key."""
    cases = [case for group in groups for case in group]
    return pytest.mark.parametrize("case", cases, ids=[case.key for case in cases])
