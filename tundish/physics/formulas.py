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
from tundish.physics.copper import winding_resistance
from tundish.physics.filling import fill_time
from tundish.physics.heating import heating_power, heating_rate
from tundish.physics.law import Input
from tundish.physics.level import level_signal, volume_level, water_head
from tundish.physics.metering import pulse_rate
from tundish.physics.mixing import mixed_temperature
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
)

FORMULAS: dict[str, Formula] = {formula.name: formula for formula in _ALL}
