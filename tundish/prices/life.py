"""How long a machine still lives: Weibull life by age and use.

t age [year], s scale [year], k shape [-]; S(t) = exp(-(t/s)^k). Gamma functions give mean and remaining life in closed form.
References: W. Weibull, A statistical distribution function of wide applicability, J. Appl. Mech. 18 (1951) 293-297,
doi:10.1115/1.4010337. Faster use ages faster: accelerated failure time (from memory; any book on reliability).
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import exp, gamma, inf, isfinite

import numpy as np
from scipy.special import gammaincc, hyperu

from tundish.prices.errors import PriceError

# Above this exponent S is too near the smallest float; the ratio is then taken from Kummer's U, which is scaled.
LARGE = 50.0


@dataclass(frozen=True)
class Life:
    """Weibull life: `scale` [year], `shape` [-]; below 1 infant failures, 1 no memory, above 1 wear. Raises PriceError."""

    scale: float
    shape: float

    def __post_init__(self) -> None:
        for name, value in (("scale", self.scale), ("shape", self.shape)):
            if not (isfinite(value) and value > 0):
                raise PriceError(
                    seen=f"{name} {value} of a life", allowed="above 0", do=f"give another {name}"
                )

    @classmethod
    def of_mean(cls, mean: float, shape: float) -> Life:
        """The life of a given mean [year].

        >>> round(Life.of_mean(14, 2.5).scale, 3)
        15.779
        """
        return cls(mean / gamma(1 + 1 / cls(1.0, shape).shape), shape)

    @property
    def mean(self) -> float:
        """Mean life of a new machine, [year]."""
        return self.scale * gamma(1 + 1 / self.shape)

    def survival(self, age: float) -> float:
        """Chance to outlive an age, [-].

        >>> round(Life.of_mean(14, 2.5).survival(10), 4)
        0.7263
        """
        return exp(-self._exponent(age))

    def outlives(self, age: float, years: float) -> float:
        """Chance of a machine of an age to live on for some years, [-]; finite at any age.

        >>> round(Life(13, 2).outlives(8, 5), 4)
        0.5372
        """
        # One difference of exponents: a ratio of two survivals would be 0/0 at great age
        return exp(self._exponent(age) - self._exponent(age + years))

    def remaining(self, age: float, *, use: float = 1.0) -> float:
        """Mean remaining life at an age, [year].

        use : cycles a week against the usual, before and from now on, [-]. A machine used twice as much is twice as old
        and has half of what is then left.

        >>> [round(Life(13, 2).remaining(age), 3) for age in (0, 5, 10, 13, 15)]
        [11.521, 7.834, 5.76, 4.926, 4.481]
        """
        if not (isfinite(use) and use > 0):
            raise PriceError(
                seen=f"use {use}", allowed="above 0, 1 is usual", do="give cycles against the usual"
            )
        a, z = 1 / self.shape, self._exponent(age * use)
        # The tail integral over S: Gamma(a, z) e^z, DLMF 8.6.6 gives it as U(1-a, 1-a, z)
        tail = hyperu(1 - a, 1 - a, z) if z > LARGE else gammaincc(a, z) * gamma(a) * exp(z)
        return float(self.scale * a * tail / use)

    def discounted(self, age: float, rate: float, *, use: float = 1.0) -> float:
        """Mean worth of one unit of money a year for the remaining life, discounted at `rate` [1/year]; [year].

        At rate 0 it is the remaining life. Interest is compounded yearly: a year hence is worth 1/(1 + rate).
        """
        if not (isfinite(rate) and rate >= 0):
            raise PriceError(seen=f"discount rate {rate}", allowed="0 or more", do="give it as a share, 0.05")
        # Also the bound: no discount can make it more
        left = self.remaining(age, use=use)
        if rate == 0:
            return left
        force, old = np.log1p(rate), age * use

        def still(time: float) -> float:
            return exp(-force * time) * self.outlives(old, time * use)

        # A quarter of a second to load, and few ask for the value of a remaining life
        from scipy.integrate import quad  # noqa: PLC0415

        # In lengths of the remaining life, so that the integrand is seen whatever the scale
        value, _ = quad(lambda x: left * still(left * x), 0, inf, epsabs=1e-10, epsrel=1e-10, limit=200)
        return float(value)

    def _exponent(self, age: float) -> float:
        if not (isfinite(age) and age >= 0):
            raise PriceError(seen=f"age {age}", allowed="0 years or more", do="give the age in years")
        return float((age / self.scale) ** self.shape)


MEANS = "mean as recalled from federal efficiency rulemakings of the USA, from memory; shape from memory"
# Lives by family: (mean [year], shape [-]).
USUAL_LIVES: Mapping[str, Life] = {
    "front-load washer": Life.of_mean(13.7, 2.3),
    "top-load washer": Life.of_mean(13.7, 2.3),
    "dishwasher": Life.of_mean(15.2, 2.5),
    "dryer": Life.of_mean(14.0, 2.5),
    "refrigerator-freezer": Life.of_mean(15.2, 2.5),
    "oven and hob": Life.of_mean(15.2, 2.5),
}


def usual_life(family: str) -> Life:
    """The usual life of a family. Raises PriceError for one without."""
    if family not in USUAL_LIVES:
        raise PriceError(
            seen=f"the family {family!r}", allowed=", ".join(USUAL_LIVES), do="give a Life of your own"
        )
    return USUAL_LIVES[family]
