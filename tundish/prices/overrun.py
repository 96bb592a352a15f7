"""Whether a new price or a new cause needs the customer's consent again."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import floor

from tundish.prices.money import Money
from tundish.prices.rounding import exact


@dataclass(frozen=True)
class OverRun:
    """`ask_again` and why; `limit` is the most that the consent covers."""

    ask_again: bool
    limit: Money
    why: str


def covered(consented: Money, share: Decimal) -> Money:
    """The most that a consent covers. A part of a minor unit is left out: in doubt, ask.

    >>> str(covered(Money.of("146.03", "EUR"), Decimal("0.15")))
    '167.93 EUR'
    """
    return Money(floor(consented.minor * (1 + Fraction(exact(share)))), consented.currency)


def over_run(
    consented: Money,
    now: Money,
    share: Decimal,
    *,
    causes: Iterable[str] = (),
    agreed_causes: Iterable[str] = (),
) -> OverRun:
    """Ask again beyond the share, or for a cause that was not agreed, whatever it costs.

    Source: stop and ask again beyond 10 to 15 % or at a new cause; common practice, no source.

    >>> over_run(Money(10000, "EUR"), Money(11500, "EUR"), Decimal("0.15")).ask_again
    False
    >>> over_run(Money(10000, "EUR"), Money(11501, "EUR"), Decimal("0.15")).why
    '115.01 EUR is above 115.00 EUR, the most that consent to 100.00 EUR covers'
    """
    # A new cause is asked for even below the limit: the customer agreed to another repair
    limit = covered(consented, share)
    new = sorted(set(causes) - set(agreed_causes))
    if new:
        return OverRun(True, limit, f"new cause: {', '.join(new)}")
    if limit < now:
        return OverRun(True, limit, f"{now} is above {limit}, the most that consent to {consented} covers")
    # Exactly at the limit is still covered
    return OverRun(False, limit, f"{now} is within {limit}")
