"""One oven and hob with stated parameters: what the tests hold against the trade's tables."""

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


@cache
def oven() -> Description:
    """The description that ships."""
    return load("oven and hob")


@cache
def place(market: str) -> World:
    """The family in a market."""
    return world(oven(), market)


def machines(market: str = "NA", *, roots: tuple[str, ...] = (), **given: object) -> Machines:
    """One machine in the middle of every spread, with faults by id and parameters as given, in any unit or by name."""
    there = place(market)
    drawn = there.batch(
        [Hypothesis("root" if roots else "normal", roots)], np.zeros((1, there.plan.width)), found=False
    )
    values = dict(parameters(oven(), market, there.plan, drawn))
    length = max((np.size(v) for v in given.values() if not isinstance(v, str)), default=1)
    for name, value in {**values, **{n: _si(n, v) for n, v in given.items()}}.items():
        values[name] = np.broadcast_to(value, (length,)).astype(float)
    return Machines(oven(), values, length)


def shown(found: Machines, check: str) -> float:
    """What a check shows on the first machine, in the unit of the quantity it reads."""
    record = oven().checks[check]
    return float(from_si(float(found.value(record.reads)[0]), record.unit))


def answer(found: Machines, check: str) -> str:
    """What a look shows on the first machine."""
    record = oven().checks[check]
    value = float(found.value(record.reads)[0])
    if all(a.low is None and a.high is None for a in record.answers):
        return record.answers[int(value)].name
    return next(
        a.name
        for a in record.answers
        if (a.low is None or value >= a.low) and (a.high is None or value < a.high)
    )


def shows(found: Machines, complaint: str) -> bool:
    """Whether the first machine shows a complaint."""
    return all(bool(found.holds(clause)[0]) for clause in oven().complaints[complaint].when)


def _si(name: str, value: object) -> object:
    names = oven().parameters[name].names
    if isinstance(value, str) and value in names:
        return float(names.index(value))
    if isinstance(value, str):
        number, unit = value.split(" ", 1)
        return to_si(float(number), unit)
    return value
