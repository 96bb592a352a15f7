"""Records events without end and says each id once it is recorded, until it is killed.

    kill_writer.py PLACE SEED [early]

`early` says the id before it is recorded and dawdles: a writer that must be caught lying.
"""

from __future__ import annotations

import random
import sys
import time
from dataclasses import replace
from pathlib import Path

from store_maker import reading, source

from tundish.call import bodies
from tundish.call.events import Event
from tundish.call.identity import ID_BYTES, mint, moment
from tundish.store.events import open_events
from tundish.store.places import Place, place_from


def main(place: Place, seed: int, *, early: bool) -> None:
    """Single events by `record` and long batches by `append`, so that kills fall inside their writing."""
    draw, given = (
        random.Random(seed),
        source(seed, f"writer-{seed}", start=1_764_000_000_000 + seed * 1_000_000),
    )
    with open_events(place) as file:
        call = file.open_call(bodies.CallOpened("front-load washer", "EU", "SLOW"), given)
        say([call])
        if early:
            after = Event(mint(call.id, 0, bytes(ID_BYTES)), given.device, moment(0), call.call, reading(1.0))
            say([after])
            time.sleep(60)
        while True:
            made = [file.record(call.call, reading(draw.random()), given)]
            say(made)
            last = made[0]
            batch = []
            for _ in range(draw.randint(1, 40)):
                last = replace(last, id=mint(last.id, given.milliseconds(), given.random_bytes(ID_BYTES)))
                batch.append(replace(last, body=bodies.NoteAdded("x" * draw.randint(1, 2000))))
            file.append(batch)
            say(batch)


def say(events: list[Event]) -> None:
    """One line for all events of one commit."""
    sys.stdout.write(" ".join(event.id for event in events) + "\n")
    sys.stdout.flush()


if __name__ == "__main__":
    main(place_from(sys.argv[1], Path()), int(sys.argv[2]), early="early" in sys.argv[3:])
