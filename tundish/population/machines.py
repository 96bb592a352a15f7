"""A batch of machines on which any quantity of the description can be asked.

Quantities are worked out when first asked and kept, so a batch that is asked for three readings solves only their setups.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import numpy.typing as npt

from tundish.appliance.records import (
    Binding,
    Change,
    Clause,
    Description,
    LinkRecord,
    NetworkRecord,
    Quantity,
    Setup,
)
from tundish.physics.formulas import FORMULAS
from tundish.physics.law import Input
from tundish.physics.laws import LAWS
from tundish.physics.meters import LEAST_CURRENT, METER, current_out, with_voltmeter
from tundish.physics.network import Link, Network, Solution, solve
from tundish.physics.phasor import PhasorSolution, solve_phasors
from tundish.population.draws import Floats

_Key = tuple[str, str, str, str, float]
_Solved = Solution | PhasorSolution


class Machines:
    """Parameters of n machines and what follows from them, SI, every array (n,)."""

    def __init__(self, description: Description, parameters: Mapping[str, Floats], size: int) -> None:
        self._description = description
        self._values: dict[str, Floats] = dict(parameters)
        self._size = size
        self._solved: dict[_Key, _Solved] = {}
        self._lost = np.zeros(self._size, dtype=np.bool_)

    @property
    def lost(self) -> npt.NDArray[np.bool_]:
        """Machines of which some setup asked so far did not converge, (n,); they must be thrown away."""
        return self._lost

    def value(self, name: str) -> Floats:
        """A parameter or quantity by name, SI, (n,)."""
        if name not in self._values:
            self._values[name] = self._work_out(self._description.quantities[name])
        return self._values[name]

    def holds(self, clause: Clause) -> npt.NDArray[np.bool_]:
        """Which machines meet a condition, (n,)."""
        if clause.any:
            return np.asarray(np.logical_or.reduce([self.holds(c) for c in clause.any]))
        value = self.value(clause.quantity)
        if clause.name is not None:
            return np.asarray(value == self._description.parameters[clause.quantity].names.index(clause.name))
        met = np.ones(self._size, dtype=np.bool_)
        if clause.above is not None:
            met &= value > clause.above
        return met & (value < clause.below) if clause.below is not None else met

    def _work_out(self, quantity: Quantity) -> Floats:
        if not quantity.take:
            return self._closed_form(quantity)
        if quantity.take in ("voltage", "resistance"):
            return self._metered(quantity)
        return _shown(quantity, self._solution((quantity.setup, "", "", "", 0.0)))

    def _closed_form(self, quantity: Quantity) -> Floats:
        form = FORMULAS[quantity.form]
        if form.variadic:
            result = form.function(of=[self._bound(b) for b in quantity.of])
        else:
            result = form.function(**{k: self._bound(b) for k, b in quantity.inputs.items()})
        return np.broadcast_to(np.asarray(result, dtype=np.float64), (self._size,))

    def _metered(self, quantity: Quantity) -> Floats:
        start, end = quantity.where
        solution = self._solution((quantity.setup, quantity.take, start, end, quantity.meter))
        if quantity.take == "voltage":
            return np.abs(solution.potential[start] - solution.potential[end])
        network = network_of(self._description.networks[self._description.setups[quantity.setup].network])
        flow = {link: np.real(each) for link, each in solution.flow.items()}
        # The floor keeps an open circuit a large number instead of a division by nothing.
        return 1.0 / np.maximum(current_out(network, flow, (start,)), LEAST_CURRENT)

    def _bound(self, binding: Binding, setup: Setup | None = None) -> Floats | float:
        if not isinstance(binding, str):
            return binding
        change = setup.set.get(binding) if setup else None
        return self._changed(change, binding) if change else self.value(binding)

    def _changed(self, change: Change, name: str) -> Floats | float:
        amount = self._bound(change.value)
        if change.kind == "to":
            return amount
        if change.kind == "times":
            return self.value(name) * amount
        return (np.maximum if change.kind == "at_least" else np.minimum)(self.value(name), amount)

    def _solution(self, key: _Key) -> _Solved:
        # Setups are solved once however many checks read them.
        if key not in self._solved:
            self._solved[key] = self._solve(key)
            self._lost = self._lost | ~self._solved[key].converged
        return self._solved[key]

    def _solve(self, key: _Key) -> _Solved:
        setup = self._description.setups[key[0]]
        record = self._description.networks[setup.network]
        network = network_of(record)
        inputs = {link.name: self._inputs(link, setup) for link in record.links}
        lifts = {link.name: self._bound(link.lift, setup) for link in record.links if link.lift != 0.0}
        # The meter loads what it measures, so ghost and backfed voltages come out by themselves.
        if key[1] == "voltage":
            network, inputs[METER] = with_voltmeter(network, key[2], key[3]), {"resistance": key[4]}
        held = self._held(record, setup, key)
        # An ohmmeter sends direct current whatever the network is.
        if record.is_complex and key[1] != "resistance":
            phasors = self._turned(held, record, setup)
            return solve_phasors(network, inputs, phasors, machines=self._size, allow_unconverged=True)
        return solve(network, inputs, held, machines=self._size, lifts=lifts, allow_unconverged=True)

    def _inputs(self, link: LinkRecord, setup: Setup) -> dict[str, Floats | float]:
        ranges = {given.name: given for given in LAWS[link.law].inputs}
        return {name: self._inside(ranges[name], self._bound(b, setup)) for name, b in link.inputs.items()}

    def _inside(self, given: Input, value: Floats | float) -> Floats | float:
        """The input, with machines outside its physical range thrown away: a tail of a distribution is no machine."""
        if isinstance(value, float):
            return value
        outside = ~((value >= given.low) & (value <= given.high))
        if not outside.any():
            return value
        self._lost = self._lost | outside
        # They are solved along at the range's nearest end, so that one of them does not stop the rest.
        return np.where(np.isnan(value), given.low, np.clip(value, given.low, given.high))

    def _held(self, record: NetworkRecord, setup: Setup, key: _Key) -> dict[str, Floats | float]:
        # An ohmmeter on an isolated circuit: one volt between its leads, everything else left to float.
        if key[1] == "resistance":
            return {key[2]: 1.0, key[3]: 0.0}
        held = {node: b for node, b in {**record.hold, **setup.hold}.items() if node not in setup.free}
        return {node: self._bound(b, setup) for node, b in held.items()}

    def _turned(
        self, held: Mapping[str, Floats | float], record: NetworkRecord, setup: Setup
    ) -> dict[str, npt.ArrayLike]:
        """Held voltages as complex numbers, each at its angle."""
        angles = {**record.angles, **setup.angles}
        return {node: volts * np.exp(1j * self._bound(angles[node], setup)) for node, volts in held.items()}


def network_of(record: NetworkRecord) -> Network:
    """The solver's network of a record."""
    return Network(tuple(Link(r.name, LAWS[r.law], r.start, r.end) for r in record.links))


def _shown(quantity: Quantity, solution: _Solved) -> Floats:
    """A flow, a potential or a drop; of what alternates its root mean square."""
    if quantity.take == "flow":
        seen = solution.flow[quantity.where[0]]
    elif quantity.take == "potential":
        seen = solution.potential[quantity.where[0]]
    else:
        seen = solution.potential[quantity.where[0]] - solution.potential[quantity.where[1]]
    # A meter shows no angle; what does not alternate keeps its sign.
    return np.abs(seen) if np.iscomplexobj(seen) else np.real(seen)
