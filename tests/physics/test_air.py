"""Laws of air: duct, opening, blower, plain loss."""

from __future__ import annotations

import math

import numpy as np
import pytest

from tundish.physics.air import AIR_WAY, BLOWER, DUCT, OPENING
from tundish.physics.law import passes
from tundish.physics.moist_air import dry_air, viscosity
from tundish.physics.network import Link, Network, solve


def test_lint_narrows_as_the_fifth_power() -> None:
    """5 mm on the wall of 4 inch multiplies the drop by 1.68, 8 mm by 2.36 (worked out with D^-5)."""
    at = {"length": 10.0, "bore": 0.1016, "fittings": 0.0, "roughness": 1e-7}
    flow = float(passes(DUCT, 100.0, **at))
    for lint, factor in ((5e-3, 1.68), (8e-3, 2.36)):
        drop = np.linspace(100, 400, 3001)
        found = drop[np.argmin(np.abs(passes(DUCT, drop, **at, lint=lint) - flow))]
        # D^-5 holds at one friction factor; in a smooth duct that goes with Re^-0.2, and Re with 1 / D.
        assert found / 100 == pytest.approx(factor * (1 - 2 * lint / 0.1016) ** 0.2, rel=0.01)


def test_five_feet_of_duct_lose_what_a_mitred_elbow_does_in_the_code() -> None:
    """5 ft of 4 inch duct stand for K 0.36 (worked out from f 0.0242)."""
    bore, length = 0.1016, 5 * 0.3048
    flow = float(passes(DUCT, 10.0, length=length, bore=bore))
    velocity = flow / (math.pi / 4 * bore**2)
    assert 10.0 / (0.5 * dry_air(328.15) * velocity**2) == pytest.approx(0.36, rel=0.06)


def test_a_shut_opening_passes_only_the_leak() -> None:
    assert abs(float(passes(OPENING, 400.0, bore=0.1, open=0.0))) < 1e-12


def test_a_wide_opening_without_loss_hardly_holds_back() -> None:
    assert float(passes(OPENING, 10.0, bore=0.1, open=1.0)) > 10


@pytest.mark.parametrize("open_", [0.05, 0.1, 0.25, 0.5, 0.9])
def test_opening_is_a_sharp_hole_less_the_whole_one(open_: float) -> None:
    """K = (1 / a2 - 1) / 0.65^2, by hand."""
    flow = float(passes(OPENING, 300.0, bore=0.1016, open=open_))
    velocity = flow / (math.pi / 4 * 0.1016**2)
    loss = 300.0 / (0.5 * float(dry_air(328.15)) * velocity**2)
    assert loss == pytest.approx((1 / open_**2 - 1) / 0.65**2, rel=0.005)


@pytest.mark.parametrize("speed", [0.3, 0.6, 1.0])
def test_a_slower_wheel_follows_the_affinity_laws(speed: float) -> None:
    """Flow goes with the speed, pressure with its square."""
    rated = float(passes(BLOWER, -150.0, head=400.0, loss=2e4))
    slow = float(passes(BLOWER, -150.0 * speed**2, head=400.0, loss=2e4, speed=speed))
    assert slow == pytest.approx(rated * speed, rel=1e-3)


def test_a_stopped_wheel_moves_nothing_by_itself() -> None:
    assert float(passes(BLOWER, 0.0, head=400.0, loss=2e4, speed=0.0)) == 0.0


def test_plain_loss() -> None:
    assert float(passes(AIR_WAY, 400.0, loss=1e5)) == pytest.approx(math.sqrt(400 / 1e5), rel=1e-4)


def test_air_is_counted_where_fan_and_duct_agree() -> None:
    """Static of the fan equals the loss of the duct at the flow that is found."""
    links = (Link("fan", BLOWER, "room", "collar"), Link("duct", DUCT, "collar", "outside"))
    inputs = {
        "fan": {"head": 400.0, "loss": 55363.0},
        "duct": {"length": 6.0, "bore": 0.1016, "fittings": 2.2},
    }
    found = solve(Network(links), inputs, {"room": 0.0, "outside": 0.0}, machines=1)
    flow, static = float(found.flow["fan"][0]), float(found.potential["collar"][0])
    # The square law runs straight below 1 Pa, which a hundred times above is still a part in 10^5.
    assert static == pytest.approx(400 - 55363 * flow**2, rel=1e-4)
    assert static == pytest.approx(137, rel=0.03)


def test_warm_air_is_thinner_and_stickier() -> None:
    assert float(dry_air(328.15)) < float(dry_air(293.15))
    assert float(viscosity(328.15)) > float(viscosity(293.15))
