"""Laws of what brings or holds water: the house line, the flow regulator, the pump."""

from __future__ import annotations

import numpy as np

from tundish.physics.law import Coefficients, Input, Inputs, Law, Response
from tundish.physics.square import CREEP, LEAK, square_flow
from tundish.physics.values import Array, Value

_MOST_STEPS = 60
# Newton's method doubles the digits: after a step this small the error is below 1e-12.
_CLOSE = 1e-6
# A root that is an end of its bracket must not be thrown out by its last digits.
_INWARD = 1 - 1e-9
# A line with no loss would have an endless slope; this is 2 Pa at 8 L/min.
_LEAST_RESISTANCE = 1e8


def house_line(inputs: Inputs) -> Coefficients:
    """Service pipe, meter and pressure regulator: drop = droop (1 - exp(-Q / droop_flow)) + resistance Q2.

    Parameters
    ----------
    inputs : droop [Pa]; droop_flow [m3/s]; resistance [Pa s2/m6]

    Returns
    -------
    Droop [Pa], droop_flow [m3/s], resistance droop_flow2 [Pa].

    Range: one house at one hour; other taps change it. Below 1 Pa the square part is straight.

    Examples
    --------
    Droop 20 kPa, 0.15 kPa a square litre a minute, at 8.4 L/min:

    >>> from tundish.physics.law import passes
    >>> town = {"droop": 20e3, "droop_flow": 4 / 60e3, "resistance": 150 * 60e3**2}
    >>> round(float(passes(HOUSE_LINE, 28135.0, **town)) * 60e3, 2)
    8.4

    References
    ----------
    J. Weisbach, Die Experimental-Hydraulik, 1855, for the square part; the droop's form is from memory.
    """
    flow = inputs["droop_flow"]
    return (inputs["droop"], flow, np.maximum(inputs["resistance"], _LEAST_RESISTANCE) * np.square(flow))


def house_line_flow(drop: Array, droop: Value, droop_flow: Value, square: Value) -> Response:
    """Flow and slope of a house line: solves droop (1 - exp(-x)) + square-law(x) = drop for x = Q / droop_flow.

    Parameters
    ----------
    drop : [Pa]
    droop : [Pa]
    droop_flow : [m3/s]
    square : square loss at droop_flow, [Pa]

    Returns
    -------
    Flow [m3/s] and slope [m3/(s Pa)].

    Examples
    --------
    >>> flow, _ = house_line_flow(np.array([10000.0]), 0.0, 1e-3, 2500.0)
    >>> round(float(flow[0]) * 1e3, 3)
    2.0

    References
    ----------
    As `house_line`; Newton's method kept in a bracket, W. H. Press et al., Numerical Recipes, section 9.4.
    """
    x = _line_root(np.abs(drop), droop, square)
    _, slope = _line_loss(x, droop, square)
    return np.copysign(droop_flow * x, drop), droop_flow / slope


def regulator(inputs: Inputs) -> Coefficients:
    """Rubber flow washer: Q = rated sqrt(drop / knee) below the knee, rated (drop / knee)^exponent above.

    Parameters
    ----------
    inputs : rated [m3/s]; knee [Pa]; exponent [-]

    Returns
    -------
    Rated flow [m3/s], knee [Pa], exponent [-].

    Range: up to about 1 MPa; washers differ by 15 %.

    Examples
    --------
    >>> from tundish.physics.law import passes
    >>> [round(float(passes(REGULATOR, p, rated=8 / 60e3)) * 60e3, 2) for p in (17.5e3, 70e3, 300e3)]
    [4.0, 8.0, 8.48]

    References
    ----------
    Form and figures from memory; flow within 15 % from 15 to 125 psi: common practice, no source.
    """
    return (inputs["rated"], inputs["knee"], inputs["exponent"])


def regulator_flow(drop: Array, rated: Value, knee: Value, exponent: Value) -> Response:
    """Flow and slope of a flow washer; backward it is a plain hole.

    Parameters
    ----------
    drop : [Pa]
    rated : flow at the knee, [m3/s]
    knee : [Pa]
    exponent : [-]

    Returns
    -------
    Flow [m3/s] and slope [m3/(s Pa)].

    Examples
    --------
    >>> flow, _ = regulator_flow(np.array([140e3]), 1e-4, 70e3, 0.5)
    >>> round(float(flow[0]) * 1e4, 4)
    1.4142

    References
    ----------
    As `regulator`.
    """
    flow, slope = square_flow(drop, rated / np.sqrt(knee))
    above = drop > knee
    if above.any():
        over = np.maximum(drop, knee)
        held = rated * np.exp(exponent * np.log(over / knee))
        flow = np.where(above, held + LEAK * drop, flow)
        slope = np.where(above, held * exponent / over + LEAK, slope)
    return flow, slope


