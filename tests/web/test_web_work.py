"""Long work beside the server: asked twice it is done once, an error is not kept, and nobody who stops the server waits for it."""

from __future__ import annotations

import asyncio
import subprocess
import sys
from threading import Event

from tundish.web.work import Waiting, Work

# Work that never ends, one more behind it in the queue, and then the end of the program.
ENDLESS = """
import asyncio, threading
from tundish.web.work import Waiting, Work

work = Work(1)
for key in "ab":
    found = asyncio.run(work.answer(key, lambda told: threading.Event().wait(), 0.05))
    assert isinstance(found, Waiting)
work.close()
print("closed")
"""


def test_a_server_that_is_stopped_does_not_wait_for_its_simulations() -> None:
    done = subprocess.run([sys.executable, "-c", ENDLESS], capture_output=True, text=True, timeout=60, check=False)
    assert (done.returncode, done.stdout, done.stderr) == (0, "closed\n", "")


def test_what_waits_is_dropped_when_the_server_stops() -> None:
    begun: list[str] = []
    gate, work = Event(), Work(1)

    def make(name: str) -> str:
        begun.append(name)
        gate.wait(20)
        return name

    async def asked() -> list[object]:
        first = await work.answer("a", lambda told: make("a"), 0.2)
        second = await work.answer("b", lambda told: make("b"), 0.05)
        work.close()
        gate.set()
        return [first, second, await work.answer("a", lambda told: "anew", 5)]

    first, second, last = asyncio.run(asked())
    assert isinstance(first, Waiting) and isinstance(second, Waiting)
    # What ran came to its end; what waited never began
    assert last == "a" and begun == ["a"]


def test_the_same_question_is_worked_on_once_and_an_error_is_asked_anew() -> None:
    tried: list[int] = []
    work = Work(2)

    def broken(told: object) -> str:
        tried.append(1)
        raise OSError("disk full")

    async def asked() -> list[object]:
        return list(await asyncio.gather(*(work.answer("k", broken, 5) for _ in range(3)), return_exceptions=True))

    assert all(isinstance(one, OSError) for one in asyncio.run(asked())) and len(tried) == 1
    assert asyncio.run(work.answer("k", lambda told: "there is room again", 5)) == "there is room again"
    work.close()


def test_the_share_that_is_done_is_told() -> None:
    gate, work = Event(), Work(1)

    def make(told: object) -> str:
        told(0.25)  # type: ignore[operator]
        gate.wait(20)
        return "done"

    async def asked() -> tuple[object, object]:
        waiting = await work.answer("k", make, 0.3)
        gate.set()
        return waiting, await work.answer("k", make, 5)

    waiting, done = asyncio.run(asked())
    assert waiting == Waiting(0.25) and done == "done"
    work.close()
