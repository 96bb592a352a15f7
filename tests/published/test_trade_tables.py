"""Worked tables of fill flow as the trade uses them, solved here as a network.

Source: tables worked out by hand for front loaders, top loaders and dishwashers (common practice, no source), from:
friction by Blasius, house line 0.06 kPa a square litre a minute, tap K 6 on 10 mm, hose 1.5 m of 9.5 mm with ends K 1.5,
screen disc 14 mm with 36 % free, valve body 18 L/min at 100 kPa, washer knee 70 kPa and exponent 0.04, dispenser
head 8 kPa. Figures are printed to 0.1 L/min.

Found when reading them: the model they state has a droop of 20 kPa in the house line, but every cell comes out only
without it; with it the flows at 100 kPa fall by 10 %. The dishwasher's rows come out only with the washer's hose and
valve body, though 8 mm and 10 L/min are stated for it.
"""

from __future__ import annotations

import numpy as np
import pytest

from tundish.physics.laws import LAWS
from tundish.physics.network import Link, Network, Solution, solve
from tundish.physics.restriction import stop_valve_loss

LPM = 1e-3 / 60
PRINTED = 0.055
"""Half the last digit of a figure to 0.1 L/min, and a little for Colebrook in the place of Blasius."""

FILL = Network(
    tuple(
        Link(name, LAWS[law], start, end)
        for name, law, start, end in (
            ("house", "house line", "main", "pipe"),
            ("tap", "minor loss", "pipe", "tee"),
            ("hose", "hose", "tee", "bend"),
            ("kink", "kink", "bend", "screen"),
            ("screen", "screen", "screen", "valve"),
            ("body", "valve body", "valve", "washer"),
            ("washer", "regulator", "washer", "jet"),
        )
    )
)
BLOCKED = np.array([0, 20, 40, 50, 60, 70, 75, 80, 85, 90, 95, 98]) / 100
# Rated flow [L/min], static [kPa], flow [L/min] by blocked share of the screen.
BY_SCREEN = """
3 200 3.1 3.1 3.1 3.1 3.1 3.1 3.1 3.1 3.1 3.0 1.8 0.8
3 350 3.2 3.2 3.2 3.2 3.2 3.2 3.2 3.2 3.2 3.1 2.4 1.0
8 100 7.1 7.0 6.8 6.5 6.2 5.5 5.1 4.4 3.6 2.5 1.3 0.5
8 200 8.2 8.2 8.2 8.2 8.1 8.0 7.3 6.4 5.2 3.7 1.9 0.8
8 350 8.5 8.5 8.5 8.4 8.4 8.4 8.3 8.1 6.9 4.9 2.5 1.0
8 500 8.6 8.6 8.6 8.6 8.6 8.5 8.5 8.4 8.1 5.9 3.0 1.2
14 100 9.2 9.0 8.5 8.1 7.4 6.4 5.7 4.8 3.8 2.6 1.3 0.5
14 200 13.4 13.0 12.3 11.7 10.7 9.2 8.2 7.0 5.5 3.8 1.9 0.8
14 350 14.6 14.5 14.4 14.3 14.1 12.3 11.0 9.3 7.3 5.0 2.6 1.0
14 500 14.9 14.9 14.8 14.8 14.6 14.3 13.2 11.2 8.8 6.0 3.1 1.2
"""
ROWS = [tuple(map(float, line.split())) for line in BY_SCREEN.strip().splitlines()]
STATIC = np.array([20, 30, 50, 70, 100, 150, 200, 300, 400, 550, 700]) * 1e3
BY_PRESSURE = {
    8: (2.5, 3.4, 4.8, 5.8, 7.1, 8.1, 8.2, 8.4, 8.5, 8.6, 8.7),
    14: (3.3, 4.5, 6.2, 7.5, 9.2, 11.5, 13.4, 14.4, 14.7, 15.0, 15.2),
    3: (1.2, 1.6, 2.2, 2.7, 3.0, 3.1, 3.1, 3.2, 3.2, 3.3, 3.3),
}

Numbers = float | np.ndarray


