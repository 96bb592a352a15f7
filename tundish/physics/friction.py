"""Friction of water in pipes and hoses, from the drop to the flow.

Symbols: X Karman number Re sqrt(f) [-], known from the drop alone; Re Reynolds number [-]; T the drop made
dimensionless so that T = (L/d) X2 + K Re2 [-]. Laminar below Re 2000, Colebrook above Re 4000, and between them
a rational curve of sqrt(T) over Re that meets both with equal slope and always rises (Gregory and Delbourgo 1982).
There f stays within 3 % (very rough walls 5 %) of the cubic of Dunlop 1991, as printed in Rossman's EPANET 2
Users Manual, 2000, appendix D.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from tundish.physics import water
from tundish.physics.law import Coefficients, Input, Inputs, Law, Response
from tundish.physics.square import LEAK
from tundish.physics.values import Array, Value

LAMINAR_END = 2000.0
"""Reynolds number up to which f = 64 / Re."""

TURBULENT_START = 4000.0
"""Reynolds number from which Colebrook's equation holds."""

ROUGHEST = 0.05
"""Roughness by bore up to which Colebrook's equation is used; what is rougher counts as this."""

# Re sqrt(f) at the end of laminar flow: X2 = 64 Re.
_LAMINAR_SQUARE = 64.0 * LAMINAR_END
# Colebrook: 1/sqrt(f) = -2 log10(roughness / (3.7 d) + 2.51 / X).
_SLOPE = 2.0 / math.log(10.0)
_SMOOTH, _ROUGH = 2.51, 3.7
_END_STEPS = 2


def pipe(inputs: Inputs) -> Coefficients:
    """Darcy-Weisbach, drop = f (L/d) rho v2 / 2, explicit in the flow because Re sqrt(f) follows from the drop.

    Parameters
    ----------
    inputs : length [m]; bore [m]; roughness [m]; temperature [K]

    Returns
    -------
    T by drop [1/Pa], flow by Re [m3/s], roughness / (3.7 d) [-], X at Re 4000 [-].

    Range: 0-100 degC, roughness up to 5 % of the bore. Within the transition no law is certain to 10 %.

    Examples
    --------
    1.5 m of 9.5 mm, nearly smooth, at 20 degC, 11.14 kPa:

    >>> from tundish.physics.law import passes
    >>> at = {"length": 1.5, "bore": 9.5e-3, "roughness": 1.5e-6, "temperature": 293.15}
    >>> round(float(passes(PIPE, 11.14e3, **at)) * 60e3, 2)
    10.0

    References
    ----------
    C. F. Colebrook, J. Inst. Civ. Eng. 11 (1939) 133, doi:10.1680/ijoti.1939.13150; J. A. Gregory, R. Delbourgo,
    IMA J. Numer. Anal. 2 (1982) 123, doi:10.1093/imanum/2.2.123.
    """
    by_drop, flow_by_re, rough = _water_in(inputs)
    return (by_drop * inputs["bore"] / inputs["length"], flow_by_re, rough, _turbulent_start(rough))


def hose(inputs: Inputs) -> Coefficients:
    """Pipe friction plus end losses, drop = (f L/d + ends) rho v2 / 2.

    Parameters
    ----------
    inputs : length [m]; bore [m]; ends, loss coefficient of both ends [-]; roughness [m]; temperature [K]

    Returns
    -------
    T by drop [1/Pa], flow by Re [m3/s], L/d [-], ends [-], roughness / (3.7 d) [-], X at Re 4000 [-].

    Range: as `pipe`; a flat or kinked hose needs a `kink` as well.

    Examples
    --------
    A fill hose at 8.4 L/min loses 11 kPa:

    >>> from tundish.physics.law import passes
    >>> round(float(passes(HOSE, 11.0e3, length=1.5, bore=9.5e-3, temperature=293.15)) * 60e3, 1)
    8.4

    References
    ----------
    C. F. Colebrook, J. Inst. Civ. Eng. 11 (1939) 133, doi:10.1680/ijoti.1939.13150; ends 1.5 (entrance 0.5, exit 1):
    Crane Technical Paper 410.
    """
    by_drop, flow_by_re, rough = _water_in(inputs)
    slender = np.true_divide(inputs["length"], inputs["bore"])
    return (by_drop, flow_by_re, slender, inputs["ends"], rough, _turbulent_start(rough))


