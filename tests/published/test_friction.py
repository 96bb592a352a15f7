"""Friction in pipes against an independent library and against printed figures.

The library is `fluids` (Bell et al., Fluids, MIT licence); its Colebrook equation is solved exactly. Printed
figures: Moody 1944 as repeated in White, Fluid Mechanics; Cengel and Cimbala, Fluid Mechanics (from memory);
figures marked `by hand` were worked out with that library outside this project.
"""

from __future__ import annotations

import math

import numpy as np
import pytest

from tundish.physics import water
from tundish.physics.friction import HOSE, PIPE, friction_factor, pipe_flow
from tundish.physics.law import passes

fluids = pytest.importorskip("fluids", reason="the reference library `fluids` is not installed")

FOOT, INCH, PSI, GPM = 0.3048, 0.0254, 6894.757293168, 3.785411784e-3 / 60


def drop_of(
    flow: float, length: float, bore: float, rough: float, *, density: float, viscosity: float
) -> float:
    """The library's drop of a pipe, exact Colebrook."""
    velocity = flow / (math.pi / 4 * bore**2)
    re = density * velocity * bore / viscosity
    factor = fluids.friction.Clamond(float(re), rough / bore) if re > 2000 else 64 / re
    return factor * length / bore * density * velocity**2 / 2


@pytest.mark.parametrize("rough", [0.0, 1e-6, 1e-5, 1e-4, 1e-3, 1e-2, 0.05])
def test_turbulent_factor_is_colebrooks(rough: float) -> None:
    for re in np.logspace(math.log10(4001), 8, 40):
        exact = fluids.friction.Clamond(float(re), rough)
        assert float(friction_factor(re * exact**0.5, rough / 3.7)) == pytest.approx(exact, rel=1e-9)


@pytest.mark.parametrize("temperature", [278.15, 293.15, 333.15])
@pytest.mark.parametrize("rough", [0.0, 1.5e-6, 1e-4])
@pytest.mark.parametrize("bore", [4e-3, 9.5e-3, 13.8e-3, 25e-3])
def test_flow_of_a_pipe_gives_the_librarys_drop(bore: float, rough: float, temperature: float) -> None:
    density, viscosity = float(water.density(temperature)), float(water.viscosity(temperature))
    drops = np.logspace(-1, 6, 60)
    flows = passes(PIPE, drops, length=10.0, bore=bore, roughness=rough, temperature=temperature)
    for drop, flow in zip(drops, flows, strict=True):
        re = 4 * flow * density / (math.pi * bore * viscosity)
        if 2000 < re < 4000:
            continue
        theirs = drop_of(flow, 10.0, bore, rough, density=density, viscosity=viscosity)
        assert theirs == pytest.approx(drop, rel=1e-6 if re < 2000 else 1e-5)


@pytest.mark.parametrize("ends", [0.5, 1.5, 20.0])
def test_flow_of_a_hose_gives_the_librarys_drop(ends: float) -> None:
    density, viscosity = float(water.density(293.15)), float(water.viscosity(293.15))
    for drop in np.logspace(4, 6, 20):
        flow = float(passes(HOSE, drop, length=1.5, bore=9.5e-3, ends=ends, temperature=293.15))
        velocity = flow / (math.pi / 4 * 9.5e-3**2)
        friction = drop_of(flow, 1.5, 9.5e-3, 0.0, density=density, viscosity=viscosity)
        assert friction + ends * density * velocity**2 / 2 == pytest.approx(drop, rel=1e-5)


def test_laminar_flow_is_poiseuilles() -> None:
    drop, length, bore, temperature = 20.0, 3.0, 6e-3, 293.15
    exact = math.pi * bore**4 * drop / (128 * float(water.viscosity(temperature)) * length)
    assert float(passes(PIPE, drop, length=length, bore=bore, temperature=temperature)) == pytest.approx(
        exact, rel=1e-9
    )


# Library figures printed in a table of check values: Re, roughness / bore, f.
@pytest.mark.parametrize(
    ("key", "re", "rough", "factor"),
    [
        ("W50", 4e4, 0.0, 0.021970),
        ("W51", 1e5, 1e-4, 0.018514),
        ("W52", 1e5, 1e-3, 0.022175),
        ("W53", 1e6, 1e-4, 0.013441),
        ("W48 Cengel and Cimbala, example 8-3, from memory", 126400, 4.2e-5, 0.0174),
        ("W45 White, example 6.7, read from Moody's chart", 128000, 0.0013, 0.0225),
    ],
)
def test_printed_factors(key: str, re: float, rough: float, factor: float) -> None:
    guess = factor
    for _ in range(50):
        guess = float(friction_factor(re * guess**0.5, rough / 3.7))
    # A chart is read to about 1 %; the computed figures have five digits.
    assert guess == pytest.approx(factor, rel=0.011 if "White" in key or "Cengel" in key else 5e-5), key


