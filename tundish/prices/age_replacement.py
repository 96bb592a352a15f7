"""When to replace a part before it fails, and what that saves.

Age replacement: replaced at age T for c_p, or at failure for c_f. Cost rate C(T) = (c_p S(T) + c_f (1 - S(T))) / integral of S
from 0 to T. Reference: R. Barlow and L. Hunter, Optimum preventive maintenance policies, Oper. Res. 8 (1960) 90-100,
doi:10.1287/opre.8.1.90.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import gamma, inf

from scipy.optimize import brentq
from scipy.special import gammainc

from tundish.prices.errors import PriceError
from tundish.prices.life import Life


@dataclass(frozen=True)
class Replacement:
    """`age` at which to replace, infinite for never; `rate` the cost per unit of time then."""

    age: float
    rate: float


def lived(life: Life, age: float) -> float:
    """Mean time a unit serves until its failure or an age: the integral of S from 0 to it.

    >>> round(lived(Life(1000, 1), 1000), 3)
    632.121
    """
    # With x = (t/s)^k the integral of S is an incomplete gamma function
    a = 1 / life.shape
    return float(life.scale * a * gamma(a) * gammainc(a, (age / life.scale) ** life.shape))


def cost_rate(life: Life, age: float, *, planned: float, failed: float) -> float:
    """Cost per unit of time when replaced at an age. planned, failed : cost of a replacement before and after failure.

    >>> round(cost_rate(Life(1000, 2.5), 493.047, planned=1, failed=5), 8)
    0.00346204
    """
    if not age > 0:
        raise PriceError(
            seen=f"replacement at age {age}", allowed="above 0", do="give an age in the life's unit"
        )
    # Never replaced: every unit fails, after the mean life
    survives = life.survival(age) if age < inf else 0.0
    return (planned * survives + failed * (1 - survives)) / (lived(life, age) if age < inf else life.mean)


def best_replacement(life: Life, *, planned: float, failed: float) -> Replacement:
    """The age of least cost rate; never, where a failure costs no more or the part does not wear (shape 1 or less).

    C'(T) = 0 is h(T) L(T) + S(T) = c_f / (c_f - c_p), h the failure rate, L the mean time served. For a shape above 1 the left
    side rises from 1 without bound, so there is one root.

    >>> best = best_replacement(Life(1000, 2.5), planned=1, failed=5)
    >>> round(best.age, 3)
    493.047
    """
    if not (0 < planned < inf and 0 < failed < inf):
        raise PriceError(
            seen=f"costs {planned} and {failed}", allowed="above 0 and finite", do="give what each costs"
        )
    if life.shape <= 1 or failed <= planned:
        return Replacement(inf, failed / life.mean)
    goal = failed / (failed - planned)

    def slope(x: float) -> float:
        # x is age over scale, so that the search does not depend on the unit of time
        hazard = life.shape / life.scale * x ** (life.shape - 1)
        return float(hazard * lived(life, x * life.scale) + life.survival(x * life.scale) - goal)

    # The left side grows without bound, so doubling ends beyond the root
    high = 1.0
    while slope(high) < 0:
        high *= 2
    age = float(brentq(slope, 0.0, high, xtol=1e-13)) * life.scale
    return Replacement(age, cost_rate(life, age, planned=planned, failed=failed))
