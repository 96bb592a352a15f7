"""Every error tells what was seen: each `raise` in Tundish carries a value, or stands in the list of exemptions with its reason."""

from __future__ import annotations

import ast
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest

from tools.source import Module, modules

PACKAGE = Path(__file__).parents[1] / "tundish"
# What is raised, as written, and why it has nothing to show. An entry that fits no `raise` any more fails.
EXEMPT: dict[str, str] = {
    "PhysicsError('the network has no link, at least one is needed: give it links')": "what was seen is nothing",
    "PlanError(seen='a call that cannot end', allowed='an ending from every situation', "
    "do='add an action that ends the call, such as handing over')": "what was seen is the whole problem",
}


def silent(found: Sequence[Module]) -> Iterator[tuple[str, str]]:
    """Where a `raise` carries no value, and what it raises."""
    for module in found:
        for node in ast.walk(module.tree):
            if isinstance(node, ast.Raise) and not carries_a_value(node):
                assert node.exc is not None
                yield module.at(node), ast.unparse(node.exc)


def carries_a_value(node: ast.Raise) -> bool:
    """Whether a `raise` passes on an error that was caught or made before, or puts a value into a new one."""
    raised = node.exc
    if raised is None:
        return True
    if not isinstance(raised, ast.Call):
        return is_variable(raised)
    given = [*raised.args, *(one.value for one in raised.keywords)]
    return any(
        isinstance(part, ast.FormattedValue) or is_variable(part) for one in given for part in ast.walk(one)
    )


def is_variable(node: ast.AST) -> bool:
    """Whether a node names something that differs from run to run: by our style neither a class nor a constant."""
    if isinstance(node, ast.Attribute):
        return is_variable(node.value)
    return isinstance(node, ast.Name) and node.id.lstrip("_")[:1].islower()


def test_every_raise_shows_what_was_seen() -> None:
    mute = [f"{where}: {raised}" for where, raised in silent(modules(PACKAGE)) if raised not in EXEMPT]
    assert "\n".join(mute) == ""


def test_no_exemption_is_left_over() -> None:
    raised = {
        ast.unparse(node.exc)
        for module in modules(PACKAGE)
        for node in ast.walk(module.tree)
        if isinstance(node, ast.Raise) and node.exc is not None
    }
    assert [text for text in EXEMPT if text not in raised] == []


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("raise", True),
        ("raise error", True),
        ("raise error.__cause__ from None", True),
        ("raise ValueError(f'pressure {value}: too high')", True),
        ("raise ValueError('pressure %s: too high' % value)", True),
        ("raise ValueError('pressure {}: too high'.format(value))", True),
        ("raise QuantityError(seen=text, allowed='a pressure', do='type one')", True),
        ("raise _refusal(text, 'type one')", True),
        ("raise KeyError(self.name)", True),
        ("raise NotImplementedError", False),
        ("raise ValueError()", False),
        ("raise ValueError('the pressure is too high')", False),
        ("raise ValueError(MESSAGE)", False),
        ("raise ValueError('the pressure ' + 'is too high') from error", False),
        ("raise QuantityError(seen='nonsense', allowed='a pressure', do='type one')", False),
        ("raise errors.Mute('too high')", False),
    ],
)
def test_a_mute_raise_is_told_from_a_speaking_one(text: str, expected: bool) -> None:
    (node,) = ast.parse(text).body
    assert isinstance(node, ast.Raise)
    assert carries_a_value(node) is expected
