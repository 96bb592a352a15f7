"""Constants are records with a unit and a source."""

from __future__ import annotations

import dataclasses

import pytest

from tundish.physics import constants
from tundish.physics.constants import CONSTANTS, Constant


def test_the_list_holds_every_constant_of_the_module() -> None:
    named = [value for value in vars(constants).values() if isinstance(value, Constant)]
    assert set(named) == set(CONSTANTS)
    assert len(CONSTANTS) == len(set(CONSTANTS))


@pytest.mark.parametrize("constant", CONSTANTS, ids=lambda constant: constant.source[:40])
def test_every_constant_has_unit_and_source(constant: Constant) -> None:
    assert constant.symbol
    assert constant.unit
    assert len(constant.source) > 10
    assert constant.uncertainty is None or 0 <= constant.uncertainty < abs(constant.value)


def test_only_exact_constants_claim_no_uncertainty() -> None:
    for constant in CONSTANTS:
        if constant.uncertainty == 0:
            assert constant.source.startswith(("exact", "IEC"))


def test_a_constant_cannot_be_changed() -> None:
    with pytest.raises(dataclasses.FrozenInstanceError):
        constants.ATMOSPHERE.value = 1.0  # type: ignore[misc]
