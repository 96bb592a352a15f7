"""Laws of moving air: the fan, the duct with its fittings and lint, openings, and plain losses.

Flows are volumes at the duct's own state, a few per cent thinner or thicker along the way, which is left out.
"""

from __future__ import annotations

import math

import numpy as np

from tundish.physics import moist_air
from tundish.physics.bore import bore_area
from tundish.physics.friction import ROUGHEST, TURBULENT_START, friction_factor, hose_flow
from tundish.physics.law import Coefficients, Input, Inputs, Law
from tundish.physics.square import SHUT, square_flow
from tundish.physics.supply import pump_flow
from tundish.physics.values import Value

EXHAUST = 328.15
"""Temperature of a dryer's exhaust where a law has no better one, 55 degC [K]; common practice, no source."""

SHARP_AIR = 0.65
"""Discharge coefficient of a flap or crushed hose in air [-]; common practice, no source."""

# Twenty rounds of repeated substitution, as for water; each gains about a digit.
_ROUNDS = 20
_ROUGH = 3.7
# A duct with lint to the middle is shut; this share of its bore is the least that is left.
_LEAST_BORE = 0.02


def duct(inputs: Inputs) -> Coefficients:
    """Round duct with fittings and lint, drop = (f L / d + fittings) rho v2 / 2 on the bore that the lint leaves.

    Parameters
    ----------
    inputs : length, of smooth duct, a flexible hose counted three times [m]; bore [m]; fittings, sum of K [-]; lint,
        its thickness on the wall [m]; roughness, of what the air sees [m]; temperature [K]

    Returns
    -------
    T by drop [1/Pa], flow by Re [m3/s], L/d [-], fittings [-], roughness / (3.7 d) [-], X at Re 4000 [-].

    Range: -20 to 150 degC; a corrugated hose is rougher than any of this, hence the three lengths.

    Examples
    --------
    10.67 m of 4 inch duct at 0.07 m3/s loses about 99 Pa:

    >>> from tundish.physics.law import passes
    >>> round(float(passes(DUCT, 99.0, length=10.67, bore=0.1016, fittings=0, temperature=339.0)), 3)
    0.07

    References
    ----------
    C. F. Colebrook, J. Inst. Civ. Eng. 11 (1939) 133, doi:10.1680/ijoti.1939.13150; hose by three lengths: common
    practice, no source.
    """
    bore = np.maximum(inputs["bore"] - 2 * np.asarray(inputs["lint"]), _LEAST_BORE * inputs["bore"])
    density, viscosity = moist_air.dry_air(inputs["temperature"]), moist_air.viscosity(inputs["temperature"])
    by_drop = 2 * density * np.square(bore / viscosity)
    flow_by_re = math.pi / 4 * bore * viscosity / density
    rough = np.minimum(np.true_divide(inputs["roughness"], bore), ROUGHEST) / _ROUGH
    return (by_drop, flow_by_re, inputs["length"] / bore, inputs["fittings"], rough, _turbulent_start(rough))


def opening(inputs: Inputs) -> Coefficients:
    """Flap, grille or crushed hose, drop = (k + (1 / a2 - 1) / Cd2) rho v2 / 2 on the bore.

    Parameters
    ----------
    inputs : bore [m]; open, share a of the bore left [-]; k, loss coefficient when wide open [-]; discharge, Cd [-];
        temperature [K]

    Returns
    -------
    Flow at 1 Pa, [m3/s].

    Range: Reynolds number above about 10 000; below 1 Pa it is straight.

    Examples
    --------
    A hood that opens to a quarter, at 340 Pa:

    >>> from tundish.physics.law import passes
    >>> round(float(passes(OPENING, 340.0, bore=0.1016, open=0.25, k=1.5, temperature=335.0)) * 3600)
    122

    References
    ----------
    J. Weisbach, Die Experimental-Hydraulik, 1855; the form is common practice, no source.
    """
    left = np.asarray(inputs["open"], dtype=float)
    with np.errstate(divide="ignore"):
        narrowed = (np.true_divide(1.0, np.square(left)) - 1) / np.square(inputs["discharge"])
    loss = np.clip(inputs["k"] + narrowed, 1e-6, SHUT)
    density = moist_air.dry_air(inputs["temperature"])
    return (bore_area(inputs["bore"]) * np.sqrt(2 / (density * loss)),)


def blower(inputs: Inputs) -> Coefficients:
    """Fan and the way through its housing, static = head s2 - loss Q2.

    Parameters
    ----------
    inputs : head, static pressure at no flow and full speed [Pa]; loss, of housing and wheel [Pa s2/m6]; speed, s, that of
        the wheel over the rated one [-]

    Returns
    -------
    Flow at 1 Pa [m3/s], static pressure at no flow [Pa].

    Range: from no flow to free delivery; a stopped wheel leaves its housing open.

    Examples
    --------
    Against 137 Pa, wheel and drum clean in the same loss:

    >>> from tundish.physics.law import passes
    >>> round(float(passes(BLOWER, -137.0, head=400.0, loss=55363.0, speed=1.0)) * 3600)
    248

    References
    ----------
    Affinity laws: ISO 5801, Fans, performance testing; the parabola is common practice, no source.
    """
    return (1 / np.sqrt(inputs["loss"]), inputs["head"] * np.square(inputs["speed"]))


def air_way(inputs: Inputs) -> Coefficients:
    """Any way of air with a known constant, drop = loss Q2: heater box, drum, lint screen, a leak.

    Parameters
    ----------
    inputs : loss [Pa s2/m6]

    Returns
    -------
    Flow at 1 Pa, [m3/s].

    Range: turbulent; below 1 Pa it is straight.

    Examples
    --------
    >>> from tundish.physics.law import passes
    >>> round(float(passes(AIR_WAY, 100.0, loss=1e6)), 4)
    0.01

    References
    ----------
    J. Weisbach, Die Experimental-Hydraulik, 1855.
    """
    return (1 / np.sqrt(inputs["loss"]),)


def _turbulent_start(rough: Value) -> Value:
    """X at which Colebrook gives Re 4000."""
    karman: Value = 0.2 * TURBULENT_START
    for _ in range(_ROUNDS):
        karman = TURBULENT_START * np.sqrt(friction_factor(karman, rough))
    return karman


_BORE = Input("bore", "m", None, 1e-3, 1.0)
_TEMPERATURE = Input("temperature", "K", EXHAUST, 233.15, 473.15)
_LOSS = Input("loss", "Pa s2/m6", None, 1e-2, 1e15)

DUCT = Law(
    "duct",
    (
        Input("length", "m", None, 1e-3, 1e3),
        _BORE,
        Input("fittings", "-", 0.0, 0.0, 1e6),
        Input("lint", "m", 0.0, 0.0, 0.5),
        Input("roughness", "m", 9e-5, 1e-7, 0.05),
        _TEMPERATURE,
    ),
    duct,
    hose_flow,
)
OPENING = Law(
    "opening",
    (
        _BORE,
        Input("open", "-", 1.0, 0.0, 1.0),
        Input("k", "-", 0.0, 0.0, 1e6),
        Input("discharge", "-", SHARP_AIR, 0.1, 1.0),
        _TEMPERATURE,
    ),
    opening,
    square_flow,
)
BLOWER = Law(
    "blower",
    (Input("head", "Pa", None, 1e-2, 1e5), _LOSS, Input("speed", "-", 1.0, 0.0, 2.0)),
    blower,
    pump_flow,
)
AIR_WAY = Law("air way", (_LOSS,), air_way, square_flow)
