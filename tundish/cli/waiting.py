"""A progress bar where one waits, on the error stream, only on a terminal."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from rich.console import Console
from rich.progress import BarColumn, Progress, SpinnerColumn, TextColumn, TimeElapsedColumn

from tundish.diagnosis.regrow import Progress as Told


@contextmanager
def waiting(title: str) -> Iterator[Told]:
    """Shows a bar while work goes on; call what it gives with the share done, 0 to 1."""
    console = Console(stderr=True)
    # In a pipe a bar is noise.
    if not console.is_terminal:
        yield lambda share: None
        return
    columns = (SpinnerColumn(), TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
    with Progress(*columns, console=console, transient=True) as bar:
        task = bar.add_task(title, total=1.0)
        yield lambda share: bar.update(task, completed=share)
