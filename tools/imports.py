"""Which module of a package imports which, read from the source, and the rings among them."""

from __future__ import annotations

import ast
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from tools.source import Function, Module

Kind = Literal["load", "late", "typing"]
Graph = Mapping[str, Collection[str]]


@dataclass(frozen=True)
class Import:
    """One name that a module imports.

    target : dotted and absolute; `from a import b` is a.b, whether b is a module or not.
    kind : "load" runs when the module is loaded, "late" inside a function, "typing" only for a type checker.
    """

    importer: str
    target: str
    where: str
    kind: Kind


def imports(module: Module) -> Iterator[Import]:
    """Every import of a module, in the order of the file."""
    for node, kind in _statements(module.tree, "load"):
        for target in _targets(module, node):
            yield Import(module.name, target, module.at(node), kind)


def _statements(node: ast.AST, kind: Kind) -> Iterator[tuple[ast.Import | ast.ImportFrom, Kind]]:
    if isinstance(node, ast.Import | ast.ImportFrom):
        yield node, kind
    elif isinstance(node, ast.If) and "TYPE_CHECKING" in ast.unparse(node.test):
        for guarded in node.body:
            yield from _statements(guarded, "typing")
        for other in node.orelse:
            yield from _statements(other, kind)
    else:
        inside: Kind = "late" if isinstance(node, Function) and kind == "load" else kind
        for child in ast.iter_child_nodes(node):
            yield from _statements(child, inside)


def _targets(module: Module, node: ast.Import | ast.ImportFrom) -> list[str]:
    if isinstance(node, ast.Import):
        return [alias.name for alias in node.names]
    base = _base(module, node)
    return [base if alias.name == "*" else f"{base}.{alias.name}" for alias in node.names]


def _base(module: Module, node: ast.ImportFrom) -> str:
    """The absolute name behind `from`; a leading dot climbs one package."""
    if not node.level:
        return node.module or ""
    parts = module.name.split(".")
    # A package's own file already stands one level up.
    climb = node.level - module.is_package
    above = parts[: len(parts) - climb]
    return ".".join([*above, *([node.module] if node.module else [])])


def graph(found: Sequence[Module], kinds: Collection[Kind]) -> dict[str, set[str]]:
    """Module -> the modules of the same package that it imports in one of these ways, itself left out."""
    known = {module.name for module in found}
    return {
        module.name: {
            target
            for one in imports(module)
            if one.kind in kinds and (target := owner(one.target, known)) and target != module.name
        }
        for module in found
    }


def owner(target: str, known: Collection[str]) -> str | None:
    """The module that an imported name is, or stands in; None when it is of another package."""
    if target in known:
        return target
    above = target.rpartition(".")[0]
    return above if above in known else None


def in_rings(edges: Graph) -> list[str]:
    """Names that can be reached from themselves, sorted."""
    return sorted(name for name in edges if name in _reached(name, edges))


def _reached(start: str, edges: Graph) -> set[str]:
    seen: set[str] = set()
    todo = list(edges[start])
    while todo:
        name = todo.pop()
        if name not in seen:
            seen.add(name)
            todo.extend(edges.get(name, ()))
    return seen
