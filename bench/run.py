"""Run the measurements of this folder and show them as tables.

    python3 do.py bench                   all of them
    python3 do.py bench network           those whose file name holds "network"
    python3 do.py bench --markdown        tables for a page, on standard output

Each bench_*.py has a docstring, whose first line is the title, and run() -> list of rows; a row maps a column to a number or a
text. A measurement that fails is named, the others still run, and the exit code is 1.
"""

from __future__ import annotations

import argparse
import importlib
import os
import platform
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from rich.console import Console
from rich.table import Table

Row = Mapping[str, object]

HERE = Path(__file__).resolve().parent
# Four digits are more than two runs of a timing agree on.
DIGITS = 4


@dataclass(frozen=True)
class Result:
    """What one measurement gave. trouble : what it failed with, or empty."""

    name: str
    title: str
    rows: Sequence[Row]
    seconds: float
    trouble: str = ""


def names(folder: Path, wanted: Sequence[str]) -> list[str]:
    """Names of the measurements in a folder that hold one of the wanted texts; all when none is wanted.

    Raises
    ------
    ValueError : a wanted text is in no name.
    """
    found = sorted(path.stem for path in folder.glob("bench_*.py"))
    for text in wanted:
        if not any(text in name for name in found):
            known = ", ".join(found) or "none yet"
            raise ValueError(f"bench: saw {text!r}; known: {known}; give a part of one of these names")
    return [name for name in found if not wanted or any(text in name for text in wanted)]


def measure(name: str, load: Callable[[str], object] = importlib.import_module) -> Result:
    """Run one measurement. What it raises becomes the result's trouble."""
    start = time.perf_counter()
    try:
        module = load(f"bench.{name}")
        title = title_of(module, name)
        rows = list(module.run())  # type: ignore[attr-defined]
    # A measurement may need a rival library that this machine cannot have: say so and go on.
    except Exception as error:  # noqa: BLE001
        trouble = f"{type(error).__name__}: {error}"
        return Result(name, name, (), time.perf_counter() - start, trouble)
    return Result(name, title, rows, time.perf_counter() - start, "" if rows else "gave no rows")


def title_of(module: object, name: str) -> str:
    """The first line of a module's docstring, without its full stop; the name when it has none."""
    lines = (module.__doc__ or "").strip().splitlines()
    return lines[0].rstrip(".") if lines else name


def columns(rows: Iterable[Row]) -> list[str]:
    """All columns of some rows, in the order of first use.

    >>> columns([{"n": 1, "time [s]": 2}, {"n": 1, "ratio": 3}])
    ['n', 'time [s]', 'ratio']
    """
    return list(dict.fromkeys(name for row in rows for name in row))


def cell(value: object) -> str:
    """A value as a table shows it.

    >>> [cell(v) for v in (12345.678, 0.00123456, 1_000_000, True, "text", None)]
    ['12350', '0.001235', '1000000', 'yes', 'text', '']
    """
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return plain(value)
    return str(value)


def plain(value: float) -> str:
    """A number with four significant digits, without an exponent where it stays short.

    >>> plain(98765.4), plain(1.5e-9), plain(float("inf"))
    ('98770', '1.5e-09', 'inf')
    """
    rounded = float(f"{value:.{DIGITS}g}")
    return f"{rounded:.0f}" if 10**DIGITS <= abs(rounded) < 10**9 else f"{rounded:g}"


def markdown(result: Result) -> Iterator[str]:
    """Lines of a page: heading, table, how long it took."""
    yield f"## {result.title}"
    yield ""
    heads = columns(result.rows)
    if heads:
        yield "| " + " | ".join(heads) + " |"
        yield "|" + " --- |" * len(heads)
    for row in result.rows:
        yield "| " + " | ".join(cell(row.get(head)).replace("|", "\\|") for head in heads) + " |"
    yield from ["", footing(result), ""]


def table(result: Result) -> Table:
    """The same for a terminal."""
    drawn = Table(title=result.title, title_justify="left")
    heads = columns(result.rows)
    for head in heads:
        drawn.add_column(head, justify="right" if all_numbers(result.rows, head) else "left")
    for row in result.rows:
        drawn.add_row(*(cell(row.get(head)) for head in heads))
    return drawn


def all_numbers(rows: Iterable[Row], head: str) -> bool:
    """Whether a column holds numbers only."""
    return all(isinstance(row.get(head), int | float) for row in rows)


def footing(result: Result) -> str:
    """How the measurement went, for the line under its table."""
    ended = f"failed: {result.trouble}" if result.trouble else "done"
    return f"{result.name}: {ended} after {result.seconds:.1f} s"


def machine() -> str:
    """What the figures were measured on, in words that name no maker."""
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    return f"Python {platform.python_version()}, {platform.machine()}, {cores} cores, one run."


def show(results: Iterable[Result], console: Console, as_markdown: bool) -> list[str]:
    """Show each result as it comes; the names of those that failed."""
    console.print(machine(), "", sep="\n", markup=False)
    failed = []
    for result in results:
        if as_markdown:
            print(*markdown(result), sep="\n", flush=True)
        else:
            console.print(table(result), footing(result), "", sep="\n", markup=False)
        failed += [result.name] if result.trouble else []
    return failed


def main(arguments: Sequence[str]) -> int:
    """Run what the command line asks for; 0 when every measurement gave its rows."""
    parser = argparse.ArgumentParser(
        prog="python3 do.py bench", description=(__doc__ or "").split("\n", 1)[0]
    )
    parser.add_argument("names", nargs="*", help="part of a measurement's name")
    parser.add_argument("--markdown", action="store_true", help="print tables for a page")
    options = parser.parse_args(arguments)
    try:
        wanted = names(HERE, options.names)
    except ValueError as error:
        parser.error(str(error))
    failed = show(map(measure, wanted), Console(), options.markdown)
    if not wanted:
        print("bench: saw no bench_*.py in bench/; needs at least one; write one", file=sys.stderr)
    elif failed:
        print(f"bench: failed: {', '.join(failed)}", file=sys.stderr)
    return 0 if wanted and not failed else 1


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
