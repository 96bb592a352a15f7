"""One dishwasher with stated dimensions: what the tests hold against the trade's tables."""

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

# The chain of the trade's worked tables (common practice and from memory): line, tap, 3/8 tube, screen, valve, washer, air break.
CHAIN = {
    "house_droop": "20 kPa", "house_loss": "0.06 kPa/(L/min)2", "filter_loss": "0 kPa/(L/min)2", "tap_kind": "globe",
    "tap_open": 1.0, "tube_length": "1.5 m", "tube_bore": "8 mm", "hose_open": 1.0, "hose_device": 1.5,
    "screen_blocked": 0.0, "flow_washer": "3 L/min", "valve_way": 1.0, "break_head": "8 kPa", "kink_stays": "yes",
    "moved_open": 0.0, "fill_volume": "4 L",
}  # fmt: skip


@cache
def dishwasher() -> Description:
    """The description that ships."""
    return load("dishwasher")


@cache
def place(market: str) -> World:
    """The family in a market."""
    return world(dishwasher(), market)


def machines(market: str = "EU", *, roots: tuple[str, ...] = (), **given: object) -> Machines:
    """One machine in the middle of every spread, with faults by id and parameters as given, in any unit or by name."""
    there = place(market)
    drawn = there.batch(
        [Hypothesis("root" if roots else "normal", roots)], np.zeros((1, there.plan.width)), found=False
    )
    values = parameters(dishwasher(), market, there.plan, drawn)
    length = max((np.size(v) for v in given.values() if not isinstance(v, str)), default=1)
    values = {name: np.broadcast_to(v, (length,)).copy() for name, v in values.items()}
    for name, value in given.items():
        values[name] = np.broadcast_to(_si(name, value), (length,)).astype(float)
    return Machines(dishwasher(), values, length)


def valued(found: Machines, name: str, unit: str) -> float:
    """A quantity of the first machine in a unit."""
    return float(from_si(float(found.value(name)[0]), unit))


def shown(found: Machines, check: str) -> float:
    """What a check shows on the first machine, in the unit of the quantity it reads."""
    record = dishwasher().checks[check]
    return valued(found, record.reads, record.unit)


def answer(found: Machines, check: str) -> str:
    """What a look shows on the first machine."""
    record = dishwasher().checks[check]
    value = float(found.value(record.reads)[0])
    if all(a.low is None and a.high is None for a in record.answers):
        return record.answers[int(value)].name
    return next(
        a.name
        for a in record.answers
        if (a.low is None or value >= a.low) and (a.high is None or value < a.high)
    )


def complains(found: Machines, complaint: str) -> bool:
    """Whether the first machine shows a complaint."""
    return all(bool(found.holds(clause)[0]) for clause in dishwasher().complaints[complaint].when)


def _si(name: str, value: object) -> object:
    names = dishwasher().parameters[name].names
    if isinstance(value, str) and value in names:
        return float(names.index(value))
    if isinstance(value, str):
        number, unit = value.split(" ", 1)
        return to_si(float(number), unit)
    return value
