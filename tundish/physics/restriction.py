"""Laws of short restrictions that water passes turbulent: fittings, orifices, kinks, screens and valves.

All keep one coefficient, the flow at 1 Pa, and share the square kernel. Density is that of 20 degC.
"""

from __future__ import annotations

import numpy as np

from tundish.physics.bore import bore_area
from tundish.physics.law import Coefficients, Input, Inputs, Law, Response, choice
from tundish.physics.square import loss_pass, square_flow
from tundish.physics.values import Array, Value

SHARP = 0.62
"""Discharge coefficient of a sharp edge in a pipe; common practice, no source."""

WEEP = 1e-13
"""What a non-return valve lets back [m3/(s Pa)]: 4 mL an hour against 1 m of water; from memory."""

VALVE_KINDS = ("lever", "globe", "gate")

# Loss coefficient by opening (share of the travel). Lever: plug by angle closed, 90 (1 - open) degrees.
# Weisbach's cocks of 1855 as handed down in handbooks, from memory; 40 degrees 17.3 and 60 degrees 206 were
# checked in a printed table; the last point, 67.5 degrees closed, is extrapolated, common practice, no source.
_LEVER_ANGLES = (67.5, 65.0, 60.0, 55.0, 50.0, 45.0, 40.0, 35.0, 30.0, 25.0, 20.0, 15.0, 10.0, 0.0)
_LEVER = (750.0, 486.0, 206.0, 106.0, 52.6, 31.2, 17.3, 9.68, 5.47, 3.10, 1.56, 0.75, 0.29, 0.1)
# Globe with a flat disc: printed table 13, 36, 112; the open washer-sealed valve 6 as in Crane TP-410's range 6-10.
_QUARTERS = (0.25, 0.5, 0.75, 1.0)
_GLOBE = (112.0, 36.0, 13.0, 6.0)
# Gate: printed table 24, 4.5, 0.9; open 0.17 as in Crane TP-410's range 0.15-0.2.
_GATE = (24.0, 4.5, 0.9, 0.17)
# Below the last point ln K goes on straight over ln opening, never flatter than the gap's area demands.
_TAIL = 2.0
_SHUT_BELOW = 1e-6


def minor_loss(inputs: Inputs) -> Coefficients:
    """Loss of a fitting, drop = k rho v2 / 2 on the bore.

    Parameters
    ----------
    inputs : k, loss coefficient [-]; bore [m]

    Returns
    -------
    Flow at 1 Pa, [m3/s].

    Range: turbulent, Reynolds number above about 10 000; slower flow loses more than this says.

    Examples
    --------
    A washer-sealed tap, K 6 on 10 mm, at 8 L/min loses 9 kPa:

    >>> from tundish.physics.law import passes
    >>> round(float(passes(MINOR_LOSS, 8.62e3, k=6, bore=10e-3)) * 60e3, 2)
    8.0

    References
    ----------
    J. Weisbach, Die Experimental-Hydraulik, 1855; K of fittings: Crane Technical Paper 410.
    """
    return (loss_pass(inputs["k"], bore_area(inputs["bore"])),)


def orifice(inputs: Inputs) -> Coefficients:
    """Sharp hole, Q = Cd open A sqrt(2 drop / rho).

    Parameters
    ----------
    inputs : bore [m]; open, share of the bore's area [-]; discharge, Cd [-]

    Returns
    -------
    Flow at 1 Pa, [m3/s].

    Range: Reynolds number above about 10 000.

    Examples
    --------
    4 mm at 241.3 kPa, Cd 0.61:

    >>> from tundish.physics.law import passes
    >>> round(float(passes(ORIFICE, 241.3e3, bore=4e-3, discharge=0.61)) * 60e3, 2)
    10.11

    References
    ----------
    D. Bernoulli, Hydrodynamica, 1738.
    """
    area = inputs["discharge"] * inputs["open"] * bore_area(inputs["bore"])
    return (loss_pass(1.0, area),)


