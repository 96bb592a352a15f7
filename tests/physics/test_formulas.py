"""The registry of closed forms agrees with its page and never fails on the odd machine."""

from __future__ import annotations

import inspect
import math
import re
import warnings
from itertools import product as combinations
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from tundish.physics.errors import PhysicsError
from tundish.physics.formulas import FORMULAS, Formula
from tundish.physics.values import Array

PAGE = Path(__file__).parents[2] / "docs" / "physics.md"
ODD = (-1e6, -1.0, 0.0, 1e-12, 1.0, 300.0, 1e9)


def listed_forms() -> dict[str, str]:
    """Name -> inputs, as the page's table of closed forms lists them."""
    section = PAGE.read_text(encoding="utf-8").partition("## Closed forms")[2].partition("\n## ")[0]
    rows = re.findall(r"^\| (`.+?) \| (.*?) \|", section, flags=re.MULTILINE)
    return {name: inputs for names, inputs in rows for name in re.findall(r"`([^`]+)`", names)}


def arguments(formula: Formula, arrays: list[Array]) -> dict[str, object]:
    """The arrays bound to the formula's inputs."""
    if formula.variadic:
        return {"of": arrays}
    return {given.name: array for given, array in zip(formula.inputs, arrays, strict=True)}


def test_the_page_lists_exactly_the_registry() -> None:
    assert set(listed_forms()) == set(FORMULAS)


@pytest.mark.parametrize("name", [name for name, formula in FORMULAS.items() if not formula.variadic])
def test_the_page_names_the_inputs(name: str) -> None:
    listed = [entry.strip() for entry in listed_forms()[name].split(",")]
    written = [
        one.name if one.default is None else f"{one.name}={one.default:g}" for one in FORMULAS[name].inputs
    ]
    assert listed == written


@pytest.mark.parametrize("formula", FORMULAS.values(), ids=list(FORMULAS))
def test_inputs_are_the_functions_own(formula: Formula) -> None:
    parameters = inspect.signature(formula.function).parameters
    assert [one.name for one in formula.inputs] == list(parameters)
    for one in formula.inputs:
        standard = parameters[one.name].default
        assert one.default == (None if standard is inspect.Parameter.empty else standard)
        assert one.low < one.high
    assert formula.required == tuple(one.name for one in formula.inputs if one.default is None)


@pytest.mark.parametrize("formula", FORMULAS.values(), ids=list(FORMULAS))
def test_odd_machines_neither_raise_nor_give_nan(formula: Formula) -> None:
    count = 2 if formula.variadic else len(formula.inputs)
    grid = np.array(list(combinations(ODD, repeat=count)))
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        result = np.asarray(formula.function(**arguments(formula, list(grid.T))))
    assert result.shape == (len(grid),)
    assert not np.isnan(result).any()


@pytest.mark.parametrize("formula", FORMULAS.values(), ids=list(FORMULAS))
@given(st.integers(0, 2**32 - 1))
def test_an_array_gives_what_its_machines_give(formula: Formula, seed: int) -> None:
    count = 3 if formula.variadic else len(formula.inputs)
    drawn = np.random.default_rng(seed).uniform(0.1, 400.0, size=(count, 4))
    together = np.asarray(formula.function(**arguments(formula, list(drawn))))
    for machine in range(4):
        alone = formula.function(**arguments(formula, list(drawn[:, machine])))
        assert together[machine] == pytest.approx(float(alone), rel=1e-12)


def test_a_form_takes_floats_and_arrays_together() -> None:
    time = FORMULAS["fill time"].function(volume=0.014, inflow=np.array([1e-4, 2e-4]), outflow=0.0)
    assert np.asarray(time).tolist() == pytest.approx([140.0, 70.0])


def test_least_of_nothing_is_refused() -> None:
    for name in ("least", "greatest"):
        with pytest.raises(PhysicsError, match=r"was given 0 quantities, at least 1 is needed: list them"):
            FORMULAS[name].function(of=[])


def test_sum_and_product_of_nothing() -> None:
    assert FORMULAS["sum"].function(of=[]) == 0
    assert FORMULAS["product"].function(of=[]) == 1


def test_fill_never_ends_where_nothing_is_gained() -> None:
    fill = FORMULAS["fill time"].function
    assert fill(volume=0.01, inflow=1e-4, outflow=1e-4) == math.inf
    assert fill(volume=0.01, inflow=-1e-4) == math.inf
    assert fill(volume=0.0, inflow=0.0) == 0
    assert fill(volume=-0.01, inflow=1e-4) == 0


@given(st.floats(0, 0.1), st.floats(283, 343), st.floats(0, 0.1), st.floats(273.15, 300), st.floats(0, 0.2))
def test_a_mix_lies_between_its_parts(
    hot_volume: float, hot: float, cold_volume: float, cold: float, dead: float
) -> None:
    mix = FORMULAS["mixed temperature"].function(
        hot_volume=hot_volume, hot=hot, cold_volume=cold_volume, cold=cold, dead_volume=dead, dead=290.0
    )
    assert min(hot, cold, 290.0) - 1e-9 <= float(mix) <= max(hot, cold, 290.0) + 1e-9


def test_nothing_drawn_gives_the_cold_temperature() -> None:
    mix = FORMULAS["mixed temperature"].function(
        hot_volume=0.0, hot=330.0, cold_volume=0.0, cold=285.0, dead_volume=1e-3, dead=293.0
    )
    assert float(mix) == 285.0


def test_open_and_shorted_parts() -> None:
    power = FORMULAS["heating power"].function
    assert float(power(volts=230.0, resistance=math.inf)) == 0
    assert float(power(volts=230.0, resistance=0.0)) == math.inf
    assert float(power(volts=0.0, resistance=0.0)) == 0
    winding = FORMULAS["winding resistance"].function
    assert float(winding(resistance_20=math.inf, temperature=1.0)) == math.inf
    assert (
        float(FORMULAS["thermistor"].function(resistance_25=math.inf, beta=3950.0, temperature=0.0))
        == math.inf
    )


def test_a_meter_counts_back_flow_too() -> None:
    rate = FORMULAS["pulse rate"].function(flow=np.array([-1e-4, 1e-4]), per_volume=2e5)
    assert np.asarray(rate).tolist() == [20.0, 20.0]


def test_a_surge_turns_with_the_flow() -> None:
    surge = FORMULAS["surge"].function
    assert surge(flow=-1e-4, bore=0.01, wave_speed=1300.0) == -surge(flow=1e-4, bore=0.01, wave_speed=1300.0)


def test_a_sump_takes_the_first_water() -> None:
    level = FORMULAS["volume level"].function(volume=np.array([0.5e-3, 1e-3, 3e-3]), area=0.1, sump=1e-3)
    assert np.asarray(level).tolist() == pytest.approx([0.0, 0.0, 0.02])


def test_two_fills_that_never_end_are_alike() -> None:
    assert float(FORMULAS["difference"].function(a=math.inf, b=math.inf)) == 0
    assert float(FORMULAS["difference"].function(a=math.inf, b=3.0)) == math.inf
    assert float(FORMULAS["ratio"].function(a=math.inf, b=math.inf)) == 0
    assert float(FORMULAS["ratio"].function(a=-2.0, b=-0.0)) == -math.inf
