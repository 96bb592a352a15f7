"""A whole call in a file: the matter, the readings in order, and what the odds must be after them. See docs/case-files.md."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from tundish.appliance.fields import NOT_NEGATIVE, SHARE, flag, items, keys, mapping, number, text, texts
from tundish.appliance.lines import Node, tree
from tundish.appliance.refusals import Ledger


@dataclass(frozen=True)
class Typed:
    """A reading as typed in the file."""

    check: str
    typed: str
    line: int


@dataclass(frozen=True)
class Demand:
    """What must hold after `after` readings (None: after all).

    cause with at_least, at_most or places (among the first so many); or `together` (pairs count too) for the chance of a set of causes;
    or notice; or alarm; or sure; or check with low and high as typed, and the causes `repaired` before it is read.
    """

    line: int
    after: int | None = None
    cause: str = ""
    at_least: float | None = None
    at_most: float | None = None
    places: int | None = None
    notice: str = ""
    alarm: bool | None = None
    check: str = ""
    low: str = ""
    high: str = ""
    repaired: tuple[str, ...] = ()


@dataclass(frozen=True)
class Case:
    """A call from a file."""

    title: str
    family: str
    market: str
    complaint: str
    age: float | None
    told: tuple[str, ...]
    readings: tuple[Typed, ...]
    expect: tuple[Demand, ...]


_REQUIRED = ("title", "family", "market", "complaint", "readings", "expect")
_OPTIONAL = ("age", "told", "note")
_DEMAND = (
    "after",
    "cause",
    "at_least",
    "at_most",
    "places",
    "notice",
    "alarm",
    "check",
    "low",
    "high",
    "repaired",
)


def read_case(content: str, file: str) -> Case:
    """The case in a text. Raises DescriptionError with every fault found: file, line, field, seen, allowed, what to do."""
    ledger = Ledger(file)
    top = keys(tree(content, ledger), _REQUIRED, _OPTIONAL)
    case = Case(
        text(top.get("title")), text(top.get("family")), text(top.get("market")), text(top.get("complaint")),
        number(top["age"], NOT_NEGATIVE) if "age" in top else None, texts(top.get("told")),
        tuple(_typed(node) for node in items(top.get("readings"))), tuple(_demand(node) for node in items(top.get("expect"))),
    )  # fmt: skip
    ledger.finish()
    return case


def _typed(node: Node) -> Typed:
    # A list of single pairs, not one mapping: a check may be read twice, and the order counts.
    entries = list(mapping(node).items())
    if len(entries) != 1:
        node.refuse("one check and what it showed", "write - CHECK: VALUE")
        return Typed("", "", node.line)
    return Typed(entries[0][0], text(entries[0][1]), node.line)


def _demand(node: Node) -> Demand:
    given = keys(node, (), _DEMAND)
    if not {"cause", "notice", "alarm", "check"} & set(given):
        node.refuse("a demand on a cause, notice, alarm or check", "write one of these keys")
    return Demand(
        node.line, _whole(given, "after"), text(given.get("cause")), _share(given, "at_least"), _share(given, "at_most"),
        _whole(given, "places"), text(given.get("notice")), flag(given["alarm"]) if "alarm" in given else None,
        text(given.get("check")), text(given.get("low")), text(given.get("high")), texts(given.get("repaired")),
    )  # fmt: skip


def _whole(given: Mapping[str, Node], key: str) -> int | None:
    return int(number(given[key], NOT_NEGATIVE)) if key in given else None


def _share(given: Mapping[str, Node], key: str) -> float | None:
    return number(given[key], SHARE) if key in given else None
