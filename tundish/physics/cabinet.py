"""Heat balance of a cabinet with two compartments and one evaporator in the freezer.

Air blown over the evaporator goes mostly to the freezer, the rest through a damper to the fresh food: its temperature is a matter of
air, the freezer's one of capacity. Steady state. Inputs are floats or (n,) arrays, the machine first.
"""

from __future__ import annotations

import numpy as np

from tundish.physics.arithmetic import ratio
from tundish.physics.values import Value


def cooling_capacity(rated: Value, room: Value, fall: Value = 0.008, reference: Value = 297.15) -> Value:
    """Heat the sealed circuit carries away, Q = Qr (1 - s (Ta - Tr)).

    Parameters
    ----------
    rated : capacity at the reference room, Qr, [W]
    room : temperature around the condenser, Ta, [K]
    fall : share lost a kelvin, s, [1/K]
    reference : room of the rating, Tr, [K]

    Returns
    -------
    Capacity while running, [W]; never below 0.

    Range: rooms of 5-45 degC, a plain fixed-speed compressor.

    Examples
    --------
    >>> round(float(cooling_capacity(rated=160.0, room=311.15)), 1)
    142.1

    References
    ----------
    Straight line of common practice, no source; its slope is a fit by judgement.
    """
    capacity: Value = np.maximum(rated * (1.0 - fall * (room - reference)), 0.0)
    return capacity


def compartment_temperature(walls: Value, room: Value, flow: Value, supply: Value, gain: Value) -> Value:
    """Temperature of a compartment cooled by air, T = (UA Ta + mc Ts + P) / (UA + mc).

    Parameters
    ----------
    walls : conductance of walls, door and gasket to the room, UA, [W/K]
    room : temperature of the room, Ta, [K]
    flow : heat capacity rate of the air blown in, mc, [W/K]
    supply : temperature of that air, Ts, [K]
    gain : heat set free inside, P, [W]

    Returns
    -------
    Temperature, [K]. The room's where neither wall nor air takes heat; conductances below 0 count as 0.

    Range: steady state, air well mixed.

    Examples
    --------
    The fresh food of a healthy cabinet, and with half of its air:

    >>> [round(float(compartment_temperature(1.5, 297.15, mc, 255.15, 8.0)) - 273.15, 1) for mc in (1.73, 0.865)]
    [4.0, 12.0]

    References
    ----------
    Conservation of energy; mixing of two heat flows.
    """
    wall, air = np.maximum(walls, 0.0), np.maximum(flow, 0.0)
    taken = wall + air
    mixed: Value = np.where(taken > 0, ratio(wall * room + air * supply + gain, taken), room)[()]
    return mixed


def cabinet_load(
    room: Value, fresh: Value, freezer: Value, *, walls_fresh: Value, walls_freezer: Value, gain: Value
) -> Value:
    """Heat that comes into a cabinet, Q = UAf (Ta - Tf) + UAz (Ta - Tz) + P.

    Parameters
    ----------
    room : temperature of the room, Ta, [K]
    fresh : temperature of the fresh food compartment, Tf, [K]
    freezer : temperature of the freezer, Tz, [K]
    walls_fresh : conductance of the fresh food's walls and door, UAf, [W/K]
    walls_freezer : conductance of the freezer's walls and door, UAz, [W/K]
    gain : doors opened, fans, defrost, lamp and leaks, P, [W]

    Returns
    -------
    Load, [W]; below 0 in a room colder than the cabinet.

    Range: steady state.

    Examples
    --------
    >>> q = cabinet_load(297.15, 276.15, 255.15, walls_fresh=1.5, walls_freezer=0.9, gain=20.0)
    >>> round(float(q), 1)
    89.3

    References
    ----------
    Conservation of energy; Fourier's law in lumped form.
    """
    return walls_fresh * (room - fresh) + walls_freezer * (room - freezer) + gain


def passed_conductance(walls: Value, flow: Value) -> Value:
    """Two heat paths one after the other, G = UA mc / (UA + mc).

    Parameters
    ----------
    walls : conductance of the first path, UA, [W/K]
    flow : conductance of the second, mc, [W/K]

    Returns
    -------
    Conductance of both, [W/K]: how much more heat reaches the freezer's air through the fresh food for each kelvin it is colder.
    Below 0 counts as 0; the smaller of the two where the other is infinite.

    Range: steady state.

    Examples
    --------
    >>> round(float(passed_conductance(1.5, 1.73)), 3)
    0.803

    References
    ----------
    Resistances in series.
    """
    wall, air = np.maximum(walls, 0.0), np.maximum(flow, 0.0)
    least, most = np.minimum(wall, air), np.maximum(wall, air)
    # Written with the smaller one first so that an infinite path drops out.
    series: Value = ratio(least, 1.0 + np.minimum(ratio(least, most), 1.0))
    return series


def freezer_temperature(
    held: Value, load: Value, slope: Value, *, capacity: Value, coil: Value, evaporator: Value
) -> Value:
    """Where the freezer settles: at its control's temperature, or where circuit or coil can do no more.

    The load falls by G for each kelvin that the freezer is warmer: Q = Qh - G (T - Th). The circuit takes Qc at most, the air over the
    coil takes mc (T - Te) at most. T = Th + max(0, (Qh - Qc) / G, (Qh - mc (Th - Te)) / (G + mc)).

    Parameters
    ----------
    held : temperature the control holds, Th, [K]
    load : load at that temperature, Qh, [W]
    slope : fall of the load a kelvin, G, [W/K]
    capacity : what the circuit carries away while it runs, Qc, [W]
    coil : heat capacity rate of the air over the coil, mc, [W/K]
    evaporator : coldest the coil can be, Te, [K]

    Returns
    -------
    Temperature, [K]. Infinite where heat comes in and nothing can take it, slope 0.

    Range: steady state; the coil brings its air near its own temperature.

    Examples
    --------
    A circuit that gives 96 W and one that gives 60 W, 2.4 W a kelvin:

    >>> for watts in (96.0, 60.0):
    ...     t = freezer_temperature(255.15, 89.3, 2.4, capacity=watts, coil=17.3, evaporator=243.15)
    ...     print(round(float(t) - 273.15, 1))
    -18.0
    -5.8

    References
    ----------
    Conservation of energy; effectiveness 1 of a cold coil is common practice, no source.
    """
    falls, air = np.maximum(slope, 0.0), np.maximum(coil, 0.0)
    by_circuit = ratio(np.maximum(load - capacity, 0.0), falls)
    # Air taken to a coil that is warmer than the freezer brings heat, so its depth is counted with its sign.
    by_coil = ratio(np.maximum(load - air * (held - evaporator), 0.0), falls + air)
    settled: Value = held + np.maximum(by_circuit, by_coil)
    return settled


def running_share(load: Value, capacity: Value) -> Value:
    """Share of the time a fixed-speed compressor runs, d = Q / Qc.

    Parameters
    ----------
    load : heat that comes in, Q, [W]
    capacity : heat carried away while it runs, Qc, [W]

    Returns
    -------
    Share, [-], 0 to 1; 1 where the capacity does not reach, 0 where no heat comes in.

    Range: steady state over some hours.

    Examples
    --------
    >>> round(float(running_share(load=88.0, capacity=160.0)), 2), float(running_share(load=88.0, capacity=0.0))
    (0.55, 1.0)

    References
    ----------
    Conservation of energy.
    """
    share: Value = np.clip(ratio(np.maximum(load, 0.0), np.maximum(capacity, 0.0)), 0.0, 1.0)
    return share