def filled(static: Numbers, rated: float, **change: dict[str, Numbers]) -> Solution:
    """A machine that fills, on as many machines as the longest input."""
    inputs: dict[str, dict[str, Numbers]] = {
        "house": {"droop": 0.0, "droop_flow": 4 * LPM, "resistance": 60 / LPM**2},
        "tap": {"k": 6.0, "bore": 10e-3},
        "hose": {"length": 1.5, "bore": 9.5e-3, "ends": 1.5, "temperature": 293.15},
        "kink": {"bore": 9.5e-3, "open": 1.0},
        "screen": {"bore": 14e-3, "open": 0.36, "blocked": 0.0},
        "body": {"flow_at": 18 * LPM, "called": 1.0},
        "washer": {"rated": rated * LPM},
    }
    inputs = {link: {**given, **change.get(link, {})} for link, given in inputs.items()}
    machines = max(np.size(v) for v in (static, *(x for given in inputs.values() for x in given.values())))
    return solve(FILL, inputs, {"main": static, "jet": 8e3}, machines=machines)


def flow(static: Numbers, rated: float, **change: dict[str, Numbers]) -> np.ndarray:
    """Fill flow [L/min]."""
    return filled(static, rated, **change).flow["washer"] / LPM


@pytest.mark.parametrize("row", ROWS, ids=[f"{r[0]:g} L/min at {r[1]:g} kPa" for r in ROWS])
def test_fill_flow_by_blocked_screen(row: tuple[float, ...]) -> None:
    rated, static, *printed = row
    np.testing.assert_allclose(flow(static * 1e3, rated, screen={"blocked": BLOCKED}), printed, atol=PRINTED)


def test_fill_flow_with_a_thimble_of_three_times_the_area() -> None:
    printed = [8.2, 8.2, 8.2, 8.2, 8.2, 8.2, 8.2, 8.2, 8.1, 7.8, 5.1, 2.3]
    thimble = {"bore": 14e-3 * 3**0.5, "blocked": BLOCKED}
    np.testing.assert_allclose(flow(200e3, 8, screen=thimble), printed, atol=PRINTED)


@pytest.mark.parametrize("rated", BY_PRESSURE)
def test_fill_flow_by_supply_pressure(rated: int) -> None:
    np.testing.assert_allclose(flow(STATIC, rated), BY_PRESSURE[rated], atol=PRINTED)


def test_knee_of_the_screen() -> None:
    """Blocked share at which the flow has fallen by a tenth, printed to 1 %."""
    blocked = np.linspace(0.0, 0.97, 971)
    printed = {(8, 200): 74, (8, 350): 83, (8, 500): 86, (14, 200): 45, (14, 350): 67, (14, 500): 74}
    for (rated, static), knee in printed.items():
        flows = flow(static * 1e3, rated, screen={"blocked": blocked})
        found = 100 * blocked[np.argmax(flows < 0.9 * flows[0])]
        assert found == pytest.approx(knee, abs=1.0), (rated, static)


def test_drop_over_the_screen_at_eight_litres_a_minute() -> None:
    # Clean, 20, 50, 70, 80, 90, 95 % blocked; [kPa], printed to 1 kPa.
    blocked, printed = np.array([0.0, 0.2, 0.5, 0.7, 0.8, 0.9, 0.95]), [4, 8, 25, 79, 188, 797, 3275]
    law = LAWS["screen"]
    coefficients = law.prepare({"bore": 14e-3, "open": 0.36, "blocked": blocked})
    drop = (8 * LPM / coefficients[0]) ** 2
    np.testing.assert_allclose(drop / 1e3, printed, atol=0.6, rtol=2e-3)


def test_stop_valve_throttled() -> None:
    losses, printed = (
        np.array([6.0, 36, 112, 206, 486, 750, 1000, 2000]),
        [8.5, 8.4, 8.2, 7.4, 5.2, 4.3, 3.8, 2.7],
    )
    np.testing.assert_allclose(flow(350e3, 8, tap={"k": losses}), printed, atol=PRINTED)


def test_a_lever_valve_a_quarter_open_starves_the_machine_and_a_gate_valve_does_not() -> None:
    lever = flow(350e3, 8, tap={"k": stop_valve_loss(0, 0.25)})
    gate = flow(350e3, 8, tap={"k": stop_valve_loss(2, 0.25), "bore": 12.7e-3})
    assert lever[0] == pytest.approx(4.3, abs=PRINTED)
    # The table says that the gate "costs 0.1 L/min only".
    assert 0 < flow(350e3, 8)[0] - gate[0] < 0.1


