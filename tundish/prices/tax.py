"""Tax on lines of work and parts, and what the lines add up to.

Rounding rule "line": the tax of each line is rounded half up; the whole tax is their sum. Rule "total": the tax of each
rate is computed on the sum of its lines, rounded half up once, and shared out over the lines, largest remainders first.
So lines add up to the totals under both. Prices may be net (tax comes on top) or gross (tax is inside; the price stays
what it was and the net is what is left).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from tundish.prices.errors import PriceError
from tundish.prices.money import Money, total
from tundish.prices.rounding import apportion, exact, half_up

KINDS = ("labour", "part", "call-out", "other")
ROUNDINGS = ("line", "total")
PRICES = ("net", "gross")


@dataclass(frozen=True)
class Tax:
    """A tax: `rate` [-] of the price, "0.19" for 19 %; `on` the kinds of line it applies to."""

    name: str
    rate: Decimal
    on: tuple[str, ...] = KINDS

    def __post_init__(self) -> None:
        if not isinstance(self.rate, Decimal) or not (self.rate.is_finite() and 0 <= self.rate <= 1):
            raise PriceError(
                seen=f"rate {self.rate!r} of tax {self.name!r}",
                allowed="a Decimal share from 0 to 1",
                do='write 19 % as Decimal("0.19")',
            )
        if not self.name or not self.on or not set(self.on) <= set(KINDS):
            raise PriceError(
                seen=f"tax {self.name!r} on {self.on!r}",
                allowed=f"a name, and some of {', '.join(KINDS)}",
                do="name the tax and what it is on",
            )


@dataclass(frozen=True, kw_only=True)
class Item:
    """What is charged: `quantity` of `unit`, at `each`. Raises PriceError for an unknown kind or no quantity."""

    kind: str
    what: str
    each: Money
    quantity: int | Decimal = 1
    unit: str = "piece"

    def __post_init__(self) -> None:
        if self.kind not in KINDS:
            raise PriceError(
                seen=f"a line of kind {self.kind!r}", allowed=", ".join(KINDS), do="use one of these"
            )
        if exact(self.quantity) <= 0:
            raise PriceError(
                seen=f"{self.quantity} of {self.what!r}",
                allowed="a quantity above 0",
                do="leave the line out, or give a credit as a negative price",
            )

    @property
    def amount(self) -> Money:
        """Quantity times price, rounded half up."""
        return self.each.times(self.quantity)


@dataclass(frozen=True)
class Line:
    """An item with its tax: net + tax = gross. An item without tax has the tax "" at rate 0."""

    item: Item
    tax_name: str
    tax_rate: Decimal
    net: Money
    tax: Money

    @property
    def gross(self) -> Money:
        """Net and tax."""
        return self.net + self.tax


@dataclass(frozen=True)
class TaxRow:
    """What all lines of one tax and rate come to."""

    name: str
    rate: Decimal
    net: Money
    tax: Money


@dataclass(frozen=True)
class Totals:
    """Sums over lines, and `taxes` by name and rate in the order of the lines."""

    net: Money
    tax: Money
    gross: Money
    taxes: tuple[TaxRow, ...]


def taxed(
    items: Sequence[Item], taxes: Sequence[Tax], *, rounding: str = "line", prices: str = "net"
) -> tuple[Line, ...]:
    """Lines with tax, in the order of the items, by the rule in this file's head.

    Sources: sellers may choose item or invoice, Streamlined Sales and Use Tax Agreement, section 324 (B),
    https://webserver.rilegislature.gov/Statutes/TITLE44/44-18.1/44-18.1-25.HTM; in the European Union national law
    chooses, Court of Justice, case C-484/06. Raises PriceError for an unknown rule or two taxes on one kind.

    >>> vat = Tax("VAT", Decimal("0.19"))
    >>> screws = [Item(kind="part", what="screw", each=Money(13, "EUR"))] * 3
    >>> [line.tax.minor for line in taxed(screws, [vat])], [line.tax.minor for line in taxed(screws, [vat], rounding="total")]
    ([2, 2, 2], [3, 2, 2])
    """
    for seen, known in ((rounding, ROUNDINGS), (prices, PRICES)):
        if seen not in known:
            raise PriceError(seen=f"the rule {seen!r}", allowed=", ".join(known), do="use one of these")
    # One currency, or the sum refuses
    total((item.amount for item in items), items[0].each.currency if items else "EUR")
    by_kind = tax_by_kind(taxes)
    # Each tax is rounded apart: two rates never share their cents
    chosen = [by_kind.get(item.kind) for item in items]
    shares = [_share(item.amount, tax, prices) for item, tax in zip(items, chosen, strict=True)]
    rounded = [0] * len(items)
    for tax in {tax for tax in chosen if tax}:
        places = [place for place, one in enumerate(chosen) if one == tax]
        for place, minor in zip(places, _rounded([shares[p] for p in places], rounding), strict=True):
            rounded[place] = minor
    return tuple(map(_line, items, chosen, rounded, [prices] * len(items)))


def tax_by_kind(taxes: Iterable[Tax]) -> Mapping[str, Tax]:
    """The one tax of each kind of line. Raises PriceError for two: a line carries one."""
    found: dict[str, Tax] = {}
    for tax in taxes:
        for kind in tax.on:
            if kind in found:
                raise PriceError(
                    seen=f"{found[kind].name!r} and {tax.name!r} on {kind}",
                    allowed="one tax for each kind of line",
                    do="add rates that apply together into one tax",
                )
            found[kind] = tax
    return found


def totals(lines: Sequence[Line], currency: str) -> Totals:
    """What lines add up to. Raises PriceError if one is of another currency."""
    names = dict.fromkeys((line.tax_name, line.tax_rate) for line in lines if line.tax_name)
    rows = []
    # By name and rate, since a rate may change between two papers put together
    for name, rate in names:
        same = [line for line in lines if (line.tax_name, line.tax_rate) == (name, rate)]
        net, tax = (total((getattr(line, side) for line in same), currency) for side in ("net", "tax"))
        rows.append(TaxRow(name, rate, net, tax))
    net, tax, gross = (
        total((getattr(line, side) for line in lines), currency) for side in ("net", "tax", "gross")
    )
    return Totals(net, tax, gross, tuple(rows))


def _share(amount: Money, tax: Tax | None, prices: str) -> Fraction:
    # Of a gross price only the part above the net is tax
    rate = exact(tax.rate) if tax else Fraction(0)
    return amount.minor * rate if prices == "net" else amount.minor * rate / (1 + rate)


def _rounded(shares: Sequence[Fraction], rounding: str) -> tuple[int, ...]:
    if rounding == "line":
        return tuple(map(half_up, shares))
    return apportion(half_up(sum(shares, Fraction(0))), shares)


def _line(item: Item, tax: Tax | None, minor: int, prices: str) -> Line:
    money = Money(minor, item.each.currency)
    # A gross price is a promise to the customer: the net gives way
    net = item.amount if prices == "net" else item.amount - money
    return Line(item, tax.name if tax else "", tax.rate if tax else Decimal(0), net, money)