def siphon(inputs: Inputs) -> Coefficients:
    """A hose over a crest: flows as a hose when primed, not at all when not.

    Parameters
    ----------
    inputs : as `hose`; primed, 1 when full of water [-]

    Returns
    -------
    As `hose`.

    Range: crest less than about 7 m over the upper level, else the column breaks.

    Examples
    --------
    2 m of 18 mm under 0.2 m of head, the ends as two bends more than a fill hose's:

    >>> from tundish.physics.law import passes
    >>> drain = {"length": 2.0, "bore": 18e-3, "ends": 2.5, "temperature": 293.15}
    >>> round(float(passes(SIPHON, 0.2 * 9789.0, primed=1.0, **drain)) * 60e3, 1)
    12.8

    References
    ----------
    D. Bernoulli, Hydrodynamica, 1738; friction as `hose`.
    """
    by_drop, flow_by_re, *rest = hose(inputs)
    return (by_drop, flow_by_re * inputs["primed"], *rest)


def pipe_flow(drop: Array, by_drop: Value, flow_by_re: Value, rough: Value, start: Value) -> Response:
    """Flow and slope of a pipe.

    Parameters
    ----------
    drop : [Pa]
    by_drop : X2 by drop, [1/Pa]
    flow_by_re : [m3/s]
    rough : roughness / (3.7 d), [-]
    start : X at Re 4000, [-]

    Returns
    -------
    Flow [m3/s] and slope [m3/(s Pa)].

    Examples
    --------
    >>> flow, _ = pipe_flow(np.array([64.0]), 1.0, 1.0, 0.0, start=800.0)
    >>> round(float(flow[0]), 9)
    1.0

    References
    ----------
    As `pipe`.
    """
    square = by_drop * np.abs(drop)
    karman = np.sqrt(np.maximum(square, start * start))
    re, slope = _colebrook(karman, rough)
    slope = slope / (2 * karman)
    re, slope = _with_slow(square, re, slope, slender=1.0, ends=0.0, rough=rough, start=start)
    return np.copysign(flow_by_re * re, drop) + LEAK * drop, flow_by_re * by_drop * slope + LEAK


def hose_flow(
    drop: Array, by_drop: Value, flow_by_re: Value, slender: Value, ends: Value, rough: Value, start: Value
) -> Response:
    """Flow and slope of a hose: solves (L/d) X2 + ends Re(X)2 = T for X by Newton on its root, nearly straight in X.

    Parameters
    ----------
    drop : [Pa]
    by_drop : T by drop, [1/Pa]
    flow_by_re : [m3/s]
    slender : L/d, [-]
    ends : loss coefficient of the ends, [-]
    rough : roughness / (3.7 d), [-]
    start : X at Re 4000, [-]

    Returns
    -------
    Flow [m3/s] and slope [m3/(s Pa)].

    Examples
    --------
    >>> flow, _ = hose_flow(np.array([6400.0]), 1.0, 1.0, 100.0, 0.0, 0.0, 800.0)
    >>> round(float(flow[0]), 9)
    1.0

    References
    ----------
    As `hose`.
    """
    total = by_drop * np.abs(drop)
    fast = np.maximum(total, slender * start * start + ends * TURBULENT_START**2)
    karman = _hose_karman(fast, slender, ends, rough=rough)
    re, slope = _colebrook(karman, rough)
    slope = slope / (2 * (slender * karman + ends * re * slope))
    re, slope = _with_slow(total, re, slope, slender=slender, ends=ends, rough=rough, start=start)
    return np.copysign(flow_by_re * re, drop) + LEAK * drop, flow_by_re * by_drop * slope + LEAK


def friction_factor(karman: Value, rough: Value = 0.0) -> Value:
    """Darcy's friction factor of turbulent flow, 1/sqrt(f) = -2 log10(roughness / (3.7 d) + 2.51 / X).

    Parameters
    ----------
    karman : X = Re sqrt(f), [-]
    rough : roughness / (3.7 d), [-]

    Returns
    -------
    f, [-].

    Range: Re above 4000, roughness up to 5 % of the bore.

    Examples
    --------
    Smooth, Re 40 000 (f 0.02197):

    >>> round(float(friction_factor(40e3 * 0.02197**0.5)), 5)
    0.02197

    References
    ----------
    C. F. Colebrook, J. Inst. Civ. Eng. 11 (1939) 133, doi:10.1680/ijoti.1939.13150.
    """
    result: Value = (_SLOPE * np.log(rough + _SMOOTH / karman)) ** -2
    return result


def _water_in(inputs: Inputs) -> tuple[Value, Value, Value]:
    """T by drop for L/d = 1 [1/Pa], flow by Re [m3/s], roughness / (3.7 d) [-]."""
    density, viscosity = water.density(inputs["temperature"]), water.viscosity(inputs["temperature"])
    bore, roughness = inputs["bore"], inputs["roughness"]
    by_drop = 2 * density * np.square(bore / viscosity)
    flow_by_re = math.pi / 4 * bore * viscosity / density
    # A smooth wall stays one number, which saves an array in every step.
    smooth = np.all(np.equal(roughness, 0.0))
    rough = 0.0 if smooth else np.minimum(np.true_divide(roughness, bore), ROUGHEST) / _ROUGH
    return by_drop, flow_by_re, rough


