"""Frozen records that say what a law or a closed form takes in, and what a law does with it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from tundish.physics.errors import PhysicsError
from tundish.physics.values import Admittance, Array, Value

Inputs: TypeAlias = Mapping[str, Value]
"""Inputs of a law by name, SI, each a float or (n,), the machine first."""

Coefficients: TypeAlias = tuple[Value, ...]
"""What a law keeps of its inputs, each a float or (n,)."""

Response: TypeAlias = tuple[Array, Array]
"""Flow and slope d flow / d drop, of the shape of the drop."""


@dataclass(frozen=True)
class Input:
    """One input of a law or a closed form: its name, SI unit, default and allowed range.

    default : None where it must be given.
    kinds : names of a choice, in the order of their codes 0, 1, 2 ...; empty for a plain number.
    """

    name: str
    unit: str
    default: float | None
    low: float
    high: float
    kinds: tuple[str, ...] = ()


@dataclass(frozen=True)
class Law:
    """How much flows through a link at a given drop of potential.

    inputs : what it takes, in order.
    prepare : turns inputs into coefficients, once a solve. Its docstring is the law's description.
    flow : `flow(drop, *coefficients)` gives flow and slope, element by element. It is continuous and strictly
        increasing, its slope is finite. Links whose laws share this function are worked out together.
    admittance : turns inputs into current over voltage [S] where both alternate; None where nothing does.
    """

    name: str
    inputs: tuple[Input, ...]
    prepare: Callable[[Inputs], Coefficients]
    flow: Callable[..., Response]
    admittance: Callable[[Inputs], Admittance] | None = None


def choice(name: str, kinds: tuple[str, ...], default: float | None = None) -> Input:
    """An input that names one of several kinds.

    Parameters
    ----------
    name : what the input is called
    kinds : the names, in the order of their codes
    default : code of the kind meant when none is given, [-]

    Returns
    -------
    The input's record.

    Examples
    --------
    >>> choice("kind", ("lever", "globe")).high
    1.0

    References
    ----------
    None; a record's builder.
    """
    return Input(name, "-", default, 0.0, float(len(kinds) - 1), kinds)


def completed(law: Law, given: Inputs, where: str) -> dict[str, Value]:
    """The inputs of a law with defaults filled in, each checked against its range.

    Parameters
    ----------
    law : the law
    given : inputs by name, SI, floats or (n,)
    where : what the message calls the link

    Returns
    -------
    All inputs by name.

    Raises
    ------
    PhysicsError : an input is missing, unknown or out of range.

    Examples
    --------
    >>> from tundish.physics.conduction import CONTACT
    >>> completed(CONTACT, {"closed": 1.0}, "relay")
    {'closed': 1.0, 'resistance': 0.01, 'open_resistance': 1000000000.0}

    References
    ----------
    House rule: seen, allowed, what to do.
    """
    names = [wanted.name for wanted in law.inputs]
    unknown = [name for name in given if name not in names]
    if unknown:
        raise PhysicsError(
            f"{where}: {law.name} has no input `{unknown[0]}`; it takes {', '.join(names)}: correct the name"
        )
    return {wanted.name: _one(law, wanted, given, where=where) for wanted in law.inputs}


def passes(law: Law, drop: Value, **inputs: Value) -> Array:
    """Flow through one link.

    Parameters
    ----------
    law : the law
    drop : drop of potential over the link, [any], float or (n,)
    inputs : the law's inputs by name, SI, [any]

    Returns
    -------
    Flow, [any]: [m3/s], [A] or [W] by the kind of network.

    Raises
    ------
    PhysicsError : an input is missing, unknown or out of range.

    Examples
    --------
    >>> from tundish.physics.conduction import CONDUCTOR
    >>> float(passes(CONDUCTOR, 12.0, resistance=4.0))
    3.0

    References
    ----------
    As the law's own.
    """
    coefficients = law.prepare(completed(law, inputs, "link"))
    flow, _ = law.flow(np.asarray(drop, dtype=float), *coefficients)
    return flow


def _one(law: Law, wanted: Input, given: Inputs, *, where: str) -> Value:
    """One checked input."""
    value = given.get(wanted.name, wanted.default)
    if value is None:
        raise PhysicsError(f"{where}: {law.name} needs `{wanted.name}` [{wanted.unit}], saw none: give it")
    seen = np.asarray(value, dtype=float)
    # Asked this way round so that a value that is not a number fails too.
    good = (seen >= wanted.low) & (seen <= wanted.high)
    if not good.all():
        first = seen[~good].flat[0]
        raise PhysicsError(
            f"{where}: {law.name} input `{wanted.name}` {first:g} {wanted.unit} is outside "
            f"{wanted.low:g} ... {wanted.high:g} {wanted.unit}: check the value and its unit"
        )
    return float(seen) if seen.ndim == 0 else seen
