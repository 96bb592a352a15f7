"""The closed forms a description may name: FORMULAS, name -> Formula.

Every function is called by keyword with its inputs in SI (`record.function(**bound)`): floats or (n,) arrays,
the machine first. A variadic form has the one input `of`, a sequence of such values. None raises on the odd
machine of a population; each docstring says what comes out instead.

Units: "any" takes every unit, "same" is the unit of the inputs.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf

from tundish.physics.arithmetic import difference, greatest, least, linear_change, product, ratio, total
from tundish.physics.cabinet import (
    cabinet_load,
    compartment_temperature,
    cooling_capacity,
    freezer_temperature,
    passed_conductance,
    running_share,
)
from tundish.physics.copper import winding_resistance
from tundish.physics.drying import air_heat, air_rise, drying_time, exhaust_temperature, water_dried
from tundish.physics.filling import fill_time
from tundish.physics.frost import defrost_time, leak_frost, leak_heat, melted
from tundish.physics.heating import heating_power, heating_rate
from tundish.physics.law import Input
from tundish.physics.level import level_signal, volume_level, water_head
from tundish.physics.metering import pulse_rate
from tundish.physics.mixing import mixed_temperature
from tundish.physics.oven import (
    heat_up_time,
    holding_duty,
    platinum_belief,
    platinum_sensor,
    stall_temperature,
    thermistor_belief,
)
from tundish.physics.surge import surge
from tundish.physics.thermistor import thermistor
from tundish.physics.values import Value


@dataclass(frozen=True)
class Formula:
    """A closed form a description may name.

    name : the name it is called by.
    function : takes the inputs by keyword, gives the result.
    inputs : what it takes, in order.
    unit : unit of the result, or "any" or "same".
    variadic : whether it takes a list under `of`.
    """

    name: str
    function: Callable[..., Value]
    inputs: tuple[Input, ...]
    unit: str
    variadic: bool = False

    @property
    def required(self) -> tuple[str, ...]:
        """Names of the inputs that have no default."""
        return tuple(given.name for given in self.inputs if given.default is None)


def _free(name: str, unit: str, default: float | None = None) -> Input:
    """An input that may take any value, because it is computed or because any value makes sense."""
    return Input(name, unit, default, -inf, inf)


def _positive(name: str, unit: str, default: float | None = None) -> Input:
    """An input that is never below 0."""
    return Input(name, unit, default, 0.0, inf)


_OF = (_free("of", "any"),)
_PAIR = (_free("a", "any"), _free("b", "any"))
_DEAD_LEG = (_positive("dead_volume", "m3", 0.0), _positive("dead", "K"))
_HOT_AND_COLD = (
    _positive("hot_volume", "m3"),
    _positive("hot", "K"),
    _positive("cold_volume", "m3"),
    _positive("cold", "K"),
)

_WET_LOAD = (
    _positive("power", "W"),
    _positive("flow", "m3/s"),
    _positive("room", "K"),
    _positive("humidity", "-"),
    _positive("contact", "-", 1.0),
)

_ALL = (
    Formula("sum", total, _OF, "same", variadic=True),
    Formula("product", product, _OF, "any", variadic=True),
    Formula("least", least, _OF, "same", variadic=True),
    Formula("greatest", greatest, _OF, "same", variadic=True),
    Formula("difference", difference, _PAIR, "same"),
    Formula("ratio", ratio, _PAIR, "any"),
    Formula(
        "fill time",
        fill_time,
        (_free("volume", "m3"), _free("inflow", "m3/s"), _free("outflow", "m3/s", 0.0)),
        "s",
    ),
    Formula("mixed temperature", mixed_temperature, _HOT_AND_COLD + _DEAD_LEG, "K"),
    Formula("heating power", heating_power, (_free("volts", "V"), _positive("resistance", "ohm")), "W"),
    Formula(
        "heating rate",
        heating_rate,
        (_free("power", "W"), _positive("water", "m3"), _positive("load_heat", "J/K", 0.0)),
        "K/s",
    ),
    Formula(
        "winding resistance",
        winding_resistance,
        (_positive("resistance_20", "ohm"), _positive("temperature", "K")),
        "ohm",
    ),
    Formula(
        "thermistor",
        thermistor,
        (_positive("resistance_25", "ohm"), _positive("beta", "K"), _positive("temperature", "K")),
        "ohm",
    ),
    Formula(
        "surge", surge, (_free("flow", "m3/s"), _positive("bore", "m"), _positive("wave_speed", "m/s")), "Pa"
    ),
    Formula("water head", water_head, (_free("level", "m"),), "Pa"),
    Formula(
        "level signal",
        level_signal,
        (_free("level", "m"), _positive("empty", "Hz"), _free("slope", "Hz/m")),
        "Hz",
    ),
    Formula(
        "volume level",
        volume_level,
        (_free("volume", "m3"), _positive("area", "m2"), _positive("sump", "m3", 0.0)),
        "m",
    ),
    Formula("pulse rate", pulse_rate, (_free("flow", "m3/s"), _positive("per_volume", "1/m3")), "Hz"),
    Formula(
        "linear change",
        linear_change,
        (_free("start", "any"), _free("rate", "any"), _free("time", "s")),
        "same",
    ),
    Formula(
        "cooling capacity",
        cooling_capacity,
        (
            _positive("rated", "W"),
            _positive("room", "K"),
            _free("fall", "1/K", 0.008),
            _positive("reference", "K", 297.15),
        ),
        "W",
    ),
    Formula(
        "compartment temperature",
        compartment_temperature,
        (
            _positive("walls", "W/K"),
            _positive("room", "K"),
            _positive("flow", "W/K"),
            _positive("supply", "K"),
            _free("gain", "W"),
        ),
        "K",
    ),
    Formula(
        "cabinet load",
        cabinet_load,
        (
            _positive("room", "K"),
            _positive("fresh", "K"),
            _positive("freezer", "K"),
            _positive("walls_fresh", "W/K"),
            _positive("walls_freezer", "W/K"),
            _free("gain", "W"),
        ),
        "W",
    ),
    Formula(
        "passed conductance", passed_conductance, (_positive("walls", "W/K"), _positive("flow", "W/K")), "W/K"
    ),
    Formula(
        "freezer temperature",
        freezer_temperature,
        (
            _positive("held", "K"),
            _free("load", "W"),
            _positive("slope", "W/K"),
            _positive("capacity", "W"),
            _positive("coil", "W/K"),
            _positive("evaporator", "K"),
        ),
        "K",
    ),
    Formula("running share", running_share, (_free("load", "W"), _positive("capacity", "W")), "-"),
    Formula(
        "leak frost",
        leak_frost,
        (
            _positive("flow", "m3/s"),
            _positive("room", "K"),
            _positive("inside", "K"),
            _positive("humidity", "-"),
            _positive("time", "s", 86400.0),
        ),
        "kg",
    ),
    Formula(
        "leak heat",
        leak_heat,
        (
            _positive("flow", "m3/s"),
            _positive("room", "K"),
            _positive("inside", "K"),
            _positive("humidity", "-"),
        ),
        "W",
    ),
    Formula(
        "defrost time",
        defrost_time,
        (
            _positive("ice", "kg"),
            _positive("power", "W"),
            _positive("share", "-", 0.6),
            _positive("coil", "J", 32.0e3),
        ),
        "s",
    ),
    Formula(
        "melted frost",
        melted,
        (
            _positive("time", "s"),
            _positive("power", "W"),
            _positive("share", "-", 0.6),
            _positive("coil", "J", 32.0e3),
        ),
        "kg",
    ),
    Formula(
        "heat-up time",
        heat_up_time,
        (_positive("capacity", "J/K"), _positive("loss", "W/K"), _positive("power", "W"), _free("rise", "K")),
        "s",
    ),
    Formula(
        "holding duty",
        holding_duty,
        (_positive("loss", "W/K"), _positive("power", "W"), _free("rise", "K")),
        "-",
    ),
    Formula(
        "stall temperature",
        stall_temperature,
        (_positive("power", "W"), _positive("loss", "W/K"), _positive("room", "K")),
        "K",
    ),
    Formula(
        "platinum sensor",
        platinum_sensor,
        (_positive("resistance_0", "ohm"), _positive("temperature", "K")),
        "ohm",
    ),
    Formula(
        "platinum belief",
        platinum_belief,
        (_positive("resistance", "ohm"), _positive("resistance_0", "ohm")),
        "K",
    ),
    Formula(
        "thermistor belief",
        thermistor_belief,
        (_positive("resistance", "ohm"), _positive("resistance_25", "ohm"), _positive("beta", "K")),
        "K",
    ),
)

_DRYING = (
    Formula("air heat", air_heat, (_free("flow", "m3/s"), _free("rise", "K")), "W"),
    Formula("air rise", air_rise, (_free("power", "W"), _free("flow", "m3/s")), "K"),
    Formula("exhaust temperature", exhaust_temperature, _WET_LOAD, "K"),
    Formula("water dried", water_dried, (*_WET_LOAD, _positive("time", "s", 1.0)), "kg"),
    Formula(
        "drying time",
        drying_time,
        (
            _positive("dried", "kg"),
            _positive("within", "s"),
            _positive("load", "kg"),
            _positive("wet", "-"),
            _positive("dry", "-"),
            _positive("critical", "-", 0.2),
        ),
        "s",
    ),
)

FORMULAS: dict[str, Formula] = {formula.name: formula for formula in (*_ALL, *_DRYING)}