def kink(inputs: Inputs) -> Coefficients:
    """Extra loss of a flattened hose: an orifice of open area a less the same orifice wide open.

    K = (1 / a2 - 1) / Cd2 on the whole bore; none at a = 1.

    Parameters
    ----------
    inputs : bore [m]; open, share a of the bore's area left [-]; discharge, Cd [-]

    Returns
    -------
    Flow at 1 Pa, [m3/s].

    Range: a short flattening; a long one rubs more.

    Examples
    --------
    A 9.5 mm hose flattened to a tenth loses 180 kPa at 5 L/min:

    >>> from tundish.physics.law import passes
    >>> round(float(passes(KINK, 177.6e3, bore=9.5e-3, open=0.1)) * 60e3, 2)
    5.0

    References
    ----------
    Bernoulli's orifice; the form is common practice, no source.
    """
    opening = inputs["open"]
    # A straight hose has no extra loss; the floor keeps its conductance finite.
    narrowing = np.sqrt(np.maximum(1 - np.square(opening), 1e-6))
    area = inputs["discharge"] * opening * bore_area(inputs["bore"])
    return (loss_pass(1.0, area / narrowing),)


def screen(inputs: Inputs) -> Coefficients:
    """Thin perforated plate, K = ((0.707 (1 - f)^0.375 + 1 - f) / f)2 on the approach, f = open (1 - blocked).

    Parameters
    ----------
    inputs : bore, diameter of the screen [m]; open, free share when clean [-]; blocked, share of that lost [-]

    Returns
    -------
    Flow at 1 Pa, [m3/s].

    Range: hole Reynolds number above 10 000; the holes of an inlet screen see 1000, where K is higher.

    Examples
    --------
    A 14 mm disc, 36 % free and half of that blocked, loses 25 kPa at 8 L/min:

    >>> from tundish.physics.law import passes
    >>> round(float(passes(SCREEN, 25.2e3, bore=14e-3, open=0.36, blocked=0.5)) * 60e3, 2)
    8.0

    References
    ----------
    I. E. Idelchik, Handbook of Hydraulic Resistance, diagram 8-1, from memory.
    """
    free = inputs["open"] * (1 - inputs["blocked"])
    closed = np.maximum(1 - free, 0.0)
    velocity_loss = np.maximum(0.707 * closed**0.375 + closed, 1e-3)
    return (loss_pass(1.0, bore_area(inputs["bore"]) * free / velocity_loss),)


def stop_valve_loss(kind: Value, opening: Value) -> Array:
    """Loss coefficient of a stop valve, ln K straight over ln opening between the points of the tables.

    Parameters
    ----------
    kind : 0 lever (plug or ball), 1 globe, 2 gate, [-]
    opening : share of the travel, a lever's 1 - angle closed / 90 degrees, [-]

    Returns
    -------
    K on the bore, [-]; infinite when shut.

    Range: 0 ... 1; below a quarter open it is extrapolated as a power of the opening.

    Examples
    --------
    A lever, a quarter open:

    >>> round(float(stop_valve_loss(0, 0.25)))
    750

    References
    ----------
    J. Weisbach, Die Experimental-Hydraulik, 1855 (cocks); Crane Technical Paper 410 (open valves).
    """
    kind, opening = np.broadcast_arrays(np.asarray(kind, dtype=float), np.asarray(opening, dtype=float))
    log = np.log(np.maximum(opening, _SHUT_BELOW))
    tables = [_log_loss(log, xs, ks) for xs, ks in _TABLES]
    loss = np.exp(np.choose(kind.astype(int), tables))
    return np.where(opening <= _SHUT_BELOW, np.inf, loss)


def stop_valve(inputs: Inputs) -> Coefficients:
    """Stop valve part open, drop = K rho v2 / 2 with K by kind and opening.

    Parameters
    ----------
    inputs : bore [m]; kind, lever, globe or gate [-]; open, share of the travel [-]

    Returns
    -------
    Flow at 1 Pa, [m3/s].

    Range: as `stop_valve_loss`; shut it passes a negligible leak.

    Examples
    --------
    A lever valve of 10 mm a quarter open passes 4.7 L/min at 373 kPa:

    >>> from tundish.physics.law import passes
    >>> round(float(passes(STOP_VALVE, 373e3, bore=10e-3, kind=0, open=0.25)) * 60e3, 2)
    4.7

    References
    ----------
    J. Weisbach, Die Experimental-Hydraulik, 1855; Crane Technical Paper 410.
    """
    return (loss_pass(stop_valve_loss(inputs["kind"], inputs["open"]), bore_area(inputs["bore"])),)


def one_way(inputs: Inputs) -> Coefficients:
    """Non-return valve: a minor loss forward, a weep backward.

    Parameters
    ----------
    inputs : k, loss coefficient [-]; bore [m]

    Returns
    -------
    Flow at 1 Pa, [m3/s].

    Range: a flap or spring that needs no pressure to open.

    Examples
    --------
    >>> from tundish.physics.law import passes
    >>> forward = float(passes(ONE_WAY, 1e3, k=2, bore=20e-3))
    >>> from tundish.physics.law import passes
    >>> forward > 1e-4, abs(float(passes(ONE_WAY, -1e3, k=2, bore=20e-3))) < 1e-9
    (True, True)

    References
    ----------
    J. Weisbach, Die Experimental-Hydraulik, 1855.
    """
    return minor_loss(inputs)


