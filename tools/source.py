"""The source of a package as parsed modules: nothing is imported or run.

A module is a file; its name is dotted, beginning with the package's own name.
"""

from __future__ import annotations

import ast
import io
import tokenize
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

Function = ast.FunctionDef | ast.AsyncFunctionDef
Definition = Function | ast.ClassDef

_SILENT = {
    tokenize.COMMENT,
    tokenize.NL,
    tokenize.NEWLINE,
    tokenize.INDENT,
    tokenize.DEDENT,
    tokenize.ENCODING,
    tokenize.ENDMARKER,
}


@dataclass(frozen=True)
class Module:
    """One parsed file. path : relative to the package's folder."""

    name: str
    path: Path
    text: str
    tree: ast.Module

    @property
    def is_package(self) -> bool:
        """Whether the file is a package's `__init__`."""
        return self.path.name == "__init__.py"

    def at(self, node: ast.AST) -> str:
        """Where a node stands, as file:line."""
        return f"{self.path.as_posix()}:{getattr(node, 'lineno', 1)}"


def modules(root: Path) -> list[Module]:
    """All modules of the package in a folder, sorted by path.

    Raises
    ------
    NotADirectoryError : the folder is not there.
    SyntaxError : a file cannot be parsed.
    """
    if not root.is_dir():
        raise NotADirectoryError(f"{root}: saw no folder; needs a package's own folder; correct the path")
    return [_module(root, path) for path in sorted(root.rglob("*.py"))]


def _module(root: Path, path: Path) -> Module:
    relative = path.relative_to(root)
    parts = [root.name, *relative.with_suffix("").parts]
    name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
    text = path.read_text(encoding="utf-8")
    return Module(name, relative, text, ast.parse(text, filename=str(path)))


def functions(tree: ast.AST) -> Iterator[Function]:
    """Every function and method, nested ones too."""
    return (node for node in ast.walk(tree) if isinstance(node, Function))


def classes(tree: ast.AST) -> Iterator[ast.ClassDef]:
    """Every class, nested ones too."""
    return (node for node in ast.walk(tree) if isinstance(node, ast.ClassDef))


@cache
def code_lines(module: Module) -> frozenset[int]:
    """Numbers of the lines that hold code: no blank lines, lines of comment only, and docstrings."""
    tokens = [token for token in _tokens(module.text) if token.type not in _SILENT]
    lines = {line for token in tokens for line in range(token.start[0], token.end[0] + 1)}
    return frozenset(lines - _docstring_lines(module.tree))


def comment_lines(module: Module) -> frozenset[int]:
    """Numbers of the lines that hold a comment and no code."""
    lines = {token.start[0] for token in _tokens(module.text) if token.type == tokenize.COMMENT}
    return frozenset(lines) - code_lines(module)


def _tokens(text: str) -> Iterator[tokenize.TokenInfo]:
    return tokenize.generate_tokens(io.StringIO(text).readline)


def _docstring_lines(tree: ast.Module) -> set[int]:
    owners = [node for node in ast.walk(tree) if isinstance(node, Definition | ast.Module)]
    texts = [owner.body[0] for owner in owners if ast.get_docstring(owner)]
    return {line for node in texts for line in range(node.lineno, (node.end_lineno or node.lineno) + 1)}