def test_kinked_hose() -> None:
    opens, printed = np.array([50, 30, 20, 15, 10, 7, 5, 3]) / 100, [8.4, 8.4, 8.3, 8.1, 6.2, 4.6, 3.3, 2.0]
    np.testing.assert_allclose(flow(350e3, 8, kink={"open": opens}), printed, atol=PRINTED)


def test_kinked_hose_of_a_top_loader() -> None:
    """Printed 10.9 of 14.6; ours is 11.0, as a kink at open = 1 must cost nothing and the table's still costs an orifice."""
    top = flow(350e3, 14, kink={"open": np.array([0.2, 1.0])})
    np.testing.assert_allclose(top, [10.9, 14.6], rtol=0.02)


def test_where_a_fault_shows_at_two_gauges() -> None:
    """The table of faults, at 350 kPa with droop 20 kPa and 0.15 kPa: flow [L/min], tee and hose end [kPa]."""
    town = {"house": {"droop": 20e3, "resistance": 150 / LPM**2}}
    healthy = filled(350e3, 8, **town)
    assert healthy.flow["washer"][0] / LPM == pytest.approx(8.4, abs=PRINTED)
    assert healthy.potential["tee"][0] / 1e3 == pytest.approx(312, abs=1.0)
    assert healthy.potential["screen"][0] / 1e3 == pytest.approx(301, abs=1.0)
    screen = filled(350e3, 8, screen={"blocked": 0.9}, **town)
    assert 4 < screen.flow["washer"][0] / LPM < 5
    throttled = filled(350e3, 8, tap={"k": 750.0}, **town)
    assert 20 < throttled.potential["tee"][0] / 1e3 < 40
    kinked = filled(350e3, 8, kink={"open": 0.05}, **town)
    assert 20 < kinked.potential["screen"][0] / 1e3 < 40


@pytest.mark.xfail(
    strict=True, reason="the table prints 340 kPa and more; its own model gives 326 kPa at 4.8 L/min"
)
def test_tee_pressure_behind_a_screen_blocked_by_nine_tenths() -> None:
    town = {"house": {"droop": 20e3, "resistance": 150 / LPM**2}}
    assert filled(350e3, 8, screen={"blocked": 0.9}, **town).potential["tee"][0] > 338e3


def test_bucket_flow() -> None:
    """Hose off the machine, end free: 28 L/min with droop; a throttled lever valve 3 to 5."""
    network = Network(FILL.links[:3])
    inputs = {
        "house": {"droop": 20e3, "droop_flow": 4 * LPM, "resistance": 150 / LPM**2},
        "tap": {"k": np.array([6.0, 750.0]), "bore": 10e-3},
        "hose": {"length": 1.5, "bore": 9.5e-3, "temperature": 293.15},
    }
    found = solve(network, inputs, {"main": 350e3, "bend": 0.0}, machines=2).flow["hose"] / LPM
    assert found[0] == pytest.approx(28, rel=0.02)
    assert 3 < found[1] < 5


@pytest.mark.parametrize(("bore", "printed"), [(18e-3, (8.9, 12.5, 15.3)), (21e-3, (12.6, 17.8, 21.8))])
def test_siphon(bore: float, printed: tuple[float, ...]) -> None:
    """2 m of drain hose under 0.1, 0.2 and 0.3 m of head; ends K 2.6 bring the printed figures, which state none."""
    heads = np.array([0.1, 0.2, 0.3])
    network = Network((Link("siphon", LAWS["siphon"], "tub", "floor"),))
    given = {"length": 2.0, "bore": bore, "ends": 2.6, "primed": 1.0, "temperature": 293.15}
    found = solve(network, {"siphon": given}, {"tub": heads * 998.2 * 9.80665, "floor": 0.0}, machines=3)
    np.testing.assert_allclose(found.flow["siphon"] / LPM, printed, rtol=0.05)


def test_a_fill_at_eight_litres_never_catches_up_with_a_siphon_above_nine_centimetres() -> None:
    network = Network((Link("siphon", LAWS["siphon"], "tub", "floor"),))
    given = {"length": 2.0, "bore": 18e-3, "ends": 2.6, "primed": 1.0, "temperature": 293.15}
    heads = np.linspace(0.03, 0.2, 171)
    found = solve(network, {"siphon": given}, {"tub": heads * 998.2 * 9.80665, "floor": 0.0}, machines=171)
    first = heads[np.argmax(found.flow["siphon"] / LPM > 8.0)]
    assert first == pytest.approx(0.09, abs=0.01)
