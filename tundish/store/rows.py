"""What a row may hold, so that a file and a server can both hold it."""

from __future__ import annotations

from typing import Any

Row = tuple[Any, ...]
LARGEST = 2**63 - 1
ALLOWED = f"text without the letter 0, numbers up to {LARGEST}"


def unholdable(row: Row) -> str:
    """What of a row cannot be kept everywhere; "" for a row that can.

    >>> unholdable(("id", 1)), unholdable(("a\\0b", 2))
    ('', "'a\\\\x00b'")
    """
    for cell in row:
        # A server refuses the letter 0, and a file cuts text there
        if (isinstance(cell, str) and "\0" in cell) or (isinstance(cell, int) and cell > LARGEST):
            return repr(cell)[:40]
    return ""