def _turbulent_start(rough: Value) -> Value:
    """X at which Colebrook gives Re 4000, by repeated substitution (each round gains about a digit)."""
    karman: Value = 0.2 * TURBULENT_START
    for _ in range(20):
        karman = TURBULENT_START * np.sqrt(friction_factor(karman, rough))
    return karman


def _colebrook(karman: Array, rough: Value) -> tuple[Array, Array]:
    """Turbulent Re and d Re / d X."""
    viscous = _SMOOTH / karman
    wall = viscous + rough
    velocity = np.log(wall)
    velocity *= -_SLOPE
    return karman * velocity, velocity + _SLOPE * viscous / wall


def _hose_karman(total: Array, slender: Value, ends: Value, *, rough: Value) -> Array:
    """X of turbulent flow in a hose with the dimensionless drop T."""
    root = np.sqrt(total)
    # A first guess with 1/sqrt(f) = 6, then with the f it leads to; the log makes this good to a per cent.
    karman = root / np.sqrt(slender + 36.0 * ends)
    velocity = -_SLOPE * np.log(_SMOOTH / karman + rough)
    karman = root / np.sqrt(slender + ends * velocity * velocity)
    for _ in range(_END_STEPS):
        re, slope = _colebrook(karman, rough)
        reached = np.sqrt(slender * karman * karman + ends * re * re)
        karman = karman + (root - reached) * reached / (slender * karman + ends * re * slope)
    return karman


def _with_slow(
    total: Array, re: Array, slope: Array, *, slender: Value, ends: Value, rough: Value, start: Value
) -> tuple[Array, Array]:
    """Re and d Re / d T where turbulent ones are right only above T at Re 4000."""
    high = slender * start * start + ends * TURBULENT_START**2
    slow = total < high
    if not slow.any():
        return re, slope
    low = slender * _LAMINAR_SQUARE + ends * LAMINAR_END**2
    laminar, laminar_slope = _laminar(np.minimum(total, low), slender, ends)
    _, last_slope = _colebrook(np.asarray(start), rough)
    last_slope = last_slope / (2 * (slender * start + ends * TURBULENT_START * last_slope))
    _, first_slope = _laminar(np.asarray(low), slender, ends)
    rising = _Rising(np.sqrt(low), np.sqrt(high), first_slope, last_slope)
    between, between_slope = rising.at(np.sqrt(total))
    creeping = total <= low
    re = np.where(slow, np.where(creeping, laminar, between), re)
    return re, np.where(slow, np.where(creeping, laminar_slope, between_slope), slope)


def _laminar(total: Array, slender: Value, ends: Value) -> tuple[Array, Array]:
    """Re and d Re / d T of f = 64 / Re: 64 (L/d) Re + ends Re2 = T."""
    half = 32.0 * slender
    root = np.sqrt(half * half + ends * total)
    return total / (half + root), 0.5 / root


@dataclass(frozen=True)
class _Rising:
    """sqrt(T) over Re between 2000 and 4000: a rational curve that rises whatever its end slopes are.

    low, high : sqrt(T) at both ends. first, last : d Re / d T there.
    """

    low: Array
    high: Array
    first: Array
    last: Array

    def at(self, root: Array) -> tuple[Array, Array]:
        """Re and d Re / d T where sqrt(T) is `root`, from a quadratic equation."""
        width, rise = TURBULENT_START - LAMINAR_END, self.high - self.low
        mean = rise / width
        first, last = 0.5 / (self.low * self.first), 0.5 / (self.high * self.last)
        share = np.clip((root - self.low) / rise, 0.0, 1.0)
        bend = first + last - 2 * mean
        linear = first - share * bend
        x = 2 * share * mean / (linear + np.sqrt(linear**2 + 4 * (mean - linear) * share * mean))
        y = 1 - x
        steep = mean**2 * (last * x * x + 2 * mean * x * y + first * y * y) / (mean + bend * x * y) ** 2
        return LAMINAR_END + width * x, 0.5 / (np.maximum(root, self.low) * steep)


_PIPE_INPUTS = (
    Input("length", "m", None, 1e-3, 1e5),
    Input("bore", "m", None, 1e-4, 10.0),
    Input("roughness", "m", 0.0, 0.0, 0.1),
    Input("temperature", "K", 283.15, 273.15, 373.15),
)
_ENDS = Input("ends", "-", 1.5, 0.0, 1e9)
_PRIMED = Input("primed", "-", None, 0.0, 1.0)

PIPE = Law("pipe", _PIPE_INPUTS, pipe, pipe_flow)
HOSE = Law("hose", (*_PIPE_INPUTS, _ENDS), hose, hose_flow)
SIPHON = Law("siphon", (*_PIPE_INPUTS, _ENDS, _PRIMED), siphon, hose_flow)
