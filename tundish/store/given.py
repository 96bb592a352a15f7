"""A file that somebody gives to be taken in: its text, its JSON, and what is wrong in which row."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any, TypeVar

from tundish.store.errors import StoreError, clear_errors

# No honest table is longer, [byte]. Our choice.
LONGEST = 5_000_000
# More rows at fault than this are counted, not shown. Our choice.
SHOWN = 8
FORMATS = (".csv", ".json")


class Unusable(StoreError):
    """A file that can be read, but whose content is not what it should be."""


Had = TypeVar("Had")
Made = TypeVar("Made")


def format_of(path: Path) -> str:
    """What the end of a file's name says it is: .csv or .json. StoreError for another end."""
    end = path.suffix.lower()
    if end not in FORMATS:
        raise StoreError(
            seen=f"file {path.name!r}", allowed=" or ".join(FORMATS), do="give the file a name that ends so"
        )
    return end


def read_text(path: Path) -> str:
    """The text of a file that somebody gives. StoreError when it is not there, too long or not UTF-8."""
    with clear_errors(path):
        size = path.stat().st_size
        if size > LONGEST:
            raise StoreError(
                seen=f"{path}, {size} bytes", allowed=f"up to {LONGEST} bytes", do="check the name"
            )
        content = path.read_bytes()
    try:
        return content.decode("utf-8")
    except UnicodeDecodeError as error:
        line = content[: error.start].count(b"\n") + 1
        raise Unusable(
            seen=f"{path}, row {line}: byte {content[error.start]:#x}",
            allowed="UTF-8 text",
            do='save it anew as "CSV UTF-8"',
        ) from error


def read_json(text: str, name: str) -> dict[str, Any]:
    """The JSON object of a text. StoreError naming line and column when it is none, or names a field twice."""
    try:
        found = json.loads(
            text.removeprefix("\ufeff"), object_pairs_hook=_no_twins, parse_constant=_no_constant
        )
        # Half of a letter, written as an escape, could be read but not be written down again
        json.dumps(found, ensure_ascii=False).encode()
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        raise Unusable(
            seen=f"{name}, {where}: {error.msg}", allowed="JSON", do="correct that place"
        ) from error
    except (ValueError, RecursionError) as error:
        raise Unusable(seen=f"{name}: {error}", allowed="JSON", do="correct the file") from error
    if not isinstance(found, dict):
        raise Unusable(seen=f"{name}: {_clipped(found)}", allowed="a JSON object", do="correct the file")
    return found


def each(rows: Iterable[tuple[str, Had]], make: Callable[[Had], Made], name: str) -> list[tuple[str, Made]]:
    """What is made of every row, each with its place. StoreError naming all rows at fault; then none is used."""
    made: list[tuple[str, Made]] = []
    faults: list[str] = []
    for where, row in rows:
        try:
            made.append((where, make(row)))
        except ValueError as error:
            faults.append(f"{where}: {error}")
        except StoreError as error:
            faults.append(f"{where}: {error}")
    refuse(faults, name)
    return made


def refuse(faults: list[str], name: str) -> None:
    """StoreError that lists faults, when there are any."""
    if faults:
        more = [f"and {len(faults) - SHOWN} more"] if len(faults) > SHOWN else []
        raise StoreError(
            seen=f"{name}\n  " + "\n  ".join([*faults[:SHOWN], *more]) + "\n",
            allowed="a file whose every row is sound",
            do="correct these rows; nothing was taken in",
        )


def twins(names: Iterable[tuple[str, str]]) -> Iterator[str]:
    """A line for every name that a row before had already. names : place and name."""
    first: dict[str, str] = {}
    for where, name in names:
        if name in first:
            yield f"{where}: {name!r} stands in {first[name]} already"
        first.setdefault(name, where)


def _no_twins(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    for fault in twins(("this object", name) for name, _ in pairs):
        raise ValueError(fault)
    return dict(pairs)


def _no_constant(word: str) -> None:
    raise ValueError(f"{word} is no number of JSON")


def _clipped(thing: object, width: int = 60) -> str:
    text = repr(thing)
    return text if len(text) <= width else text[:width] + " ..."
