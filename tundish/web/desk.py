"""What every route works with: the calls of this device, its settings, the file of secrets, and hands for long work."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable
from contextlib import suppress
from dataclasses import dataclass
from typing import Any

from tundish.appliance.records import Description
from tundish.call.bodies import Body
from tundish.call.events import Event
from tundish.call.fold import CallState, fold
from tundish.store.clock import Source, device_name, system
from tundish.store.counsel import Asked as Question
from tundish.store.events import EventFile, record_all
from tundish.store.mending import record_done
from tundish.store.opening import open_calls
from tundish.store.settings import BrokenSettings, Own, read_own, settings_of
from tundish.store.stock import lines_of, stock_of
from tundish.web.config import Config
from tundish.web.errors import WebError
from tundish.web.known import load
from tundish.web.vault import Vault
from tundish.web.work import Work


@dataclass(frozen=True)
class Desk:
    """One door's things at hand."""

    config: Config
    vault: Vault
    work: Work

    def calls(self) -> EventFile:
        """The calls of this device; use it in a `with` statement."""
        return open_calls(self.config.data)

    def own(self) -> Own:
        """What the shop set itself."""
        return read_own(self.config.settings)

    def state(self, call: str) -> CallState:
        """A call as it stands. HandleError when there is no such call."""
        with self.calls() as file:
            return fold(file.events_of(file.resolve(call)))

    def source(self, device: str | None = None) -> Source:
        """Clock and randomness for new events, written by a phone or by this computer."""
        return system(device or device_name(self.config.data))

    def record(
        self, call: str, bodies_of: Callable[[CallState], Iterable[Body]], device: str | None = None
    ) -> tuple[Event, ...]:
        """Write events of a call in one transaction. bodies_of : what to write, from the call as it stands."""
        with self.calls() as file, file.writing():
            id = file.resolve(call)
            # What is judged and what is written are one moment
            state = fold(file.events_of(id))
            bodies = tuple(bodies_of(state))
            if state.opened is None:
                return record_all(file, id, bodies, self.source(device))
            # A part ordered, come in or cancelled stands in the stock too
            description = description_of(state)
            currency = description.markets[opened(state).market].currency
            return record_done(file, id, description, bodies, currency=currency, source=self.source(device))

    def working(self, qualified: bool) -> str:
        """Who works, in the words of the safety table: qualified when said now, or set for the shop."""
        # A broken file must keep nobody from recording; the stricter word is taken
        with suppress(BrokenSettings):
            qualified = qualified or settings_of(self.own()).qualified
        return "qualified" if qualified else "trained"

    def question(
        self, machines: int, *, qualified: bool = False, exact: bool = False, phone: bool = False
    ) -> Question:
        """How the planner is asked here: with this shop's settings, what it learned, and the parts it counts."""
        with self.calls() as file:
            levels = stock_of(file).levels
        return Question(qualified, exact, phone, machines, self.own(), self.config.learned, levels)

    def mark(self, call: str) -> tuple[Any, ...]:
        """What changes whenever an answer about a call could: its id, its events, the stock, the settings, what was learned."""
        with self.calls() as file:
            id = file.resolve(call)
            # Events may come in late from another phone, below the last id: so they are counted too
            ids = [row.id for row in file.rows(id)]
            lines = [line.id for line in lines_of(file)]
        return id, len(ids), max(ids, default=""), len(lines), max(lines, default=""), self.settings_mark()

    def settings_mark(self) -> str:
        """A hash of the settings and of what was learned."""
        files = (self.config.settings, self.config.learned)
        # A mark between them, or what leaves one file for the other would go unseen
        return hashlib.sha256(b"\0".join(path.read_bytes() if path.exists() else b"" for path in files)).hexdigest()


def description_of(state: CallState) -> Description:
    """The description of a call's family. WebError for a call whose opening is missing."""
    return load(opened(state).family)


def opened(state: CallState) -> Any:
    """The opening of a call. WebError when it is missing."""
    if state.opened is None:
        raise WebError(
            409,
            f"call {state.call} without its opening",
            "an opened call",
            "sync the device that opened it, or open it",
        )
    return state.opened.body
