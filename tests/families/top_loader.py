"""One top-load washer with stated dimensions: what the tests hold against the trade's tables."""

from __future__ import annotations

from functools import cache

import numpy as np

from tundish.appliance.records import Description
from tundish.population.build import World, world
from tundish.population.hypotheses import Hypothesis
from tundish.population.machines import Machines
from tundish.population.parameters import parameters
from tundish.quantity.units import from_si, to_si
from tundish.store.library import load

# The chain of the trade's worked tables (common practice and from memory): line, tap, hose, screen, valve, washer, nozzle.
CHAIN = {
    "house_droop": "20 kPa", "filter_loss": "0 kPa/(L/min)2", "hot_line_loss": "0 kPa/(L/min)2", "tap_kind": "globe",
    "tap_open_cold": 1.0, "tap_open_hot": 1.0, "hose_length": "1.5 m", "hose_bore": "9.5 mm", "hose_open_cold": 1.0,
    "hose_open_hot": 1.0, "hose_device_cold": 1.5, "hose_device_hot": 1.5, "screen_blocked_cold": 0.0,
    "screen_blocked_hot": 0.0, "flow_washer": "14 L/min", "valve_way_cold": 1.0, "valve_way_hot": 1.0,
    "nozzle_head": "8 kPa", "wash_volume": "60 L", "kink_stays": "yes", "moved_open": 0.0,
}  # fmt: skip


@cache
def top_loader() -> Description:
    """The description that ships."""
    return load("top-load washer")


@cache
def place(market: str) -> World:
    """The family in a market."""
    return world(top_loader(), market)


def machines(market: str = "NA", *, roots: tuple[str, ...] = (), **given: object) -> Machines:
    """One machine in the middle of every spread, with faults by id and parameters as given, in any unit or by name."""
    there = place(market)
    middle = np.zeros((1, there.plan.width))
    drawn = there.batch([Hypothesis("root" if roots else "normal", roots)], middle, found=False)
    values = parameters(top_loader(), market, there.plan, drawn)
    length = max((np.size(v) for v in given.values() if not isinstance(v, str)), default=1)
    values = {name: np.broadcast_to(v, (length,)).copy() for name, v in values.items()}
    for name, value in given.items():
        values[name] = np.broadcast_to(_si(name, value), (length,)).astype(float)
    return Machines(top_loader(), values, length)


def all_shown(found: Machines, check: str) -> np.ndarray:
    """What a check shows on every machine, in the unit of the quantity it reads."""
    record = top_loader().checks[check]
    return np.asarray(from_si(found.value(record.reads), record.unit))


def shown(found: Machines, check: str) -> float:
    """What a check shows on the first machine, in the unit of the quantity it reads."""
    return float(all_shown(found, check)[0])


def answer(found: Machines, check: str) -> str:
    """What a look shows on the first machine."""
    record = top_loader().checks[check]
    value = float(found.value(record.reads)[0])
    if all(a.low is None and a.high is None for a in record.answers):
        return record.answers[int(value)].name
    inside = (
        a for a in record.answers if (a.low is None or value >= a.low) and (a.high is None or value < a.high)
    )
    return next(inside).name


def band(check: str, true: float) -> float:
    """Three sigma of a check's instrument about a value in the quantity's unit, without the model's own error."""
    record = top_loader().checks[check]
    tool = record.instrument
    assert tool is not None
    size = to_si(true, record.unit)
    sigma = (tool.absolute**2 + (tool.relative * size) ** 2 + tool.resolution**2 / 12) ** 0.5
    return 3 * sigma / to_si(1.0, record.unit)


def complains(found: Machines, complaint: str) -> bool:
    """Whether the first machine shows a complaint."""
    return bool(np.logical_and.reduce([found.holds(c) for c in top_loader().complaints[complaint].when])[0])


def _si(name: str, value: object) -> object:
    names = top_loader().parameters[name].names
    if isinstance(value, str) and value in names:
        return float(names.index(value))
    if isinstance(value, str):
        number, unit = value.split(" ", 1)
        return to_si(float(number), unit)
    return value
