"""Flow meters that send pulses.

Inputs are floats or (n,) arrays, the machine first.
"""

from __future__ import annotations

import numpy as np

from tundish.physics.values import Value


def pulse_rate(flow: Value, per_volume: Value) -> Value:
    """Pulses a second of a flow meter, f = |Q| k.

    Parameters
    ----------
    flow : flow through the meter, Q, [m3/s]
    per_volume : pulses per cubic metre, k, [1/m3]

    Returns
    -------
    Rate, [Hz]. A wheel with one pick-up cannot tell the direction, so back flow counts too.

    Range: within the meter's rated flow; no number raises.

    Examples
    --------
    3.2 litres a minute at 208 pulses a litre:

    >>> round(float(pulse_rate(flow=3.2e-3 / 60, per_volume=208e3)), 1)
    11.1

    References
    ----------
    Definition of the meter's factor, ISO 4006:1991.
    """
    # One pick-up sees teeth pass, not which way they pass.
    result: Value = np.abs(flow) * per_volume
    return result


def metered_flow(rate: Value, per_volume: Value) -> Value:
    """Flow from a meter's pulses, Q = f / k.

    Parameters
    ----------
    rate : pulses a second, f, [Hz]
    per_volume : pulses per cubic metre, above 0, k, [1/m3]

    Returns
    -------
    Flow, [m3/s].

    Range: within the meter's rated flow.

    Examples
    --------
    >>> round(metered_flow(rate=60.0, per_volume=600e3) * 60e3, 6)
    6.0

    References
    ----------
    Definition of the meter's factor, ISO 4006:1991.
    """
    return rate / per_volume
