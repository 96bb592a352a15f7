"""Long work beside the server: one task for one question, its share done, its answer for whoever asks again."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Hashable
from concurrent.futures import Future
from dataclasses import dataclass
from queue import SimpleQueue
from threading import Lock, Thread
from typing import Any

from tundish.diagnosis.regrow import Progress
from tundish.web.errors import WebError

# Questions that may wait at the same time, answers that are kept; our choice.
WAITING, KEPT = 16, 64
# When a page should ask again, [ms]; our choice.
AGAIN = 500

Make = Callable[[Progress], Any]


@dataclass
class Task:
    """A question being answered. share : of the work done."""

    future: Future[Any]
    share: float = 0.0


class Work:
    """Threads for long work, and the tasks they have."""

    def __init__(self, hands: int) -> None:
        self._wanted: SimpleQueue[tuple[Task, Make] | None] = SimpleQueue()
        self._hands = [Thread(target=self._work, name=f"work-{number}", daemon=True) for number in range(hands)]
        self._tasks: dict[Hashable, Task] = {}
        self._lock = Lock()

    async def answer(self, key: Hashable, make: Make, patience: float) -> Any:
        """The answer, or `Waiting` when it takes longer than `patience` [s]. Errors of the work come out here.

        key : all that decides the answer; the same key is worked on once.
        """
        task = self._task(key, make)
        # A browser that leaves does not stop the work: it will ask again
        told = asyncio.wrap_future(task.future)
        # Looked at even when nobody waits any more; else its words would go into the log
        told.add_done_callback(lambda done: done.cancelled() or done.exception())
        await asyncio.wait({told}, timeout=patience)
        if not task.future.done():
            return Waiting(task.share)
        # An error is not kept: the next try may find room on the disk
        if task.future.cancelled() or task.future.exception() is not None:
            self._forget(key)
        return task.future.result()

    def close(self) -> None:
        """Let nothing new begin. What runs is not waited for: it only fills a cache, and whoever stops the server waits at the door."""
        with self._lock:
            for task in self._tasks.values():
                task.future.cancel()
        for _ in self._hands:
            self._wanted.put(None)

    def _work(self) -> None:
        while (one := self._wanted.get()) is not None:
            _run(*one)

    def _task(self, key: Hashable, make: Make) -> Task:
        with self._lock:
            task = self._tasks.get(key)
            # Whoever asks the same while it is worked on shares the task
            if task is None:
                self._room()
                task = Task(Future())
                self._tasks[key] = task
                self._wanted.put((task, make))
                self._begin()
            return task

    def _begin(self) -> None:
        # Not before there is work: a server that is only made, as in a test, starts no threads
        for hand in self._hands:
            if hand.ident is None:
                hand.start()

    def _room(self) -> None:
        done = [key for key, task in self._tasks.items() if task.future.done()]
        if len(self._tasks) - len(done) >= WAITING:
            raise WebError(
                503, f"{WAITING} simulations waiting", "fewer", "try again in a moment", {"Retry-After": "5"}
            )
        # The oldest answers first: a dict keeps the order of asking
        for key in done[: max(0, len(done) - KEPT)]:
            del self._tasks[key]

    def _forget(self, key: Hashable) -> None:
        with self._lock:
            self._tasks.pop(key, None)


@dataclass(frozen=True)
class Waiting:
    """Not answered yet. share : of the work done, 0 to 1."""

    share: float

    def facts(self) -> dict[str, Any]:
        """What a page is told."""
        return {"waiting": {"share": round(self.share, 3), "again_ms": AGAIN}}


def _run(task: Task, make: Make) -> None:
    def told(share: float) -> None:
        task.share = float(share)

    if not task.future.set_running_or_notify_cancel():
        return
    try:
        task.future.set_result(make(told))
    except BaseException as error:  # noqa: BLE001 - handed to whoever asked
        task.future.set_exception(error)
