"""Kill -9 while events are written, 50 times: no acknowledged event is lost, no half of a batch is there."""

from __future__ import annotations

import os
import random
import signal
import subprocess
import sys
import time
from pathlib import Path

import tundish
from tundish.store.events import open_events

HERE = Path(__file__).parent
ROOT = Path(tundish.__file__).parents[1]
KILLS = 50


def killed_writer(path: Path, seed: int, *words: str, lines: int, wait: float) -> list[str]:
    """Start a writer, read so many acknowledgements, wait, kill it, and return every line it got out."""
    environment = {**os.environ, "PYTHONPATH": os.pathsep.join([str(ROOT), str(HERE)])}
    command = [sys.executable, str(HERE / "kill_writer.py"), str(path), str(seed), *words]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True, env=environment) as writer:
        assert writer.stdout is not None
        heard = [writer.stdout.readline() for _ in range(lines)]
        time.sleep(wait)
        writer.send_signal(signal.SIGKILL)
        heard += writer.stdout.readlines()
        assert writer.wait() == -signal.SIGKILL
    # A line cut off by the kill was not fully said.
    return [line for line in heard if line.endswith("\n")]


def missing(path: Path, acknowledged: set[str]) -> set[str]:
    """Acknowledged ids that are not in the file, which must be sound."""
    with open_events(path) as file:
        assert file.verify() == ()
        return acknowledged - {row.id for row in file.rows()}


def test_no_acknowledged_event_is_lost(tmp_path: Path) -> None:
    path = tmp_path / "calls.sqlite"
    draw = random.Random(20_261_125)
    acknowledged: set[str] = set()
    journals = 0
    for round_number in range(KILLS):
        lines = killed_writer(path, round_number, lines=draw.randint(1, 8), wait=draw.uniform(0, 0.01))
        acknowledged |= {word for line in lines for word in line.split()}
        journals += path.with_name(path.name + "-journal").exists()
        assert missing(path, acknowledged) == set(), f"after kill {round_number}"
    assert len(acknowledged) > 10 * KILLS
    # A journal left behind shows that the kill fell inside a transaction, else this test would show little.
    assert journals > KILLS // 10


def test_a_kill_while_the_file_is_made_leaves_a_file_that_opens(tmp_path: Path) -> None:
    draw = random.Random(3)
    for number in range(10):
        path = tmp_path / f"{number}.sqlite"
        lines = killed_writer(path, number, lines=0, wait=draw.uniform(0.05, 0.2))
        assert missing(path, {word for line in lines for word in line.split()}) == set()


def test_a_writer_that_says_so_too_early_is_caught(tmp_path: Path) -> None:
    """The check above can fail: here the second id is said before it is recorded."""
    path = tmp_path / "calls.sqlite"
    first, second = killed_writer(path, 1, "early", lines=2, wait=0.0)
    assert missing(path, {first.strip(), second.strip()}) == {second.strip()}


def test_a_batch_is_there_whole_or_not_at_all(tmp_path: Path) -> None:
    """What was not acknowledged may be there, but only as one whole batch."""
    path = tmp_path / "calls.sqlite"
    draw = random.Random(7)
    for seed in range(5):
        lines = killed_writer(path, seed, lines=2, wait=draw.uniform(0, 0.01))
        said = [word for line in lines for word in line.split()]
        with open_events(path) as file:
            there = [row for row in file.rows() if row.device == f"writer-{seed}"]
        assert [row.id for row in there][: len(said)] == said
        extra = there[len(said) :]
        # After a batch comes one reading, after a reading one batch: at most one commit was not yet said.
        kinds = {row.kind for row in extra}
        assert kinds <= {"reading taken"} or kinds == {"note added"}
        assert len(extra) == 0 or len(extra) == commit_after(said, seed)


def commit_after(said: list[str], seed: int) -> int:
    """How many events the writer's next commit holds: its draws are replayed from the seed."""
    draw, count = random.Random(seed), 1
    while True:
        if count == len(said):
            return 1
        draw.random()
        count += 1
        size = draw.randint(1, 40)
        if count == len(said):
            return size
        for _ in range(size):
            draw.randint(1, 2000)
        count += size
        assert count <= len(said)
