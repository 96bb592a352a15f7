"""One dryer with stated dimensions: what the tests hold against the trade's tables."""

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

# The trade's lab model (common practice and from memory): wires 0.05 ohm, motor 22 ohm, element 10.67 ohm.
WIRED = {
    "construction": "vented", "gas_train": "none", "wires": "four", "two_coils": "no", "control": "thermostat",
    "fuse_place": "heat", "belt_switch": "no", "leg1": "120 V", "leg2": "120 V", "second_leg": "180 deg", "line_ohms": "0.05 ohm",
    "joint1": "0 ohm", "joint2": "0 ohm", "joint_n": "0 ohm", "motor_ohms": "22 ohm", "motor_load": 1.0, "coil_a": "10.67 ohm",
    "coil_a_share": 1.0, "contact_ohms": "0.01 ohm",
}  # fmt: skip
# Blower, drum and a clean short run of the same model: 3 m, 1 m of hose, two elbows, hood; room 24 °C and 50 %.
BLOWN = {
    "blower_head": "400 Pa", "blower_loss": 20000.0, "wheel_speed": 1.0, "drum_loss": 35363.0, "screen_clog": 1.0,
    "seal_loss": 1e12, "hose_length": "1 m", "duct_length": "3 m", "elbows": 0.7, "lint": "0 mm", "wall": "0.09 mm",
    "hood_k": 1.5, "hood_open": 1.0, "hose_open": 1.0, "room": "24 °C", "room_wet": 0.5, "side_heat": "200 W",
    "limit_opens": "124 °C", "cycling_opens": "65 °C", "cycling_band": "10 delta K", "thermistor_offset": "0 delta K",
    "motor_watts": "200 W", "load": "3.83 kg", "load_wet": 0.575, "load_dry": 0.04, "construction": "vented",
}  # fmt: skip


@cache
def dryer() -> Description:
    """The description that ships."""
    return load("dryer")


@cache
def place(market: str) -> World:
    """The family in a market."""
    return world(dryer(), market)


def machines(market: str = "NA", *, roots: tuple[str, ...] = (), **given: object) -> Machines:
    """One machine in the middle of every spread, with faults by id and parameters or quantities as given, in any unit or by name."""
    there = place(market)
    middle = np.zeros((1, there.plan.width))
    drawn = there.batch([Hypothesis("root" if roots else "normal", roots)], middle, found=False)
    values = parameters(dryer(), market, there.plan, drawn)
    length = max((np.size(v) for v in given.values() if not isinstance(v, str)), default=1)
    values = {name: np.broadcast_to(v, (length,)).copy() for name, v in values.items()}
    for name, value in given.items():
        values[name] = np.broadcast_to(_si(name, value), (length,)).astype(float)
    return Machines(dryer(), values, length)


def worth(found: Machines, name: str, unit: str) -> float:
    """A parameter or quantity of the first machine, in a unit."""
    return float(from_si(float(found.value(name)[0]), unit))


def shown(found: Machines, check: str) -> float:
    """What a check shows on the first machine, in the unit of the quantity it reads."""
    record = dryer().checks[check]
    return worth(found, record.reads, record.unit)


def answer(found: Machines, check: str) -> str:
    """What a look shows on the first machine."""
    record = dryer().checks[check]
    value = float(found.value(record.reads)[0])
    if all(a.low is None and a.high is None for a in record.answers):
        return record.answers[int(value)].name
    return next(
        a.name
        for a in record.answers
        if (a.low is None or value >= a.low) and (a.high is None or value < a.high)
    )


def _si(name: str, value: object) -> object:
    record = dryer().parameters.get(name)
    if isinstance(value, str) and record is not None and value in record.names:
        return float(record.names.index(value))
    if isinstance(value, str):
        number, unit = value.split(" ", 1)
        return to_si(float(number), unit)
    return value