def pump(inputs: Inputs) -> Coefficients:
    """Centrifugal pump, head = most_head s2 - (Q / most_flow)2 most_head with s = running x delivery.

    s acts as the speed does. Stopped, the same hole is left open by the share `stopped` of its flow.

    Parameters
    ----------
    inputs : most_flow, at no head [m3/s]; most_head, at no flow [Pa]; running [-]; delivery [-]; stopped [-]

    Returns
    -------
    Flow at 1 Pa [m3/s], head at no flow [Pa].

    Range: 0 to most_flow. Above most_head water runs back through it, as without a check valve.

    Examples
    --------
    Against three quarters of its most head it gives half its most flow:

    >>> at = {"most_flow": 24 / 60e3, "most_head": 16e3, "running": 1.0}
    >>> from tundish.physics.law import passes
    >>> round(float(passes(PUMP, -12e3, **at)) * 60e3, 2)
    12.0

    References
    ----------
    Affinity laws: ISO 17769-1, Liquid pumps, general terms; parabola and `stopped`: from memory.
    """
    speed = inputs["running"] * inputs["delivery"]
    turning = np.greater(speed, 0.0)
    hole = np.where(turning, 1.0, inputs["stopped"]) * inputs["most_flow"] / np.sqrt(inputs["most_head"])
    return (hole, inputs["most_head"] * np.square(speed))


def pump_flow(drop: Array, pass_: Value, head: Value) -> Response:
    """Flow and slope of a pump: a hole that sees the drop plus the pump's head.

    Parameters
    ----------
    drop : start less end, negative when it pumps uphill, [Pa]
    pass_ : flow at 1 Pa, [m3/s]
    head : head at no flow, [Pa]

    Returns
    -------
    Flow [m3/s] and slope [m3/(s Pa)].

    Examples
    --------
    >>> flow, _ = pump_flow(np.array([-7500.0]), 1e-5, 10e3)
    >>> round(float(flow[0]) * 1e4, 4)
    5.0

    References
    ----------
    As `pump`.
    """
    return square_flow(drop + head, pass_)


def _line_loss(x: Array, droop: Value, square: Value) -> tuple[Array, Array]:
    """Drop of a house line at x = Q / droop_flow and its slope by x."""
    # expm1, because in a dead line x is so small that 1 - exp(-x) would be noise.
    spent = np.expm1(-x)
    straight = square * x
    root = np.sqrt(straight * straight + CREEP * square)
    return x * root - droop * spent, droop + droop * spent + root + straight * straight / root


def _line_root(drop: Array, droop: Value, square: Value) -> Array:
    """X of a drop >= 0, by Newton within a bracket that holds the root."""
    # With all the droop spent x is least, with none of it most.
    low = _square_root(np.maximum(drop - droop, 0.0), square)
    high = _square_root(drop, square)
    x = np.minimum(high, low + drop / (droop + np.sqrt(CREEP * square)))
    settled = np.zeros(drop.shape, dtype=np.bool_)
    for _ in range(_MOST_STEPS):
        reached, slope = _line_loss(x, droop, square)
        low, high = np.where(reached < drop, x, low), np.where(reached > drop, x, high)
        newton = x + (drop - reached) / slope
        inside = (newton >= low * _INWARD) & (newton * _INWARD <= high)
        before = x
        # What has settled stays, so that a machine's digits do not hang on its neighbours.
        x = np.where(settled, x, np.where(inside, newton, 0.5 * (low + high)))
        settled |= np.abs(x - before) <= _CLOSE * x
        if settled.all():
            break
    return x


def _square_root(drop: Array, square: Value) -> Array:
    """X of the square part alone, x sqrt((square x)2 + CREEP square) = drop."""
    root = np.sqrt(CREEP * CREEP + 4 * drop * drop) + CREEP
    x: Array = drop * np.sqrt(2 / (root * square))
    return x


HOUSE_LINE = Law(
    "house line",
    (
        Input("droop", "Pa", None, 0.0, 1e7),
        Input("droop_flow", "m3/s", None, 1e-7, 10.0),
        Input("resistance", "Pa s2/m6", None, 0.0, 1e18),
    ),
    house_line,
    house_line_flow,
)
REGULATOR = Law(
    "regulator",
    (
        Input("rated", "m3/s", None, 0.0, 1.0),
        Input("knee", "Pa", 70e3, 1e3, 1e7),
        Input("exponent", "-", 0.04, 0.0, 1.0),
    ),
    regulator,
    regulator_flow,
)
PUMP = Law(
    "pump",
    (
        Input("most_flow", "m3/s", None, 1e-7, 10.0),
        Input("most_head", "Pa", None, 10.0, 1e6),
        Input("running", "-", None, 0.0, 1.0),
        Input("delivery", "-", 1.0, 0.0, 2.0),
        Input("stopped", "-", 0.3, 0.0, 1.0),
    ),
    pump,
    pump_flow,
)
