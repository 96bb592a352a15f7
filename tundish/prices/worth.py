"""Is the machine worth the repair? The price up to which it is, and the curve around it, never a bare yes or no.

Money here is an estimate, a float in units of currency; what is billed stands in `money`.

A new machine of price P, bought again whenever it dies, costs A = P/D0 a year, D0 the discounted life of a new one (the
renewal-reward rule, from memory). The repaired one serves D1, its discounted remaining life: a repair leaves it as old as it
was (minimal repair, Barlow and Hunter 1960, doi:10.1287/opre.8.1.90). With chance p the repair cures; if not, its price is
lost and the new one is bought all the same. So the repair pays up to R* = p (A + u_new - u_old) D1, u running cost a year.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from tundish.prices.errors import PriceError
from tundish.prices.life import Life

# Shares of a new machine's price above which people say "replace", shown beside the curve and never as a verdict.
RULES_OF_THUMB: Mapping[str, float] = {
    "a third of new, survey (ADEME 2021, as reported)": 0.33,
    "half of new, rule of the trade (common practice, no source)": 0.50,
}


@dataclass(frozen=True, kw_only=True)
class Case:
    """A machine before its repair, and what would stand in its place.

    new_price : a comparable one with removal, money. life : of such machines. age : [year]. use : against the usual, [-].
    rate : discount, [1/year]. running_old, running_new : energy, water and later repairs, money a year.
    chance_cures : that the repair cures, [-].
    """

    new_price: float
    life: Life
    age: float
    use: float = 1.0
    rate: float = 0.0
    running_old: float = 0.0
    running_new: float = 0.0
    chance_cures: float = 1.0

    def __post_init__(self) -> None:
        if not (0 <= self.chance_cures <= 1 and self.new_price >= 0):
            raise PriceError(
                seen=f"new price {self.new_price}, chance {self.chance_cures}",
                allowed="a price of 0 or more and a chance from 0 to 1",
                do="mend the one outside",
            )


@dataclass(frozen=True)
class Curve:
    """Keep or replace over the repair price.

    repair : (n,) prices of the repair. keep : (n,) what keeping then costs a year, infinite where the repair cannot cure.
    replace : what a new one costs a year. break_even : where they cross; below 0 not even a free repair pays.
    """

    repair: tuple[float, ...]
    keep: tuple[float, ...]
    replace: float
    break_even: float
    remaining: float
    rules_of_thumb: Mapping[str, float]


def new_a_year(case: Case) -> float:
    """What a new machine costs a year, running cost included, money a year."""
    return case.new_price / case.life.discounted(0.0, case.rate, use=case.use) + case.running_new


def break_even(case: Case) -> float:
    """The highest repair price worth paying, money.

    >>> round(break_even(Case(new_price=585, life=Life(13, 2), age=10)), 1)
    292.5
    >>> round(break_even(Case(new_price=585, life=Life(13, 1), age=10)), 6)
    585.0
    """
    # Both over the time the old one still serves
    return break_even_of(
        new_a_year(case) * _left(case), case.running_old * _left(case), chance_cures=case.chance_cures
    )


def break_even_of(use_value: float, saving: float, *, chance_cures: float = 1.0) -> float:
    """The same from the worth of the use that is left, and what another machine would save in that time, money.

    >>> break_even_of(366, 290)
    76.0
    """
    return float(chance_cures * (use_value - saving))


def keep_or_replace(case: Case, repair: Sequence[float]) -> Curve:
    """The curve over repair prices, as data."""
    # The price buys a cured machine only so often
    served = case.chance_cures * _left(case)
    keep = tuple(case.running_old + price / served if served > 0 else float("inf") for price in repair)
    return Curve(
        tuple(map(float, repair)),
        keep,
        new_a_year(case),
        break_even(case),
        case.life.remaining(case.age, use=case.use),
        {name: share * case.new_price for name, share in RULES_OF_THUMB.items()},
    )


@dataclass(frozen=True, kw_only=True)
class TwoFailures:
    """Costs and chances of the fix-or-replace rule over the time that matters.

    fix, new : money. overhead : of the next failure, beside another new one. survives_fixed, survives_new : to the end, [-].
    """

    fix: float
    new: float
    overhead: float
    survives_fixed: float
    survives_new: float


def fix_or_replace(case: TwoFailures) -> tuple[float, float]:
    """Expected cost of fixing and of replacing now, money: (fix, replace).

    Best when at most two failures fall into the time, at most one is fixed, a replaced unit is not fixed later and failures
    are independent: Hasidi and Kalech 2021, definition 3, on troubleshooting with survival of parts.

    >>> fix_or_replace(TwoFailures(fix=60, new=120, overhead=80, survives_fixed=0.5372, survives_new=0.8625))
    (152.56, 147.5)
    """
    # A second failure is always answered by a new one
    again = case.new + case.overhead
    return (case.fix + (1 - case.survives_fixed) * again, case.new + (1 - case.survives_new) * again)


def _left(case: Case) -> float:
    return case.life.discounted(case.age, case.rate, use=case.use)