@pytest.mark.parametrize(
    ("key", "flow", "length", "bore", "drop"),
    [
        ("W54 half-inch type L copper, 2 gal/min, by hand", 2 * GPM, 100 * FOOT, 0.545 * INCH, 3.46 * PSI),
        ("W55 half-inch type L copper, 4 gal/min, by hand", 4 * GPM, 100 * FOOT, 0.545 * INCH, 11.66 * PSI),
        ("W56 half-inch type L copper, 6 gal/min, by hand", 6 * GPM, 100 * FOOT, 0.545 * INCH, 23.89 * PSI),
    ],
)
def test_copper_pipe_at_15_degrees(key: str, flow: float, length: float, bore: float, drop: float) -> None:
    found = float(passes(PIPE, drop, length=length, bore=bore, roughness=1.5e-6, temperature=288.15))
    assert found == pytest.approx(flow, rel=1e-3), key


@pytest.mark.parametrize(
    ("key", "bore", "kpa"), [("W57", 8e-3, 25.38), ("W58", 9.5e-3, 11.14), ("W59", 12.7e-3, 2.79)]
)
def test_hose_at_ten_litres_a_minute(key: str, bore: float, kpa: float) -> None:
    """By hand with a wall of 1.5 um, which the table's `smooth` means."""
    found = float(passes(PIPE, kpa * 1e3, length=1.5, bore=bore, roughness=1.5e-6, temperature=293.15))
    assert found * 60e3 == pytest.approx(10.0, rel=2e-3), key


def by_hand(
    density: float, viscosity: float, length: float, bore: float, rough: float, *, drop: float
) -> float:
    """Our pipe with another liquid's properties."""
    by_drop = 2 * density * bore**2 / viscosity**2 * bore / length
    start = 800.0
    for _ in range(30):
        start = 4000 * float(friction_factor(start, rough / bore / 3.7)) ** 0.5
    per_re = math.pi / 4 * bore * viscosity / density
    return float(pipe_flow(np.array([drop]), by_drop, per_re, rough / bore / 3.7, start)[0][0])


def test_moodys_own_example() -> None:
    """W44, Moody 1944 (White, example 6.6): 200 ft of 6 in asphalted cast iron at 6 ft/s loses 280 lbf/ft2, 10 % at best."""
    flow = 6 * FOOT * math.pi / 4 * (6 * INCH) ** 2
    found = by_hand(999.0, 1.02e-3, 200 * FOOT, 6 * INCH, 1.2e-4, drop=280 * 47.88026)
    assert found == pytest.approx(flow, rel=0.02)


def test_stainless_pipe_of_a_textbook() -> None:
    """W47, Cengel and Cimbala, from memory: 30 m of 4 cm, 8 L/s, 239 kPa."""
    assert by_hand(999.1, 1.138e-3, 30.0, 0.04, 2e-6, drop=239e3) == pytest.approx(8e-3, rel=1e-3)


def test_two_cast_iron_pipes_in_series() -> None:
    """W46, a university tutorial: 0.5 m3/s takes 13.337 m, entrance 0.5, contraction 0.24 and exit 1.0 included."""
    density, viscosity = 999.7, 1.306e-3
    loss = sum(
        drop_of(0.5, 300.0, bore, 0.26e-3, density=density, viscosity=viscosity) / (density * 9.81)
        for bore in (0.6, 0.4)
    )
    ours = 0.0
    for bore in (0.6, 0.4):
        head = drop_of(0.5, 300.0, bore, 0.26e-3, density=density, viscosity=viscosity)
        assert by_hand(density, viscosity, 300.0, bore, 0.26e-3, drop=head) == pytest.approx(0.5, rel=1e-6)
        ours += head / (density * 9.81)
    fast, slow = (0.5 / (math.pi / 4 * bore**2) for bore in (0.4, 0.6))
    fittings = 0.5 * slow**2 / 19.62 + (0.24 + 1.0) * fast**2 / 19.62
    assert ours == pytest.approx(loss)
    assert ours + fittings == pytest.approx(13.337, rel=5e-3)
