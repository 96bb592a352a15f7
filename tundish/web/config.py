"""What a server is started with. Everything from outside comes in here: folders, clock, names, limits."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from tundish.store.folders import EVENTS_FILE, LEARNED_FILE, SETTINGS_FILE
from tundish.store.shelf import SIZE

LOOPBACK, NETWORK = "loopback", "network"


@dataclass(frozen=True)
class Config:
    """One door of the bench.

    data, cache : folders of records and of simulated machines. door : loopback (this computer) or network (HTTPS).
    hosts : what a browser may call us, name and port. network : address of the other door for phones, "" without one.
    machines : simulated for each complaint. now : the clock, [s] since 1970 UTC. patience : how long an answer is
    waited for before the page is told to ask again, [s]. hands : simulations at the same time. root : the
    certificate that phones install, "" without one. static : the front's files.
    """

    data: Path
    cache: Path
    hosts: tuple[str, ...]
    door: str = LOOPBACK
    network: str = ""
    machines: int = SIZE
    now: Callable[[], float] = time.time
    patience: float = 0.5
    hands: int = 2
    root: bytes = b""
    static: Path = Path(__file__).parent / "static"

    @property
    def events(self) -> Path:
        """The file of events."""
        return self.data / EVENTS_FILE

    @property
    def settings(self) -> Path:
        """The file of settings."""
        return self.data / SETTINGS_FILE

    @property
    def learned(self) -> Path:
        """The file of what was learned."""
        return self.data / LEARNED_FILE

    @property
    def scheme(self) -> str:
        """How browsers speak to this door."""
        return "https" if self.door == NETWORK else "http"
