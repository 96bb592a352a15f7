"""Machines of a population as they are when some of their faults are cured, or when the machine was pulled out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
import numpy.typing as npt

from tundish.appliance.records import Change, Complaint, Description
from tundish.plan.change import Floats
from tundish.population.build import Population, World
from tundish.population.machines import Machines
from tundish.population.needs import asked_by, needed_parameters
from tundish.population.parameters import Batch, parameters
from tundish.population.predict import column

Bools = npt.NDArray[np.bool_]
Rows = npt.NDArray[np.intp]
# How a description names a setup that says what pulling the machine out does to it.
MOVED, MOVED_END = "pulled_out", "_moved"


def moved_by_pulling(description: Description) -> Mapping[str, Change]:
    """Parameter -> what pulling the machine out does to it: what such a setup sets, of what a fault can break."""
    broken = {e.parameter for f in description.faults.values() for m in f.modes for e in m.effects}
    setups = [s for n, s in description.setups.items() if n == MOVED or n.endswith(MOVED_END)]
    return {p: change for s in setups for p, change in s.set.items() if p in broken}


def drawn_with(
    place: World, population: Population, rows: Rows, left: Sequence[frozenset[str]], *, found: bool
) -> Batch:
    """Machines of which only the faults in `left` are there. found : as on the visit, else as the user complains."""
    hypotheses = [population.hypotheses[i] for i in population.stratum[rows]]
    drawn = place.batch(hypotheses, population.latent[rows].astype(np.float64), found=found)
    codes = {f: i for i, f in enumerate(place.plan.faults)}
    held = np.zeros((len(rows), len(codes)), dtype=np.bool_)
    for i, faults in enumerate(left):
        held[i, [codes[f] for f in faults]] = True
    # What is normal has no effect that could be cured
    normal = [codes[f] for f, record in place.description.faults.items() if record.kind == "normal"]
    held[:, normal] = True
    # A slot without a fault points at fault 0 here; it acts on nothing, so that does no harm
    there = np.take_along_axis(held, np.maximum(drawn.faults, 0).astype(np.intp), axis=1)
    drawn.acting[:] = drawn.acting & there & population.present[rows]
    return drawn


def shown_by(
    place: World, drawn: Batch, checks: Sequence[str], moved: Bools | None = None
) -> npt.NDArray[np.float32]:
    """True values of checks, (k, n). moved : (n,) machines that were pulled out since."""
    description = place.description
    changes = moved_by_pulling(description) if moved is not None and moved.any() else {}
    records = [description.checks[c] for c in checks]
    bound = [c.value for c in changes.values() if isinstance(c.value, str)]
    only = needed_parameters(description, [*(r.reads for r in records), *bound, *changes])
    values = parameters(description, place.market, place.plan, drawn, only=only)
    machines = Machines(description, values, drawn.size)
    if moved is not None and changes:
        # Only the machines that were moved get the eased value; the others keep their own
        eased = {p: np.where(moved, _eased(machines, p, c), machines.value(p)) for p, c in changes.items()}
        machines = Machines(description, {**values, **eased}, drawn.size)
    return np.array([column(machines, r) for r in records], dtype=np.float32).reshape(
        len(records), drawn.size
    )


def eased_by_pulling(place: World, drawn: Batch) -> Bools:
    """Which machines are another machine once they are pulled out, (n,)."""
    changes = moved_by_pulling(place.description)
    differs = np.zeros(drawn.size, dtype=np.bool_)
    if not changes:
        return differs
    bound = [c.value for c in changes.values() if isinstance(c.value, str)]
    only = needed_parameters(place.description, [*bound, *changes])
    machines = Machines(
        place.description,
        parameters(place.description, place.market, place.plan, drawn, only=only),
        drawn.size,
    )
    for name, change in changes.items():
        differs |= np.abs(_eased(machines, name, change) - machines.value(name)) > 1e-9
    return differs


def complains(place: World, drawn: Batch, complaint: Complaint) -> Bools:
    """Which machines show the complaint, (n,). drawn : as the user complains."""
    only = needed_parameters(place.description, asked_by(complaint.when))
    machines = place.machines(drawn, only)
    return np.asarray(np.logical_and.reduce([machines.holds(c) for c in complaint.when]))


def _eased(machines: Machines, name: str, change: Change) -> Floats:
    own = machines.value(name)
    amount = (
        machines.value(change.value) if isinstance(change.value, str) else np.full_like(own, change.value)
    )
    if change.kind == "to":
        return amount
    if change.kind == "times":
        return own * amount
    return np.maximum(own, amount) if change.kind == "at_least" else np.minimum(own, amount)
