"""The calls of this device, wherever they lie."""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path

from tundish.store.errors import StoreError
from tundish.store.events import EventFile, open_events
from tundish.store.places import kept, place_of, told, usual


def open_calls(folder: Path, environ: Mapping[str, str] = os.environ) -> EventFile:
    """Open the calls of a data folder; use it in a `with` statement.

    Only the usual file is made when it is not there: elsewhere an empty store would pass for the shop's own.
    """
    place = place_of(folder, environ)

    def still() -> None:
        now = place_of(folder, environ)
        if now != place:
            raise StoreError(
                seen=f"the calls in {now}, not in {place} any more",
                allowed="one place for all calls",
                do="record it again: they were moved meanwhile; this one was not recorded",
            )

    # The file `store` is written when a move has compared; a move cut off after that is as good as ended
    filled = bool(kept(folder)) and not told(folder, environ)
    return open_events(place, create=place == usual(folder), still=still, filled=filled)
