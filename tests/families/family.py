"""A family of machines as the tests ask it: one machine with stated dimensions, many drawn from the prior, and what they show."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from tundish.appliance.records import Description
from tundish.population.build import World, world
from tundish.population.hypotheses import Hypothesis
from tundish.population.machines import Machines
from tundish.population.parameters import parameters
from tundish.quantity.units import from_si, to_si
from tundish.store.library import load


@dataclass(frozen=True)
class Family:
    """A family that ships. home : the market meant when none is named."""

    name: str
    home: str

    @cached_property
    def description(self) -> Description:
        """The description that ships."""
        return load(self.name)

    @cached_property
    def _worlds(self) -> dict[str, World]:
        return {market: world(self.description, market) for market in self.description.markets}

    def place(self, market: str) -> World:
        """The family in a market."""
        return self._worlds[market]

    def machines(self, market: str = "", *, roots: tuple[str, ...] = (), **given: object) -> Machines:
        """One machine in the middle of every spread, with faults by id; parameters or quantities as given, in any unit or by name.

        An array given makes as many machines as it is long.
        """
        market = market or self.home
        there = self.place(market)
        middle = np.zeros((1, there.plan.width))
        drawn = there.batch([Hypothesis("root" if roots else "normal", roots)], middle, found=False)
        values = dict(parameters(self.description, market, there.plan, drawn))
        values |= {name: self._si(name, value) for name, value in given.items()}
        length = max(np.size(v) for v in values.values())
        alike = {name: np.broadcast_to(v, (length,)).astype(float) for name, v in values.items()}
        return Machines(self.description, alike, length)

    def many(self, market: str, roots: tuple[str, ...], number: int, *, seed: int = 3, found: bool = False) -> Machines:
        """Machines with these faults as drawn from the prior. found : as come upon, not as complained of."""
        there = self.place(market)
        z = np.random.default_rng(seed).standard_normal((number, there.plan.width))
        return there.machines(there.batch([Hypothesis("root" if roots else "normal", roots)] * number, z, found=found))

    def all_shown(self, found: Machines, check: str) -> np.ndarray:
        """What a check shows on every machine, in the unit of the quantity it reads."""
        record = self.description.checks[check]
        return np.asarray(from_si(found.value(record.reads), record.unit))

    def shown(self, found: Machines, check: str) -> float:
        """What a check shows on the first machine."""
        return float(self.all_shown(found, check)[0])

    def answer(self, found: Machines, check: str) -> str:
        """What a look shows on the first machine."""
        record = self.description.checks[check]
        value = float(found.value(record.reads)[0])
        if all(a.low is None and a.high is None for a in record.answers):
            return record.answers[int(value)].name
        inside = (
            a for a in record.answers if (a.low is None or value >= a.low) and (a.high is None or value < a.high)
        )
        return next(inside).name

    def complains(self, found: Machines, complaint: str) -> bool:
        """Whether the first machine shows a complaint."""
        return all(bool(found.holds(clause)[0]) for clause in self.description.complaints[complaint].when)

    def band(self, check: str, true: float) -> float:
        """Three sigma of a check's instrument about a value in the quantity's unit, without the model's own error."""
        record = self.description.checks[check]
        tool = record.instrument
        assert tool is not None
        size = to_si(true, record.unit)
        sigma = (tool.absolute**2 + (tool.relative * size) ** 2 + tool.resolution**2 / 12) ** 0.5
        return 3 * sigma / to_si(1.0, record.unit)

    def _si(self, name: str, value: object) -> object:
        record = self.description.parameters.get(name)
        if isinstance(value, str) and record is not None and value in record.names:
            return float(record.names.index(value))
        if isinstance(value, str):
            number, unit = value.split(" ", 1)
            return to_si(float(number), unit)
        return value


def worth(found: Machines, name: str, unit: str) -> float:
    """A parameter or quantity of the first machine, in a unit."""
    return float(from_si(float(found.value(name)[0]), unit))
