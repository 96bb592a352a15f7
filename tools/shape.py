"""Measure the shape of a package and compare it with the size budget.

    python -m tools.shape FOLDER            the figures
    python -m tools.shape --worst FOLDER    the longest functions and files, the widest functions and classes

| figure | what is counted |
|---|---|
| fn50, fn90, fnMx | median, 90th percentile and largest of the code lines of a function |
| fileMx | longest file, all its lines |
| par90, parMx | parameters of a function, self and cls left out |
| posMx | most parameters of one function that may be given by position (no budget) |
| clsMx | most methods of a class |
| com | lines of comment only, in percent of these and the code lines |
| doc | modules, public classes and functions with a docstring [%] |
| ex, ref | public functions and classes whose docstring holds a >>> example, a reference [%] |
| typed | parameters and returns with an annotation [%] |
| depth | folders between the package and its deepest module |
| cyc, cyc+ | modules in import rings: at loading; with imports inside functions counted too |

A code line holds neither only a comment nor a docstring. Percentages are rounded to whole numbers.
"""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from statistics import median

from tools.imports import graph, in_rings
from tools.source import (
    Definition,
    Function,
    Module,
    classes,
    code_lines,
    comment_lines,
    functions,
    modules,
)

Figures = Mapping[str, float]
Budget = Mapping[str, tuple[float, float]]

MOST = float("inf")
BUDGET: Budget = {
    "fn50": (0, 6),
    "fn90": (0, 20),
    "fnMx": (0, 60),
    "fileMx": (0, 500),
    "par90": (0, 4),
    "parMx": (0, 8),
    "clsMx": (0, 15),
    "com": (5, 15),
    "doc": (95, MOST),
    "typed": (95, MOST),
    "depth": (0, 1),
    "cyc": (0, 0),
    "cyc+": (0, 0),
}
# A formula that can be called must show how, and where it is from.
FORMULA_BUDGET: Budget = {"ex": (80, MOST), "ref": (80, MOST)}

_REFERENCE = re.compile(r"https?://|\bdoi\b|^\s*references?:?\s*$", re.IGNORECASE | re.MULTILINE)
_SHOWN = 8


@dataclass(frozen=True)
class Sized:
    """A thing and one of its sizes. where : file, line and name."""

    size: int
    where: str


@dataclass(frozen=True)
class Pieces:
    """The sizes of all functions, classes and files of a package."""

    lines: tuple[Sized, ...]
    parameters: tuple[Sized, ...]
    positional: tuple[Sized, ...]
    methods: tuple[Sized, ...]
    files: tuple[Sized, ...]


# What one definition holds.


def parameters(function: Function) -> list[ast.arg]:
    """All parameters, `*rest` and `**named` too, without self and cls."""
    given = function.args
    extra = [one for one in (given.vararg, given.kwarg) if one is not None]
    return [
        one for one in (*positional(function), *given.kwonlyargs, *extra) if one.arg not in ("self", "cls")
    ]


def positional(function: Function) -> list[ast.arg]:
    """Parameters that may be given by position, without self and cls."""
    return [
        one for one in (*function.args.posonlyargs, *function.args.args) if one.arg not in ("self", "cls")
    ]


def slots(function: Function) -> list[bool]:
    """For each parameter, then the return value: is it annotated?"""
    return [one.annotation is not None for one in parameters(function)] + [function.returns is not None]


def public(body: Sequence[ast.stmt]) -> Iterator[Definition]:
    """Public functions, classes and their methods. Overloads and setters are documented at their first."""
    for node in body:
        if isinstance(node, Definition) and not node.name.startswith("_") and not _repeats(node):
            yield node
            if isinstance(node, ast.ClassDef):
                yield from public(node.body)


def _repeats(node: Definition) -> bool:
    names = {ast.unparse(one).rpartition(".")[2] for one in node.decorator_list}
    return bool(names & {"overload", "setter", "deleter"})


# What a package holds.


def pieces(found: Sequence[Module]) -> Pieces:
    """The sizes of everything in some modules."""
    inside = [(module, node) for module in found for node in functions(module.tree)]
    return Pieces(
        lines=tuple(chain.from_iterable(map(_function_lines, found))),
        parameters=tuple(Sized(len(parameters(node)), _named(module, node)) for module, node in inside),
        positional=tuple(Sized(len(positional(node)), _named(module, node)) for module, node in inside),
        methods=tuple(
            Sized(sum(isinstance(one, Function) for one in node.body), _named(module, node))
            for module in found
            for node in classes(module.tree)
        ),
        files=tuple(Sized(module.text.count("\n"), module.path.as_posix()) for module in found),
    )


