"""Every public function of tundish.physics carries units, an example that runs, and a reference."""

from __future__ import annotations

import doctest
import importlib
import inspect
import pkgutil
import re
from collections.abc import Callable, Iterator
from types import ModuleType

import pytest

import tundish.physics

NUMERIC = re.compile(r"\b(float|Value|Array|ArrayLike|NDArray)\b")
NOT_A_QUANTITY = re.compile(r"\b(Mapping|dict|Callable|Law|Network|Solution|Input)\b")
UNIT = re.compile(r"\[([^\[\]]{1,24})\]")
ATOM = re.compile(
    r"(1|-|any|same|unit|Pa|m|s|K|W|V|A|S|ohm|Hz|J|kg|mol|rad|gal/min|m3/h|min|h|gal|as \w+|\w+_unit)\d?$"
)


def modules() -> list[ModuleType]:
    """All modules of the package."""
    names = [found.name for found in pkgutil.iter_modules(tundish.physics.__path__)]
    return [importlib.import_module(f"tundish.physics.{name}") for name in names]


def public_functions(module: ModuleType) -> Iterator[tuple[str, Callable[..., object]]]:
    """Functions defined in a module whose name has no leading underscore."""
    for name, thing in vars(module).items():
        if inspect.isfunction(thing) and thing.__module__ == module.__name__ and not name.startswith("_"):
            yield f"{module.__name__}.{name}", thing


def is_unit(text: str) -> bool:
    """Whether a bracket's text is made of SI symbols only."""
    return all(ATOM.match(atom) for atom in re.split(r"[/ ()]+", text) if atom)


def entry(doc: str, parameter: str) -> str | None:
    """The docstring's lines on a parameter: from `name :` to the next line of the same indent."""
    pattern = rf"^([ \t]*)(?:\w+, )*{re.escape(parameter)}(?:, \w+)* ?:(.*(?:\n\1[ \t]+\S.*)*)"
    found = re.search(pattern, doc, flags=re.MULTILINE)
    return None if found is None else found.group(2)


def numeric(annotation: object) -> bool:
    """Whether an annotation speaks of numbers that have a unit."""
    return bool(NUMERIC.search(str(annotation))) and not NOT_A_QUANTITY.search(str(annotation))


def complaints(function: Callable[..., object]) -> list[str]:
    """What a function's docstring lacks."""
    doc = inspect.getdoc(function) or ""
    lacks = [] if doc else ["a docstring"]
    signature = inspect.signature(function)
    for parameter in signature.parameters.values():
        text = entry(doc, parameter.name)
        if text is None:
            lacks.append(f"an entry for `{parameter.name}`")
        elif numeric(parameter.annotation) and not any(map(is_unit, UNIT.findall(text))):
            lacks.append(f"a unit in brackets for `{parameter.name}`")
    if numeric(signature.return_annotation) and not has_result_unit(doc):
        lacks.append("a unit in brackets for the result")
    if ">>>" not in doc:
        lacks.append("an example")
    if not re.search(r"^References\b|doi:|https?://", doc, flags=re.MULTILINE):
        lacks.append("a reference")
    return lacks


def has_result_unit(doc: str) -> bool:
    """Whether the Returns section names a unit."""
    found = re.search(r"^Returns\n-+\n((?:.+\n?)+)", doc, flags=re.MULTILINE)
    return found is not None and any(map(is_unit, UNIT.findall(found.group(1))))


@pytest.mark.parametrize("module", modules(), ids=lambda module: module.__name__.rpartition(".")[2])
def test_docstrings_are_whole(module: ModuleType) -> None:
    missing = [
        f"{name} lacks {', '.join(lacks)}"
        for name, function in public_functions(module)
        if (lacks := complaints(function))
    ]
    assert not missing, "\n".join(missing)


@pytest.mark.parametrize("module", modules(), ids=lambda module: module.__name__.rpartition(".")[2])
def test_examples_run(module: ModuleType) -> None:
    outcome = doctest.testmod(module, verbose=False)
    assert outcome.failed == 0


def test_there_is_something_to_check() -> None:
    assert sum(len(list(public_functions(module))) for module in modules()) >= 30


def test_the_check_sees_what_is_missing() -> None:
    def bare(flow: float) -> float:
        return flow

    def without_units(flow: float, name: str) -> float:
        """A flow.

        Parameters
        ----------
        flow : the flow [L]
        name : what it is called

        Returns
        -------
        The flow.

        Examples
        --------
        >>> 1

        References
        ----------
        None.
        """
        return flow

    assert complaints(bare) == [
        "a docstring",
        "an entry for `flow`",
        "a unit in brackets for the result",
        "an example",
        "a reference",
    ]
    assert complaints(without_units) == ["a unit in brackets for `flow`", "a unit in brackets for the result"]


@pytest.mark.parametrize(
    ("text", "allowed"), [("m3/s", True), ("J/(kg K)", True), ("-", True), ("L/min", False), ("psi", False)]
)
def test_units_are_si(text: str, allowed: bool) -> None:
    assert is_unit(text) is allowed
