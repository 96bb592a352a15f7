"""What verbs of the whole call share: events written in one transaction, the planner and the shop's prices at hand, the day."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date

from tundish.call.bodies import Body
from tundish.call.fold import CallState, fold
from tundish.cli import at_hand
from tundish.cli.view import View
from tundish.cli.waiting import waiting
from tundish.prices.settings import Settings
from tundish.store.clock import Source, device_name, system, today_in
from tundish.store.counsel import Asked, Counsel, counsel
from tundish.store.events import record_all
from tundish.store.folders import cache_folder, data_folder
from tundish.store.pricing import settings_for
from tundish.store.settings import settings_of


@dataclass(frozen=True, eq=False)
class Priced:
    """A call with its planner, the shop's settings in the market's currency, and the units to show."""

    asked: Counsel
    settings: Settings
    units: str


def source() -> Source:
    """Clock, randomness and name of this device."""
    return system(device_name(data_folder()))


def today() -> date:
    """The day of the shop, by its own time zone."""
    return today_in(source().milliseconds(), settings_of(at_hand.own()).zone)


def state_of(call: str) -> CallState:
    """A call as it stands. HandleError when there is no such call."""
    with at_hand.calls() as file:
        return fold(file.events_of(file.resolve(call)))


def record(call: str, bodies_of: Callable[[CallState], Iterable[Body]]) -> str:
    """Write events of a call and return its id. bodies_of : what to write, from the call as it stands then."""
    # What is judged and what is written are one moment, and all of it is written or nothing
    with at_hand.calls() as file, file.writing():
        id = file.resolve(call)
        record_all(file, id, tuple(bodies_of(fold(file.events_of(id)))), source())
    return id


def counsel_of(state: CallState, view: View) -> Counsel:
    """The planner on a call."""
    with waiting("Simulating machines") as progress:
        asked = Asked(size=view.machines, own=at_hand.own(), stock=at_hand.levels())
        return counsel(state, cache_folder(), asked, progress=progress, tell=at_hand.tell)


def settings_now(state: CallState) -> Settings:
    """The shop's settings in the currency of a call's market."""
    return settings_for(at_hand.own(), at_hand.description_of(state), at_hand.market_of(state))


def priced(call: str, view: View) -> Priced:
    """A call with its planner and the shop's prices."""
    state = state_of(call)
    # A shop in another currency is refused before anything is simulated
    settings = settings_now(state)
    asked = counsel_of(state, view)
    return Priced(asked, settings, view.units_for(asked.found))
