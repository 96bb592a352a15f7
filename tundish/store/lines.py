"""Events as lines of JSON, one event a line: to keep a copy, to look, to carry to another program."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from pathlib import Path

from tundish.call import codec
from tundish.call.codec import Written
from tundish.call.errors import CallError
from tundish.store.errors import StoreError, clear_errors
from tundish.store.events import EventFile, Refusal, Taken
from tundish.store.whole import written_whole

# No honest event is longer, [byte]. Our choice.
LONGEST_LINE = 1_000_000


def export(file: EventFile, path: Path, call: str | None = None) -> int:
    """Write the events of one call, or of all, and return how many.

    The path holds the whole export or what it held before, never a part.
    """
    count = 0
    with written_whole(path) as out:
        for row in file.rows(call):
            out.write(codec.to_line(row) + "\n")
            count += 1
    return count


def import_from(file: EventFile, path: Path) -> Taken:
    """Add the events of an export. A bad line is refused by its number; the others are kept."""
    with clear_errors(path):
        return import_lines(file, path.read_bytes().split(b"\n"))


def import_lines(file: EventFile, lines: Iterable[bytes]) -> Taken:
    """Add events given as lines; empty lines are passed over."""
    refused: list[Refusal] = []
    taken = file.take(_rows(lines, refused))
    return Taken(taken.added, taken.known, tuple(sorted((*refused, *taken.refused), key=_number)))


def _rows(lines: Iterable[bytes], refused: list[Refusal]) -> Iterator[tuple[str, Written]]:
    for number, line in enumerate(lines, start=1):
        try:
            text = _text(line.removeprefix(b"\xef\xbb\xbf") if number == 1 else line)
            if text:
                yield f"line {number}", codec.from_line(text)
        except (CallError, StoreError) as error:
            refused.append(Refusal(f"line {number}", str(error)))


def _text(line: bytes) -> str:
    try:
        if len(line) > LONGEST_LINE:
            raise ValueError(f"{len(line)} bytes long")
        return line.decode("utf-8").strip()
    except ValueError as error:
        raise StoreError(
            seen=f"{line[:40]!r} ...: {error}",
            allowed=f"UTF-8 text, up to {LONGEST_LINE} bytes",
            do="correct the line",
        ) from error


def _number(refusal: Refusal) -> int:
    return int(refusal.where.removeprefix("line "))