def _function_lines(module: Module) -> Iterator[Sized]:
    code = code_lines(module)
    for node in functions(module.tree):
        span = range(node.lineno, (node.end_lineno or node.lineno) + 1)
        yield Sized(sum(line in code for line in span), _named(module, node))


def _named(module: Module, node: Definition) -> str:
    return f"{module.at(node)} {node.name}"


def measure(found: Sequence[Module]) -> dict[str, float]:
    """The figures of some modules, named as in the table above."""
    sized = pieces(found)
    return {
        "fn50": median(one.size for one in sized.lines) if sized.lines else 0,
        "fn90": ninetieth(sized.lines),
        "fnMx": largest(sized.lines),
        "fileMx": largest(sized.files),
        "par90": ninetieth(sized.parameters),
        "parMx": largest(sized.parameters),
        "posMx": largest(sized.positional),
        "clsMx": largest(sized.methods),
        "com": _comments(found),
        "typed": percent(
            [done for module in found for node in functions(module.tree) for done in slots(node)]
        ),
        "depth": max((len(module.path.parts) - 1 for module in found), default=0),
        "cyc": len(in_rings(graph(found, {"load"}))),
        "cyc+": len(in_rings(graph(found, {"load", "late"}))),
        **_texts(found),
    }


def _comments(found: Sequence[Module]) -> float:
    comments = sum(len(comment_lines(module)) for module in found)
    code = sum(len(code_lines(module)) for module in found)
    return percent([True] * comments + [False] * code)


def _texts(found: Sequence[Module]) -> dict[str, float]:
    texts = [ast.get_docstring(node) or "" for module in found for node in public(module.tree.body)]
    # An empty file needs no docstring.
    heads = [bool(ast.get_docstring(module.tree)) for module in found if code_lines(module)]
    return {
        "doc": percent(heads + [bool(text) for text in texts]),
        "ex": percent([">>>" in text for text in texts]),
        "ref": percent([bool(_REFERENCE.search(text)) for text in texts]),
    }


def percent(answers: Sequence[bool]) -> float:
    """Share of yes in whole percent; 100 when nothing was asked.

    >>> percent([True, True, False])
    67
    """
    return round(100 * sum(answers) / len(answers)) if answers else 100


def ninetieth(sized: Sequence[Sized]) -> int:
    """The size that nine tenths do not exceed; 0 for none.

    >>> ninetieth([Sized(size, "") for size in range(11)])
    9
    """
    ordered = sorted(one.size for one in sized)
    return ordered[int(0.9 * (len(ordered) - 1))] if ordered else 0


def largest(sized: Sequence[Sized]) -> int:
    """The largest size; 0 for none."""
    return max((one.size for one in sized), default=0)


# The budget.


def breaches(figures: Figures, budget: Budget) -> list[str]:
    """A line for each figure outside its budget."""
    return [
        f"{name}: saw {figures[name]:g}; allowed {low:g} to {high:g}"
        for name, (low, high) in budget.items()
        if not low <= figures[name] <= high
    ]


def worst(found: Sequence[Module]) -> Iterator[str]:
    """Lines that name the largest of each kind."""
    sized = pieces(found)
    for kind in ("lines", "parameters", "positional", "methods", "files"):
        ordered = sorted(getattr(sized, kind), key=lambda one: -one.size)
        yield from (f"{kind:<10} {one.size:>4}  {one.where}" for one in ordered[:_SHOWN])


def main(arguments: Sequence[str]) -> None:
    """Print what the command line asks for."""
    folders = [one for one in arguments if one != "--worst"]
    if len(folders) != 1:
        raise SystemExit(f"shape: saw {len(folders)} folders; needs one; give a package's own folder")
    found = modules(Path(folders[0]).resolve())
    if "--worst" in arguments:
        print(*worst(found), sep="\n")
    else:
        print(*(f"{name:<7}{figure:>6g}" for name, figure in measure(found).items()), sep="\n")


if __name__ == "__main__":
    main(sys.argv[1:])
