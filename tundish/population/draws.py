"""From a standard normal number to a value of a distribution.

Every machine is a row of standard normal numbers z. A value is the distribution's quantile at Phi(z), so the whole population is a
smooth, repeatable function of z, and the prior of z is the same for every machine (used by `tundish.diagnosis.regrow`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import lru_cache

import numpy as np
import numpy.typing as npt
from scipy.special import betaincinv, ndtr

from tundish.appliance.records import Distribution, Parameter
from tundish.quantity.units import difference_to_si, to_si

Floats = npt.NDArray[np.float64]

# Beta quantiles are read from a table: 4,097 points over +-6 sd keep the error below 1e-5 of the range.
_Z = np.linspace(-6.0, 6.0, 4097)


@lru_cache(maxsize=256)
def _beta_table(a: float, b: float) -> Floats:
    return np.asarray(betaincinv(a, b, ndtr(_Z)), dtype=np.float64)


def _normal(z: Floats, p: tuple[float, ...]) -> Floats:
    return p[0] + p[1] * z


def _lognormal(z: Floats, p: tuple[float, ...]) -> Floats:
    return np.asarray(p[0] * np.power(p[1], z))


def _uniform(z: Floats, p: tuple[float, ...]) -> Floats:
    return np.asarray(p[0] + (p[1] - p[0]) * ndtr(z))


def _loguniform(z: Floats, p: tuple[float, ...]) -> Floats:
    return np.asarray(p[0] * np.power(p[1] / p[0], ndtr(z)))


def _beta(z: Floats, p: tuple[float, ...]) -> Floats:
    return np.interp(z, _Z, _beta_table(p[0], p[1]))


def _choice(z: Floats, p: tuple[float, ...]) -> Floats:
    # The last edge may round below one; the clip keeps such a machine at the last name.
    edges = np.cumsum(p) / np.sum(p)
    return np.asarray(np.minimum(np.searchsorted(edges, ndtr(z), side="right"), len(p) - 1), dtype=np.float64)


def _constant(z: Floats, p: tuple[float, ...]) -> Floats:
    return np.full(z.shape, p[0])


_KINDS: Mapping[str, Callable[[Floats, tuple[float, ...]], Floats]] = {
    "normal": _normal,
    "lognormal": _lognormal,
    "uniform": _uniform,
    "loguniform": _loguniform,
    "beta": _beta,
    "choice": _choice,
    "constant": _constant,
}


def quantile(distribution: Distribution, z: Floats, values: Mapping[str, Floats]) -> Floats:
    """Values of a distribution at standard normal numbers, in the file's unit.

    z : (n,) standard normal numbers, [-].
    values : drawn parameters, for a distribution that depends on a choice (`by`).
    Returns (n,).

    >>> quantile(Distribution("uniform", (2.0, 4.0)), np.zeros(1), {})
    array([3.])
    """
    if distribution.kind == "by":
        drawn = _by_case(distribution, z, values)
    else:
        drawn = _KINDS[distribution.kind](z, distribution.numbers)
    return np.clip(drawn, *distribution.clip) if distribution.clip else drawn


def _by_case(distribution: Distribution, z: Floats, values: Mapping[str, Floats]) -> Floats:
    code = values[distribution.key or ""].astype(int)
    drawn = np.empty_like(z)
    for index, case in enumerate(distribution.cases):
        # Each machine takes the case of its own choice, at its own number.
        here = code == index
        if here.any():
            drawn[here] = quantile(case, z[here], {k: v[here] for k, v in values.items() if _asked(case, k)})
    return drawn


def _asked(distribution: Distribution, name: str) -> bool:
    return distribution.key == name or any(_asked(case, name) for case in distribution.cases)


def draw(parameter: Parameter, distribution: Distribution, z: Floats, values: Mapping[str, Floats]) -> Floats:
    """A parameter's healthy values in SI, (n,).

    values : parameters drawn before, SI; `times` and `plus` of the parameter are looked up there.
    """
    drawn = quantile(distribution, z, values)
    # A choice has no unit.
    if parameter.names:
        return drawn
    if parameter.times:
        return drawn * values[parameter.times]
    if parameter.plus:
        return np.asarray(difference_to_si(drawn, parameter.unit)) + values[parameter.plus]
    return np.asarray(to_si(drawn, parameter.unit), dtype=np.float64)