def valve_body(inputs: Inputs) -> Coefficients:
    """Solenoid valve: Q = flow_at passing sqrt(drop / drop_at) when called, a leak of the same form when not.

    Parameters
    ----------
    inputs : flow_at [m3/s] at drop_at [Pa]; called, 1 when the coil pulls [-]; passing, share left by dirt [-];
        leak, flow at drop_at when shut [m3/s]

    Returns
    -------
    Flow at 1 Pa, [m3/s].

    Range: pressure high enough for the pilot to lift, about 20-30 kPa, from memory.

    Examples
    --------
    >>> from tundish.physics.law import passes
    >>> round(float(passes(VALVE_BODY, 25e3, flow_at=18 / 60e3, called=1)) * 60e3, 2)
    9.0

    References
    ----------
    IEC 60534-1, Industrial-process control valves: a valve is rated by its flow at 100 kPa.
    """
    moved = inputs["flow_at"] * inputs["passing"] * inputs["called"]
    return (np.maximum(moved, inputs["leak"]) / np.sqrt(inputs["drop_at"]),)


def forward_flow(drop: Array, pass_: Value) -> Response:
    """Square law forward, a weep backward; its slope jumps at zero drop, the flow does not.

    Parameters
    ----------
    drop : D, [Pa]
    pass_ : flow at 1 Pa forward, [m3/s]

    Returns
    -------
    Flow [m3/s] and slope [m3/(s Pa)].

    Examples
    --------
    >>> flow, _ = forward_flow(np.array([1e4, -1e4]), 1e-6)
    >>> round(float(flow[0]) * 1e6), float(flow[1])
    (100, -1e-09)

    References
    ----------
    As `square_flow`.
    """
    flow, slope = square_flow(np.maximum(drop, 0.0), pass_)
    return flow + WEEP * np.minimum(drop, 0.0), np.where(drop > 0, slope, WEEP)


def _log_loss(log: Array, openings: Array, losses: Array) -> Array:
    """Ln K at ln opening: straight between points, the last interval's slope below them."""
    tail = np.maximum((losses[0] - losses[1]) / (openings[1] - openings[0]), _TAIL)
    below: Array = tail * np.maximum(openings[0] - log, 0.0)
    return np.interp(log, openings, losses) + below


def _points(openings: tuple[float, ...], losses: tuple[float, ...]) -> tuple[Array, Array]:
    return np.log(np.array(openings)), np.log(np.array(losses))


_TABLES = (
    _points(tuple(1 - angle / 90 for angle in _LEVER_ANGLES), _LEVER),
    _points(_QUARTERS, _GLOBE),
    _points(_QUARTERS, _GATE),
)

_BORE = Input("bore", "m", None, 1e-4, 1.0)
_K = Input("k", "-", None, 0.0, 1e12)
_DISCHARGE = Input("discharge", "-", SHARP, 0.1, 1.0)


def _share(name: str, default: float | None) -> Input:
    return Input(name, "-", default, 0.0, 1.0)


MINOR_LOSS = Law("minor loss", (_K, _BORE), minor_loss, square_flow)
ORIFICE = Law("orifice", (_BORE, _share("open", 1.0), _DISCHARGE), orifice, square_flow)
KINK = Law("kink", (_BORE, _share("open", None), _DISCHARGE), kink, square_flow)
SCREEN = Law("screen", (_BORE, _share("open", None), _share("blocked", 0.0)), screen, square_flow)
STOP_VALVE = Law(
    "stop valve", (_BORE, choice("kind", VALVE_KINDS), _share("open", None)), stop_valve, square_flow
)
ONE_WAY = Law("one way", (_K, _BORE), one_way, forward_flow)
VALVE_BODY = Law(
    "valve body",
    (
        Input("flow_at", "m3/s", None, 0.0, 1.0),
        Input("drop_at", "Pa", 100e3, 1.0, 1e8),
        _share("called", None),
        Input("passing", "-", 1.0, 0.0, 10.0),
        Input("leak", "m3/s", 0.0, 0.0, 1.0),
    ),
    valve_body,
    square_flow,
)
