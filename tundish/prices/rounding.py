"""One rule of rounding, and how a rounded whole is shared out so that its parts add up to it."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from fractions import Fraction
from math import floor

from tundish.prices.errors import PriceError

Exact = int | Decimal | Fraction


def half_up(value: Fraction) -> int:
    """The nearest whole number; exactly half goes away from zero, so that a refund mirrors its sale.

    Sources: Council Regulation (EC) 1103/97, article 5 (half a cent goes up); Streamlined Sales and Use Tax Agreement,
    section 324 (up when the third decimal is above four), https://casetext.com/regulation/north-dakota-administrative-code/\
title-81-tax-commissioner/article-81-041-sales-and-use-taxes/chapter-81-041-01-general-rules/section-81-041-01-29-calculation-of-tax

    >>> [half_up(Fraction(n, 2)) for n in (1, 2, 3, 5, -1, -3)]
    [1, 1, 2, 3, -1, -2]
    """
    # Through the size, since floor alone would send half of a negative sum towards plus
    size = floor(abs(value) + Fraction(1, 2))
    return size if value >= 0 else -size


def exact(factor: Exact | str) -> Fraction:
    """A factor without any rounding. Raises PriceError for a float, which holds no decimal fraction exactly.

    >>> exact("0.19"), exact(Decimal("1.5"))
    (Fraction(19, 100), Fraction(3, 2))
    """
    # A truth value is an int to Python, and a float is 0.1 only nearly
    if isinstance(factor, bool) or not isinstance(factor, (int, Decimal, Fraction, str)):
        raise PriceError(
            seen=f"the factor {factor!r} ({type(factor).__name__})",
            allowed="a whole number, Decimal, Fraction or decimal text",
            do='write it as text, such as "1.25"',
        )
    try:
        return Fraction(factor)
    except (ValueError, OverflowError, ZeroDivisionError) as error:
        raise PriceError(
            seen=f"the factor {factor!r}", allowed="a finite number", do='write it as "1.25"'
        ) from error


def apportion(whole: int, shares: Sequence[Fraction]) -> tuple[int, ...]:
    """Whole numbers that add up to `whole`, each less than one from its exact share: the largest remainders get the rest.

    whole : the shares' sum, rounded. Of equal remainders the first gets it. Largest remainders is the quota rule of
    elections (from memory). Raises PriceError if `whole` is not the rounded sum.

    >>> apportion(2, [Fraction(1, 2), Fraction(3, 4), Fraction(3, 4)])
    (0, 1, 1)
    """
    if whole != half_up(sum(shares, Fraction(0))):
        raise PriceError(
            seen=f"{whole} to share out as {[str(s) for s in shares]}",
            allowed="the rounded sum of the shares",
            do="round the sum, then share it out",
        )
    # All get their floor; what is left is fewer units than there are shares, so one each is enough
    floors = [floor(share) for share in shares]
    # sorted is stable: of equal remainders the first line gets the unit, on every machine
    order = sorted(range(len(shares)), key=lambda place: floors[place] - shares[place])
    lifted = set(order[: whole - sum(floors)])
    return tuple(low + (place in lifted) for place, low in enumerate(floors))
