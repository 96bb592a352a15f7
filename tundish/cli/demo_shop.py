"""The invented shop of `tundish serve --demo`: its settings, its van and its calls, in a folder that is never the user's own."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import partial
from importlib.resources import files
from pathlib import Path
from typing import Any

import yaml

from tundish.call.asking import CustomerNamed
from tundish.call.bodies import CallOpened
from tundish.call.fold import fold
from tundish.cli.demo_moves import Played, Watch, play
from tundish.store.clock import device_name, system
from tundish.store.counsel import Asked, counsel
from tundish.store.errors import clear_errors
from tundish.store.events import EventFile, open_events
from tundish.store.folders import EVENTS_FILE, SETTINGS_FILE
from tundish.store.library import load
from tundish.store.settings import change, read_own
from tundish.store.settings_change import put
from tundish.store.stock import record_moves
from tundish.van.part import key_of
from tundish.van.stock import Movement

SHOP = "demo_shop.yaml"
# Beside the user's folder of records, under a name of its own; while it is made it has another one.
BESIDE, MAKING = "-demo", "-making"
# Enough for a steady picture, few enough not to wait for at a first start.
MACHINES = 20_000
Tell = Callable[[str], None]


@dataclass(frozen=True)
class Shop:
    """Where the invented shop lies, and how its calls are reckoned. cache : of simulated machines."""

    folder: Path
    cache: Path
    machines: int = MACHINES


def beside(data: Path) -> Path:
    """The folder of the invented shop, for a user whose own records lie in `data`.

    >>> beside(Path("records/tundish")).name
    'tundish-demo'
    """
    return data.with_name(data.name + BESIDE)


def made_ready(shop: Shop, tell: Tell, *, anew: bool = False) -> bool:
    """Make the shop if it is not there, and tell whether it was made now. anew : what was done in it is thrown away."""
    if shop.folder.exists() and not anew:
        return False
    making = shop.folder.with_name(shop.folder.name + MAKING)
    with clear_errors(shop.folder):
        # Left by a start that was broken off: half a shop is none
        shutil.rmtree(making, ignore_errors=True)
        making.mkdir(parents=True)
        _make(Shop(making, shop.cache, shop.machines), tell)
        if shop.folder.exists():
            shutil.rmtree(shop.folder)
        making.rename(shop.folder)
    return True


def _make(shop: Shop, tell: Tell) -> None:
    plan = yaml.safe_load(files("tundish.cli").joinpath(SHOP).read_text(encoding="utf-8"))
    for key, value in plan["settings"].items():
        change(shop.folder / SETTINGS_FILE, partial(put, key=key, text=value, source="invented"))
    device, today = device_name(shop.folder), datetime.now(UTC)
    with open_events(shop.folder / EVENTS_FILE) as file:
        moves = [Movement("receive", key_of(part), count) for part, count in plan["stock"]]
        record_moves(file, moves, system(device))
        for number, call in enumerate(plan["calls"], start=1):
            tell(f"  {number} of {len(plan['calls'])}: {call['says']}")
            _call(shop, file, call, Watch(_begin(call, today), device))


def _begin(call: Mapping[str, Any], today: datetime) -> int:
    """When a call came in, [ms]: so many days and hours before now."""
    return int((today - timedelta(days=call["days"], hours=call["hours"])).timestamp() * 1000)


def _call(shop: Shop, file: EventFile, call: Mapping[str, Any], watch: Watch) -> None:
    opening = CallOpened(
        call["family"], call["market"], call["complaint"], call["age"], tuple(call.get("told", ())), name=call["name"]
    )  # fmt: skip
    id = file.open_call(opening, watch.source()).call
    played = Played(file, id, watch, shop.folder, shop.cache, shop.machines, load(call["family"]))
    # Written as one: so many short writings would each wait for the disk
    with file.writing():
        played.write([CustomerNamed(**call["customer"])])
        play(played, call["moves"])


def warm(shop: Shop) -> None:
    """Simulate the machines of every open call, so that its first page need not wait for them."""
    with open_events(shop.folder / EVENTS_FILE) as file:
        states = [fold(file.events_of(head.call)) for head in file.calls()]
    own = read_own(shop.folder / SETTINGS_FILE)
    # The newest first: it is likeliest to be looked at
    for state in reversed(states):
        if state.ended is None:
            counsel(state, shop.cache, Asked(size=shop.machines, own=own))
