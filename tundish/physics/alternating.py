"""Laws of what only alternating current tells apart from a resistor: a capacitor and a winding.

Each has two faces. With direct current, which is what an ohmmeter sends, a capacitor passes nothing once it is
charged and a winding is its copper. With the supply's alternating current both have an admittance of their own.
"""

from __future__ import annotations

import math

import numpy as np

from tundish.physics.conduction import LEAST_CONDUCTANCE, linear_flow
from tundish.physics.law import Coefficients, Input, Inputs, Law
from tundish.physics.values import Admittance


def capacitor(inputs: Inputs) -> Coefficients:
    """A capacitor: current = j 2 pi frequency x capacitance x voltage; with direct current nothing.

    Parameters
    ----------
    inputs : capacitance [F]; frequency [Hz]

    Returns
    -------
    Conductance to direct current, [S].

    Range: no loss of its own; it counts as 1e-20 S, so that every potential stays defined.

    Examples
    --------
    >>> from tundish.physics.law import passes
    >>> float(passes(CAPACITOR, 1.0, capacitance=30e-6, frequency=50.0))
    1e-20

    References
    ----------
    IEC 60050-131, Circuit theory.
    """
    # Alike whatever the capacitance, but one value a machine where the inputs have one.
    return (np.full(np.shape(inputs["capacitance"]), LEAST_CONDUCTANCE),)


def capacitor_admittance(inputs: Inputs) -> Admittance:
    """What a capacitor passes of an alternating voltage.

    Parameters
    ----------
    inputs : capacitance [F]; frequency [Hz]

    Returns
    -------
    Admittance, [S].

    Examples
    --------
    Two wires side by side for 6 m at 50 Hz are some 300 pF (from memory, 50 pF/m), 10.6 Mohm:

    >>> round(1e-6 / abs(capacitor_admittance({"capacitance": 300e-12, "frequency": 50.0})), 1)
    10.6

    References
    ----------
    IEC 60050-131, Circuit theory.
    """
    # The least conductance keeps a node between two capacitors of nothing solvable.
    return LEAST_CONDUCTANCE + 2j * math.pi * np.multiply(inputs["frequency"], inputs["capacitance"])


def winding(inputs: Inputs) -> Coefficients:
    """A winding of a motor, pump, transformer or coil: voltage = (resistance + j reactance) x current.

    Parameters
    ----------
    inputs : resistance [ohm], of the copper; reactance [ohm], at the supply's frequency

    Returns
    -------
    Conductance to direct current, [S], which is that of the copper alone.

    Range: one state of the iron and, of a motor, one speed; a stalled motor has less reactance than a running one.

    Examples
    --------
    >>> from tundish.physics.law import passes
    >>> round(float(passes(WINDING, 12.0, resistance=2.4, reactance=21.9)), 9)
    5.0

    References
    ----------
    IEC 60050-131, Circuit theory.
    """
    return (np.true_divide(1.0, inputs["resistance"]),)


def winding_admittance(inputs: Inputs) -> Admittance:
    """What a winding passes of an alternating voltage.

    Parameters
    ----------
    inputs : resistance [ohm]; reactance [ohm]

    Returns
    -------
    Admittance, [S].

    Examples
    --------
    >>> complex(winding_admittance({"resistance": 3.0, "reactance": 4.0}))
    (0.12-0.16j)

    References
    ----------
    IEC 60050-131, Circuit theory.
    """
    # A reactance of nothing leaves a conductor.
    return np.true_divide(1.0, inputs["resistance"] + 1j * np.asarray(inputs["reactance"]))


CAPACITOR = Law(
    "capacitor",
    (Input("capacitance", "farad", None, 0.0, 1.0), Input("frequency", "Hz", None, 1.0, 1e6)),
    capacitor,
    linear_flow,
    capacitor_admittance,
)
WINDING = Law(
    "winding",
    (Input("resistance", "ohm", None, 1e-6, 1e15), Input("reactance", "ohm", None, 0.0, 1e15)),
    winding,
    linear_flow,
    winding_admittance,
)
