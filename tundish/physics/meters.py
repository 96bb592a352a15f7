"""The meter as a link: what a voltmeter, an ohmmeter, an insulation tester and a clamp show, as they load what they measure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from tundish.physics.conduction import CONDUCTOR
from tundish.physics.network import Link, Network, Solution, solve
from tundish.physics.phasor import PhasorSolution, solve_phasors
from tundish.physics.values import Array, Numeric, Value

METER = "meter"
"""Name of the link that a voltmeter is."""
HIGH_IMPEDANCE = 10e6
"""Input of an ordinary digital voltmeter [ohm]; from memory."""
LOW_IMPEDANCE = 3e3
"""Input of a voltmeter's low-impedance function [ohm], about; common practice, no source."""
LEAST_CURRENT = 1e-15
"""Below this an ohmmeter at 1 V counts no current [A], so that an open circuit reads a large number."""

_Inputs = Mapping[str, Mapping[str, npt.ArrayLike]]
_Values = Mapping[str, npt.ArrayLike]


def with_voltmeter(network: Network, start: str, end: str) -> Network:
    """The network with a voltmeter between two nodes.

    Parameters
    ----------
    network : the links
    start, end : the probed nodes

    Returns
    -------
    The network with one more link, METER, a conductor whose resistance is the meter's.

    Examples
    --------
    >>> with_voltmeter(Network((Link("coil", CONDUCTOR, "live", "neutral"),)), "live", "neutral").links[-1].name
    'meter'

    References
    ----------
    IEC 60050-313 (input impedance of a measuring instrument).
    """
    # A link of its own, so that the current it takes can be read too.
    return Network((*network.links, Link(METER, CONDUCTOR, start, end)))


def voltage(
    network: Network,
    inputs: _Inputs,
    held: _Values,
    *,
    across: tuple[str, str],
    machines: int,
    meter: Value = HIGH_IMPEDANCE,
) -> Array:
    """What a voltmeter shows between two nodes of a network whose potentials alternate.

    Parameters
    ----------
    network : the links
    inputs : of each link's law, by link and input, SI, floats or (n,)
    held : potentials that are given, by node, [V], complex numbers or (n,)
    across : the probed nodes
    machines : n, [-]
    meter : resistance of the meter, [ohm]

    Returns
    -------
    Root mean square voltage, (n,), [V].

    Raises
    ------
    PhysicsError : as solve_phasors.

    Examples
    --------
    The far end of a 2 kW element whose neutral is lost shows the whole supply, and keeps nearly all of it under load:

    >>> element = Network((Link("element", CONDUCTOR, "L", "N end"), Link("insulation", CONDUCTOR, "N end", "E")))
    >>> given = {"element": {"resistance": 26.45}, "insulation": {"resistance": 1e9}}
    >>> meter = np.array([HIGH_IMPEDANCE, LOW_IMPEDANCE])
    >>> voltage(element, given, {"L": 230, "E": 0}, across=("N end", "E"), machines=2, meter=meter).round(1)
    array([230., 228.])

    References
    ----------
    IEC 60050-313 (input impedance of a measuring instrument).
    """
    # Solved with the meter in place, as it pulls down what has no strength behind it.
    probed = with_voltmeter(network, *across)
    solved = solve_phasors(probed, {**inputs, METER: {"resistance": meter}}, held, machines=machines)
    return np.abs(solved.potential[across[0]] - solved.potential[across[1]])


def resistance(
    network: Network, inputs: _Inputs, *, leads: tuple[Sequence[str], str], machines: int
) -> Array:
    """What an ohmmeter or an insulation tester shows on an isolated network.

    Its direct current passes a winding by its copper only, and no capacitor.

    Parameters
    ----------
    network : the links
    inputs : of each link's law, by link and input, SI, floats or (n,)
    leads : nodes joined at one lead, as the live conductors are for an insulation test, and the node at the other
    machines : n, [-]

    Returns
    -------
    Resistance, (n,), [ohm]; that of an open circuit is at most 1 / LEAST_CURRENT.

    Raises
    ------
    PhysicsError : as solve.

    Examples
    --------
    A defrost element of 36 ohm beside a timer motor of 7 kohm:

    >>> pair = Network((Link("element", CONDUCTOR, "L", "N"), Link("timer", CONDUCTOR, "L", "N")))
    >>> ohms = {"element": {"resistance": 36.0}, "timer": {"resistance": 7000.0}}
    >>> resistance(pair, ohms, leads=(["L"], "N"), machines=1).round(1)
    array([35.8])

    References
    ----------
    IEC 60050-313; joined conductors: IEC 60335-1, clause 16, from memory.
    """
    joined, other = leads
    # All laws of electricity are straight, so one volt tells as much as five hundred.
    solved = solve(network, inputs, {**dict.fromkeys(joined, 1.0), other: 0.0}, machines=machines)
    return 1.0 / np.maximum(current_out(network, solved.flow, joined), LEAST_CURRENT)


def current_out(network: Network, flow: Mapping[str, Numeric], nodes: Sequence[str]) -> Numeric:
    """Net current that leaves some nodes through the links.

    Parameters
    ----------
    network : the links
    flow : of each link, by name, (n,), [A]
    nodes : the nodes

    Returns
    -------
    Current, (n,), [A].

    Examples
    --------
    >>> pair = Network((Link("a", CONDUCTOR, "L", "N"), Link("b", CONDUCTOR, "N", "L")))
    >>> current_out(pair, {"a": np.array([3.0]), "b": np.array([-1.0])}, ["L"])
    array([4.])

    References
    ----------
    G. Kirchhoff, Annalen der Physik 140 (1845) 497.
    """
    out = np.zeros_like(next(iter(flow.values())))
    # A link between two of the nodes counts twice, once each way, and so not at all.
    for link in network.links:
        out = out + (link.start in nodes) * flow[link.name] - (link.end in nodes) * flow[link.name]
    return out


def clamp(solution: Solution | PhasorSolution, *around: str) -> Array:
    """What a clamp around one conductor shows, or around several, where only their difference is left.

    Parameters
    ----------
    solution : the solved network
    around : links in the clamp, all counted from start to end

    Returns
    -------
    Root mean square current, (n,), [A].

    Examples
    --------
    Live and neutral of a heater that leaks 5 mA to its frame:

    >>> ways = (Link("live", CONDUCTOR, "L", "top"), Link("heater", CONDUCTOR, "top", "N"), Link("leak", CONDUCTOR, "top", "E"))
    >>> ohms = {"live": {"resistance": 0.01}, "heater": {"resistance": 12.0}, "leak": {"resistance": 24e3}}
    >>> solved = solve_phasors(Network(ways), ohms, {"L": 120, "N": 0, "E": 0}, machines=1)
    >>> clamp(solved, "live").round(1), (1e3 * clamp(solved, "leak")).round(1)
    (array([10.]), array([5.]))

    References
    ----------
    G. Kirchhoff, Annalen der Physik 140 (1845) 497; clamps: IEC 61010-2-032, from memory.
    """
    # Added with their angles: what flows out and back leaves nothing.
    ways = [solution.flow[name] for name in around]
    shown: Array = np.abs(np.sum(ways, axis=0))
    return shown
