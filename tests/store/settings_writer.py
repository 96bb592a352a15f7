"""Sets one setting over and over, until it is killed or has done so many; says each value once it is set.

settings_writer.py FILE NAME COUNT
"""

from __future__ import annotations

import sys
from pathlib import Path

from tundish.store.settings import change, with_values


def main(path: Path, name: str, count: int) -> None:
    """Values 1, 2, 3 ... of a setting of whole numbers; other settings are long, so that writing takes its time."""
    long = {"letterhead": ["x" * 120] * 8}
    for value in range(1, count + 1):
        values = {name: value, **long}
        change(path, lambda own, values=values: with_values(own, values))  # type: ignore[misc]
        sys.stdout.write(f"{value}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2], int(sys.argv[3]))
