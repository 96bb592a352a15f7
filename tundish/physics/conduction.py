"""Straight laws: flow in proportion to the drop, for current, heat and slow flow."""

from __future__ import annotations

import numpy as np

from tundish.physics.law import Coefficients, Input, Inputs, Law, Response
from tundish.physics.values import Array, Value

LEAST_CONDUCTANCE = 1e-20
"""What a straight law passes at least [any]."""


def conductor(inputs: Inputs) -> Coefficients:
    """Ohm's law, current = drop / resistance.

    Parameters
    ----------
    inputs : resistance [ohm]

    Returns
    -------
    Conductance, [S].

    Range: any metal conductor at one temperature.

    Examples
    --------
    >>> from tundish.physics.law import passes
    >>> round(float(passes(CONDUCTOR, 230.0, resistance=26.45)), 2)
    8.7

    References
    ----------
    G. S. Ohm, Die galvanische Kette, 1827; IEC 60050-131.
    """
    return (np.true_divide(1.0, inputs["resistance"]),)


def contact(inputs: Inputs) -> Coefficients:
    """A contact: its own resistance when closed, that of its insulation when open.

    Parameters
    ----------
    inputs : closed, 1 or 0 [-]; resistance, closed [ohm]; open_resistance [ohm]

    Returns
    -------
    Conductance, [S].

    Range: a share between 0 and 1 mixes both conductances, as a contact that is closed part of the time does.

    Examples
    --------
    >>> from tundish.physics.law import passes
    >>> [float(passes(CONTACT, 1.0, closed=c)) for c in (1.0, 0.0)]
    [100.000000001, 1e-09]

    References
    ----------
    G. S. Ohm, Die galvanische Kette, 1827; resistances are common practice, no source.
    """
    made = np.true_divide(inputs["closed"], inputs["resistance"])
    return (made + np.true_divide(1.0, inputs["open_resistance"]),)


def linear(inputs: Inputs) -> Coefficients:
    """Anything that flows in proportion, flow = conductance x drop: heat through a wall, slow seepage.

    Parameters
    ----------
    inputs : conductance [any]

    Returns
    -------
    Conductance, [any].

    Range: any; none at all counts as 1e-20, so that every potential stays defined.

    Examples
    --------
    >>> from tundish.physics.law import passes
    >>> float(passes(LINEAR, 20.0, conductance=1.5))
    30.0

    References
    ----------
    J. Fourier, Theorie analytique de la chaleur, 1822.
    """
    return (np.maximum(inputs["conductance"], LEAST_CONDUCTANCE),)


def linear_flow(drop: Array, conductance: Value) -> Response:
    """Straight law.

    Parameters
    ----------
    drop : drop of potential, [any]
    conductance : flow at a drop of one, [any]

    Returns
    -------
    Flow [any] and slope [any].

    Examples
    --------
    >>> linear_flow(np.array([2.0]), 3.0)
    (array([6.]), array([3.]))

    References
    ----------
    G. S. Ohm, Die galvanische Kette, 1827.
    """
    flow = drop * conductance
    return flow, np.broadcast_to(np.asarray(conductance, dtype=float), flow.shape)


# A straight law passes alternating current as it passes direct current.
CONDUCTOR = Law(
    "conductor",
    (Input("resistance", "ohm", None, 1e-6, 1e15),),
    conductor,
    linear_flow,
    lambda inputs: conductor(inputs)[0],
)
CONTACT = Law(
    "contact",
    (
        Input("closed", "-", None, 0.0, 1.0),
        Input("resistance", "ohm", 0.01, 1e-6, 1e12),
        Input("open_resistance", "ohm", 1e9, 1.0, 1e15),
    ),
    contact,
    linear_flow,
    lambda inputs: contact(inputs)[0],
)
LINEAR = Law(
    "linear",
    (Input("conductance", "any", None, 0.0, 1e12),),
    linear,
    linear_flow,
    lambda inputs: linear(inputs)[0],
)
