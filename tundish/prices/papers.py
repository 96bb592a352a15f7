"""Priced lines as plain values, as a quote and an invoice carry them, and whether such values tally."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from tundish.prices.money import digits_of
from tundish.prices.tax import Line, totals

Facts = dict[str, Any]
SUMS = ("net", "tax", "gross")


def priced(lines: Sequence[Line], currency: str) -> Facts:
    """Currency, lines, totals and taxes; sums in minor units, rates as decimal text (share, "0.21")."""
    # Sums are taken from the same lines that are printed, never computed a second way
    sums = totals(lines, currency)
    return {
        "currency": currency,
        "lines": [line_facts(line) for line in lines],
        "net": sums.net.minor,
        "tax": sums.tax.minor,
        "gross": sums.gross.minor,
        "taxes": [
            {"name": row.name, "rate": str(row.rate), "net": row.net.minor, "tax": row.tax.minor}
            for row in sums.taxes
        ],
    }


def line_facts(line: Line) -> Facts:
    """One line. A whole quantity is an int, else decimal text."""
    item = line.item
    return {
        "kind": item.kind,
        "what": item.what,
        "quantity": int(item.quantity) if item.quantity == int(item.quantity) else str(item.quantity),
        "unit": item.unit,
        "each": item.each.minor,
        "net": line.net.minor,
        "tax_name": line.tax_name,
        "tax_rate": str(line.tax_rate),
        "tax": line.tax.minor,
        "gross": line.gross.minor,
    }


def untallied(facts: Mapping[str, Any]) -> list[str]:
    """What does not add up in a priced paper, each with both figures; nothing when all is well.

    Looked at: every sum a whole number, net and tax of each line and of the paper, lines against totals, taxes against lines,
    and where payments stand, what is due.

    >>> facts = {"currency": "EUR", "lines": [], "taxes": [], "net": 0, "tax": 0, "gross": 5}
    >>> untallied(facts)
    ['net and tax of the paper come to 0, gross is 5', 'gross of the lines comes to 0, the paper says 5']
    """
    digits_of(facts["currency"])
    # Sums of floats may tally by luck, so these are told first and alone
    floats = _not_whole(facts)
    if floats:
        return floats
    lines = [("the paper", facts), *((f"line {n}", line) for n, line in enumerate(facts["lines"], start=1))]
    found = [
        f"net and tax of {place} come to {one['net'] + one['tax']}, gross is {one['gross']}"
        for place, one in lines
        if one["net"] + one["tax"] != one["gross"]
    ]
    return [*found, *_totals(facts), *_taxes(facts), *_due(facts)]


def _not_whole(facts: Mapping[str, Any]) -> list[str]:
    # What a JSON reader may have turned into a float; due and paid stand on invoices only
    head = (*SUMS, "due") if "due" in facts else SUMS
    groups = [
        ("the paper", [facts], head),
        ("line", facts["lines"], (*SUMS, "each")),
        ("tax", facts["taxes"], ("net", "tax")),
        ("payment", facts.get("paid", ()), ("minor",)),
    ]
    return [
        f"{name} of {place}{'' if one is facts else f' {number}'} is {one[name]!r}, not a whole number"
        for place, many, names in groups
        for number, one in enumerate(many, start=1)
        for name in names
        if type(one[name]) is not int
    ]


def _totals(facts: Mapping[str, Any]) -> list[str]:
    sums = {name: sum(line[name] for line in facts["lines"]) for name in SUMS}
    return [
        f"{name} of the lines comes to {value}, the paper says {facts[name]}"
        for name, value in sums.items()
        if value != facts[name]
    ]


def _taxes(facts: Mapping[str, Any]) -> list[str]:
    by_tax: dict[tuple[str, str], list[int]] = {}
    for line in facts["lines"]:
        # A line with tax but without its name must show up too
        if line["tax_name"] or line["tax"]:
            sums = by_tax.setdefault((line["tax_name"], line["tax_rate"]), [0, 0])
            sums[0], sums[1] = sums[0] + line["net"], sums[1] + line["tax"]
    printed = {(row["name"], row["rate"]): [row["net"], row["tax"]] for row in facts["taxes"]}
    return [
        f"net and tax under {name!r} at {rate} come to {by_tax.get((name, rate))}, the paper says {printed.get((name, rate))}"
        for name, rate in dict.fromkeys([*by_tax, *printed])
        if by_tax.get((name, rate)) != printed.get((name, rate))
    ]


def _due(facts: Mapping[str, Any]) -> list[str]:
    # A quote has no payments
    if "paid" not in facts:
        return []
    left = facts["gross"] - sum(payment["minor"] for payment in facts["paid"])
    return [] if left == facts["due"] else [f"due comes to {left}, the paper says {facts['due']}"]
