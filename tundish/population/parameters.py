"""The parameters of a batch of machines: healthy values, then what their faults do to them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.special import ndtr

from tundish.appliance.records import Description, Effect, Fault, Parameter
from tundish.population.draws import Floats, draw, quantile
from tundish.population.hypotheses import Hypothesis, slots
from tundish.population.layout import ROOT_SLOTS, SLOTS, Layout
from tundish.quantity.units import difference_to_si, to_si

Bools = npt.NDArray[np.bool_]
Codes = npt.NDArray[np.int16]
NO_FAULT = -1


@dataclass(frozen=True)
class Batch:
    """Machines to be drawn.

    latent : (n, width) standard normal numbers.
    faults : (n, SLOTS) fault codes by slot, NO_FAULT where there is none.
    acting : (n, SLOTS) whether that fault acts.
    """

    latent: Floats
    faults: Codes
    acting: Bools

    @property
    def size(self) -> int:
        """Machines in the batch."""
        return len(self.latent)

    def take(self, index: npt.NDArray[np.intp] | Bools) -> Batch:
        """The machines at `index`."""
        return Batch(self.latent[index], self.faults[index], self.acting[index])


def batch(
    description: Description, plan: Layout, stratum: Sequence[Hypothesis], latent: Floats, *, found: bool
) -> Batch:
    """A batch with one hypothesis a machine.

    found : False as the user complained (every root acts), True as found on the visit (an intermittent fault may be asleep).
    """
    # Told apart by identity: hashing every machine's hypothesis costs more than drawing the machine.
    kinds = {id(h): h for h in stratum}
    place = {key: index for index, key in enumerate(kinds)}
    owner = np.fromiter((place[id(h)] for h in stratum), dtype=np.intp, count=len(stratum))
    faults, chance = _slots(description, plan, list(kinds.values()), found)
    occurs = ndtr(latent[:, [plan.occurs(s) for s in range(SLOTS)]])
    return Batch(latent, faults[owner], (faults[owner] != NO_FAULT) & (occurs < chance[owner]))


def _slots(
    description: Description, plan: Layout, kinds: Sequence[Hypothesis], found: bool
) -> tuple[Codes, Floats]:
    """Fault codes and the chance that each is there, (kinds, SLOTS)."""
    code = {f: i for i, f in enumerate(plan.faults)}
    faults, chance = np.full((len(kinds), SLOTS), NO_FAULT, dtype=np.int16), np.zeros((len(kinds), SLOTS))
    for row, hypothesis in enumerate(kinds):
        for slot, (fault, come) in enumerate(slots(description, hypothesis)):
            if fault:
                sleeps = found and slot < ROOT_SLOTS
                faults[row, slot] = code[fault]
                chance[row, slot] = come * (description.faults[fault].acts if sleeps else 1.0)
    return faults, chance


def parameters(
    description: Description, market: str, plan: Layout, machines: Batch, *, only: frozenset[str] | None = None
) -> dict[str, Floats]:
    """Every parameter of every machine in SI (a choice as its code), each (n,).

    only : the parameters wanted, with all they depend on (`needs.needed_parameters`); all when None.
    """
    # A market replaces how a parameter is drawn, never what a fault does to it.
    replaced = description.markets[market].parameters
    values: dict[str, Floats] = {}
    hits = _hits(description, plan, machines)
    for name, column in plan.parameters.items():
        if only is not None and name not in only:
            continue
        record = description.parameters[name]
        # In the order of the layout, so that a parameter sees its parents with their faults already in
        # them.
        z = machines.latent[:, column].astype(np.float64)
        values[name] = draw(record, replaced.get(name, record.distribution), z, values)
        for hit in hits.get(name, ()):
            _apply(record, hit, machines, values)
    # Swaps come last: crossed hoses cross what the other faults have made of each line.
    for hit in hits.get("", ()):
        if hit.effect.parameter in values:
            _swap(hit, values)
    return values


@dataclass(frozen=True)
class _Hit:
    """An effect on some rows: `column` holds its severity number."""

    effect: Effect
    rows: npt.NDArray[np.intp]
    column: int


def _hits(description: Description, plan: Layout, machines: Batch) -> dict[str, list[_Hit]]:
    """Effects by the parameter they act on, in the file's order; swaps under ''."""
    found: dict[str, list[_Hit]] = {}
    for slot in range(SLOTS):
        codes = np.where(machines.acting[:, slot], machines.faults[:, slot], NO_FAULT)
        for code in np.unique(codes[codes != NO_FAULT]):
            rows = np.flatnonzero(codes == code)
            fault = description.faults[plan.faults[code]]
            for hit in _fault_hits(plan, slot, fault, machines.latent, rows):
                key = "" if hit.effect.kind == "swap" else hit.effect.parameter
                found.setdefault(key, []).append(hit)
    return found


def _fault_hits(
    plan: Layout, slot: int, fault: Fault, latent: Floats, rows: npt.NDArray[np.intp]
) -> list[_Hit]:
    # The mode is drawn per machine, by the slot's own number: two roots of one machine fail independently.
    weights = np.cumsum([m.weight for m in fault.modes])
    chosen = np.searchsorted(weights / weights[-1], ndtr(latent[rows, plan.mode(slot)]), side="right")
    chosen = np.minimum(chosen, len(fault.modes) - 1)
    hits = []
    for index, mode in enumerate(fault.modes):
        here = rows[chosen == index]
        if len(here):
            hits += [_Hit(e, here, plan.effect(slot, i)) for i, e in enumerate(mode.effects)]
    return hits


def _apply(record: Parameter, hit: _Hit, machines: Batch, values: dict[str, Floats]) -> None:
    """Change the parameter on the hit rows, in place (the arrays are ours and new)."""
    target, drawn = values[record.name], _severity(record, hit, machines, values)
    if hit.effect.kind == "set":
        target[hit.rows] = drawn
    elif hit.effect.kind == "times":
        target[hit.rows] *= drawn
    else:
        target[hit.rows] += drawn


def _severity(record: Parameter, hit: _Hit, machines: Batch, values: dict[str, Floats]) -> Floats:
    distribution = hit.effect.distribution
    if distribution is None:
        raise ValueError(
            f"{hit.effect.kind} of {record.name}: saw no distribution; give `to` or `by` in the description"
        )
    # A choice set by name has no severity; everything else is the quantile of the effect's own number.
    if distribution.kind == "name":
        return np.full(len(hit.rows), float(record.names.index(distribution.names[0])))
    z = machines.latent[hit.rows, hit.column].astype(np.float64)
    drawn = quantile(
        distribution, z, {k: v[hit.rows] for k, v in values.items()} if distribution.kind == "by" else {}
    )
    if record.names or hit.effect.kind == "times":
        return drawn
    # What is added is a difference: 2 °C more is 2 K more, not 275 K.
    convert = to_si if hit.effect.kind == "set" else difference_to_si
    return np.asarray(convert(drawn, record.unit), dtype=np.float64)


def _swap(hit: _Hit, values: dict[str, Floats]) -> None:
    first, second, rows = values[hit.effect.parameter], values[hit.effect.other or ""], hit.rows
    first[rows], second[rows] = second[rows].copy(), first[rows].copy()
