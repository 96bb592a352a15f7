"""One refrigerator-freezer with stated dimensions: what the tests hold against the trade's tables."""

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

# The cabinet of the trade's worked tables (common practice, no source): 24 °C room, 4 and -18 °C, 160 W, steady state.
CABINET = {
    "room": "24 °C", "fresh_set": "4 °C", "freezer_set": "-18 °C", "walls_fresh": "1.5 W/K", "walls_freezer": "0.9 W/K",
    "gain_fresh": "8 W", "gain_freezer": "12 W", "gasket_fresh": "0 m3/h", "gasket_freezer": "0 m3/h",
    "rated_capacity": "160 W", "air_total": "17.3 W/K", "fresh_share": 0.1, "fan_air": 1.0, "vents_open": 1.0,
    "duct_lift": 0.0, "coil_still": "0 W/K", "reached": 1.0, "evaporator": "-30 °C", "fresh_offset": 0.0, "freezer_offset": 0.0,
    "condenser_open": 1.0, "gas": 1.0, "humidity": 0.5,
}  # fmt: skip


@cache
def fridge() -> Description:
    """The description that ships."""
    return load("refrigerator-freezer")


@cache
def place(market: str) -> World:
    """The family in a market."""
    return world(fridge(), market)


def machines(market: str = "EU", *, roots: tuple[str, ...] = (), **given: object) -> Machines:
    """One machine in the middle of every spread, with faults by id and parameters as given, in any unit or by name."""
    there = place(market)
    middle = np.zeros((1, there.plan.width))
    drawn = there.batch([Hypothesis("root" if roots else "normal", roots)], middle, found=False)
    values = parameters(fridge(), market, there.plan, drawn)
    length = max((np.size(v) for v in given.values() if not isinstance(v, str)), default=1)
    values = {name: np.broadcast_to(v, (length,)).copy() for name, v in values.items()}
    for name, value in given.items():
        values[name] = np.broadcast_to(_si(name, value), (length,)).astype(float)
    return Machines(fridge(), values, length)


def many(market: str, roots: tuple[str, ...], number: int, seed: int = 3) -> Machines:
    """Machines with these faults as drawn from the prior, as complained of."""
    there = place(market)
    z = np.random.default_rng(seed).standard_normal((number, there.plan.width))
    kind = "root" if roots else "normal"
    return there.machines(there.batch([Hypothesis(kind, roots)] * number, z, found=False))


def shown(found: Machines, check: str) -> float:
    """What a check shows on the first machine, in the unit of the quantity it reads."""
    record = fridge().checks[check]
    return float(from_si(float(found.value(record.reads)[0]), record.unit))


def answer(found: Machines, check: str) -> str:
    """What a look shows on the first machine."""
    record = fridge().checks[check]
    value = float(found.value(record.reads)[0])
    if all(a.low is None and a.high is None for a in record.answers):
        return record.answers[int(value)].name
    return next(
        a.name
        for a in record.answers
        if (a.low is None or value >= a.low) and (a.high is None or value < a.high)
    )


def _si(name: str, value: object) -> object:
    names = fridge().parameters[name].names
    if isinstance(value, str) and value in names:
        return float(names.index(value))
    if isinstance(value, str):
        number, unit = value.split(" ", 1)
        return to_si(float(number), unit)
    return value
