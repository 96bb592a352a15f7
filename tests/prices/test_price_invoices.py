"""Ten thousand random invoices: lines add up, tax stays within its rule, no float anywhere.

The referee computes in decimal with 60 digits; the package computes in fractions.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import date
from decimal import ROUND_HALF_UP, Decimal, localcontext
from itertools import product
from typing import Any

import numpy as np
import pytest

from tundish.prices.errors import PriceError
from tundish.prices.invoice import Invoice, Payment
from tundish.prices.money import Money
from tundish.prices.papers import untallied
from tundish.prices.tax import KINDS, Item, Line, Tax, taxed, totals

WAYS = list(product(("EUR", "USD"), ("line", "total"), ("net", "gross")))
A_WAY = 1250
DAY = date(2026, 11, 25)
RATES = [Decimal(text) for text in ("0", "0.05", "0.07", "0.0725", "0.08875", "0.19", "0.21", "0.255")]


def random_taxes(rng: np.random.Generator) -> tuple[Tax, ...]:
    """Up to three taxes that share the kinds of line out among them; some kinds go untaxed."""
    kinds = rng.permutation(KINDS).tolist()
    cuts = sorted(rng.integers(0, len(kinds) + 1, 3).tolist())
    groups = [kinds[: cuts[0]], kinds[cuts[0] : cuts[1]], kinds[cuts[1] : cuts[2]]]
    return tuple(
        Tax(f"tax {n}", RATES[rng.integers(len(RATES))], tuple(group))
        for n, group in enumerate(groups)
        if group
    )


def random_items(rng: np.random.Generator, currency: str) -> list[Item]:
    """One to twelve lines; a tenth of them credits; quantities whole or with up to two decimals."""
    return [
        Item(
            kind=KINDS[rng.integers(len(KINDS))],
            what="line",
            each=Money(int(rng.integers(1, 60_000)) * (-1 if rng.random() < 0.1 else 1), currency),
            quantity=Decimal(int(rng.integers(1, 900))).scaleb(-int(rng.integers(0, 3))),
        )
        for _ in range(rng.integers(1, 13))
    ]


def exact_tax(line: Line, prices: str) -> Decimal:
    """The tax of a line before any rounding, from its price as stated."""
    stated = line.net if prices == "net" else line.gross
    rate = line.tax_rate
    return Decimal(stated.minor) * rate / (1 if prices == "net" else 1 + rate)


def rounded(value: Decimal) -> int:
    """Half up by the standard library."""
    return int(value.quantize(Decimal(1), ROUND_HALF_UP))


def floats(value: Any) -> Iterator[float]:
    """All floats in plain values."""
    if isinstance(value, float):
        yield value
    elif isinstance(value, dict):
        yield from floats(list(value.values()))
    elif isinstance(value, list):
        for one in value:
            yield from floats(one)


@pytest.mark.parametrize(("currency", "rounding", "prices"), WAYS)
def test_random_invoices_reconcile(currency: str, rounding: str, prices: str) -> None:
    rng = np.random.default_rng([4217, WAYS.index((currency, rounding, prices))])
    with localcontext() as context:
        context.prec = 60
        for _ in range(A_WAY):
            items, taxes = random_items(rng, currency), random_taxes(rng)
            lines = taxed(items, taxes, rounding=rounding, prices=prices)
            check_lines(items, lines, taxes, prices)
            check_rule(lines, rounding, prices)
            check_invoice(lines, currency, rng)


def check_lines(items: list[Item], lines: tuple[Line, ...], taxes: tuple[Tax, ...], prices: str) -> None:
    """Each line keeps its stated price and bears the tax of its kind."""
    by_kind = {kind: tax for tax in taxes for kind in tax.on}
    for item, line in zip(items, lines, strict=True):
        stated = line.net if prices == "net" else line.gross
        assert stated.minor == rounded(item.each.minor * Decimal(item.quantity))
        assert line.net + line.tax == line.gross
        tax = by_kind.get(item.kind)
        assert (line.tax_name, line.tax_rate) == ((tax.name, tax.rate) if tax else ("", Decimal(0)))


def check_rule(lines: tuple[Line, ...], rounding: str, prices: str) -> None:
    """Rule "line": each tax is its exact value rounded. Rule "total": the sum is, by tax; no line is off by a whole unit."""
    sums: dict[str, list[Decimal]] = {}
    for line in lines:
        exact = exact_tax(line, prices)
        pair = sums.setdefault(line.tax_name, [Decimal(0), Decimal(0)])
        pair[0], pair[1] = pair[0] + exact, pair[1] + line.tax.minor
        if rounding == "line":
            assert line.tax.minor == rounded(exact)
        else:
            assert abs(line.tax.minor - exact) < 1
    for exact, charged in sums.values():
        most = Decimal("0.5") * (len(lines) if rounding == "line" else 1)
        assert abs(charged - exact) <= most
        if rounding == "total":
            # Division leaves a 60th digit that must not decide a half
            assert charged == rounded(exact.quantize(Decimal("1e-40")))


def check_invoice(lines: tuple[Line, ...], currency: str, rng: np.random.Generator) -> None:
    """Totals are the sums; a payment in part leaves the rest; the plain values tally and hold no float."""
    sums = totals(lines, currency)
    assert sums.net.minor == sum(line.net.minor for line in lines)
    assert sums.tax.minor == sum(line.tax.minor for line in lines) == sum(row.tax.minor for row in sums.taxes)
    assert sums.gross == sums.net + sums.tax
    paid = Money(int(sums.gross.minor * rng.integers(0, 5)) // 4, currency)
    invoice = Invoice(currency, lines, (Payment(paid, DAY, "card"),))
    assert invoice.due + paid == sums.gross
    facts = invoice.facts()
    assert untallied(facts) == []
    assert list(floats(facts)) == []
    assert json.loads(json.dumps(facts)) == facts


def an_invoice(rounding: str = "line") -> Invoice:
    """Work and a part under two taxes, half paid."""
    items = [
        Item(kind="labour", what="work", each=Money(4250, "EUR"), quantity=3, unit="30 min"),
        Item(kind="part", what="pump", each=Money(4555, "EUR")),
    ]
    taxes = [Tax("high", Decimal("0.21"), ("labour",)), Tax("low", Decimal("0.09"), ("part",))]
    return Invoice(
        "EUR", taxed(items, taxes, rounding=rounding), (Payment(Money(10000, "EUR"), DAY, "cash"),)
    )


def test_an_invoice_worked_by_hand() -> None:
    # 127.50 + 21 % 26.775 -> 26.78; 45.55 + 9 % 4.0995 -> 4.10
    facts = an_invoice().facts()
    assert (facts["net"], facts["tax"], facts["gross"], facts["due"]) == (17305, 3088, 20393, 10393)
    assert facts["taxes"] == [
        {"name": "high", "rate": "0.21", "net": 12750, "tax": 2678},
        {"name": "low", "rate": "0.09", "net": 4555, "tax": 410},
    ]


def test_the_two_rules_differ_where_they_should() -> None:
    # Three at 0.13 and 19 %: 0.0247 each, 0.0741 together
    items = [Item(kind="part", what="washer", each=Money(13, "EUR"))] * 3
    vat = [Tax("VAT", Decimal("0.19"))]
    assert [sum(x.tax.minor for x in taxed(items, vat, rounding=r)) for r in ("line", "total")] == [6, 7]
    # Gross 1.00 at 19 %: tax 0.1597 is inside
    (line,) = taxed([Item(kind="part", what="x", each=Money(100, "EUR"))], vat, prices="gross")
    assert (line.net.minor, line.tax.minor, line.gross.minor) == (84, 16, 100)


@pytest.mark.parametrize(
    ("place", "field", "said"),
    [
        (None, "gross", "gross of the lines"), (None, "net", "net of the lines"), (None, "due", "due comes to"),
        ("lines", "tax", "line 1"), ("lines", "gross", "line 1"), ("taxes", "tax", "under 'high'"),
        ("taxes", "net", "under 'high'"), ("paid", "minor", "due comes to"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("by", [1, -1, 0.5])
def test_a_tampered_paper_is_seen(place: str | None, field: str, said: str, by: float) -> None:
    facts = an_invoice().facts()
    target = facts if place is None else facts[place][0]
    target[field] += by
    found = untallied(facts)
    assert found
    assert by == 0.5 or any(said in line for line in found)


def test_a_lost_tax_is_seen() -> None:
    facts = an_invoice().facts()
    facts["taxes"].pop()
    assert any("'low'" in line for line in untallied(facts))


@pytest.mark.parametrize("minor", [20394, -1])
def test_nobody_pays_more_than_is_due(minor: int) -> None:
    with pytest.raises(PriceError, match=r"0\.00 EUR to 203\.93 EUR"):
        Invoice("EUR", an_invoice().lines, (Payment(Money(minor, "EUR"), DAY, "cash"),))


def test_a_payment_too_many_is_given_back() -> None:
    lines = an_invoice().lines
    both = tuple(Payment(Money(minor, "EUR"), DAY, "card") for minor in (20393, -393))
    assert Invoice("EUR", lines, both).due == Money(393, "EUR")


def test_an_invoice_needs_a_line_and_one_currency() -> None:
    with pytest.raises(PriceError, match="at least one"):
        Invoice("EUR", ())
    with pytest.raises(PriceError, match="one currency"):
        Invoice("USD", an_invoice().lines)


def test_what_tax_refuses() -> None:
    item = Item(kind="part", what="x", each=Money(100, "EUR"))
    with pytest.raises(PriceError, match="one tax for each kind"):
        taxed([item], [Tax("a", Decimal(0)), Tax("b", Decimal(0), ("part",))])
    with pytest.raises(PriceError, match="line, total"):
        taxed([item], [], rounding="each")
    with pytest.raises(PriceError, match="one currency"):
        taxed([item, Item(kind="part", what="y", each=Money(1, "USD"))], [])
    for rate in (Decimal(19), Decimal("-0.1"), Decimal("NaN"), 0.19):
        with pytest.raises(PriceError, match="share from 0 to 1"):
            Tax("VAT", rate)  # type: ignore[arg-type]
    for kind, quantity in (("gift", 1), ("part", 0), ("part", Decimal(-1))):
        with pytest.raises(PriceError, match="allowed"):
            Item(kind=kind, what="x", each=Money(1, "EUR"), quantity=quantity)
    with pytest.raises(PriceError, match="name the tax"):
        Tax("VAT", Decimal("0.1"), ("gift",))


def test_floats_that_tally_are_seen_all_the_same() -> None:
    facts = an_invoice().facts()
    facts["due"], facts["paid"][0]["minor"] = facts["due"] + 0.5, facts["paid"][0]["minor"] - 0.5
    assert [line.split(" is ")[0] for line in untallied(facts)] == ["due of the paper", "minor of payment 1"]
