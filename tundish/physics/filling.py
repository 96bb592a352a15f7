"""Filling by flow: how long it takes, and what a bucket and a watch say.

Inputs are floats or (n,) arrays, the machine first.
"""

from __future__ import annotations

import numpy as np

from tundish.physics.values import Value


def fill_time(volume: Value, inflow: Value, outflow: Value = 0.0) -> Value:
    """Time to fill a volume at steady flow, t = V / (Q_in - Q_out).

    Parameters
    ----------
    volume : volume still to be filled, V, [m3]
    inflow : flow in, Q_in, [m3/s]
    outflow : flow lost at the same time (siphon, leak), Q_out, [m3/s]

    Returns
    -------
    Time, [s]. Infinite where nothing is gained (inflow at most outflow); 0 where the volume is 0 or less.

    Range: steady flows of any sign; no number raises.

    Examples
    --------
    14 litres at 8.4 litres a minute take 100 s:

    >>> round(float(fill_time(volume=14e-3, inflow=8.4e-3 / 60)), 6)
    100.0
    >>> float(fill_time(volume=14e-3, inflow=1e-4, outflow=2e-4))
    inf

    References
    ----------
    Conservation of volume, no source needed.
    """
    gain = np.subtract(inflow, outflow)
    needed = np.maximum(volume, 0.0)
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        time = np.true_divide(needed, gain)
    # A gain of 0 or less never fills, unless there is nothing left to fill.
    never = np.where(needed > 0, np.inf, 0.0)
    result: Value = np.where(gain > 0, time, never)[()]
    return result


def bucket_flow(volume: Value, time: Value) -> Value:
    """Flow from a timed bucket, Q = V / t.

    Parameters
    ----------
    volume : water caught, V, [m3]
    time : time it took, above 0, t, [s]

    Returns
    -------
    Flow, [m3/s].

    Range: any time above 0; a relative error of the watch goes straight into the flow.

    Examples
    --------
    >>> round(bucket_flow(volume=10e-3, time=60.0) * 60e3, 3)
    10.0

    References
    ----------
    Conservation of volume, no source needed.
    """
    return volume / time
