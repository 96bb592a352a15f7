"""A machine in the middle of its market, healthy and with what is asked for: every check's reading side by side.

The middle machine has all its latent numbers at 0, so every parameter is at its median and every fault at its middle severity.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from tundish.appliance.possible import checks_of
from tundish.appliance.reaches import allowed_range, described_range
from tundish.appliance.records import Check, Description, Distribution, Fault, Instrument, Mode, Parameter
from tundish.call.entry import one_of
from tundish.documents.numbers import shown
from tundish.population.build import world
from tundish.population.layout import SLOTS
from tundish.population.machines import Machines
from tundish.population.parameters import NO_FAULT, Batch
from tundish.population.predict import column
from tundish.quantity.parse import parse
from tundish.quantity.show import show, show_in
from tundish.quantity.units import dimension_of, from_si

Facts = dict[str, Any]
# A check tells the two machines apart when its readings lie further apart than this many sigma. Our choice.
APART = 3.0


@dataclass(frozen=True)
class WhatIf:
    """What is asked for.

    faults : fault id and the title of its mode, in the order asked.
    severity : parameters of the changed machine, SI or a choice's number; they take the place of what the faults do to them.
    both : parameters of both machines, the same way; the faults act on top of them.
    """

    faults: tuple[tuple[str, str], ...] = ()
    severity: Mapping[str, float] = field(default_factory=dict)
    both: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True)
class Pair:
    """Two batches of one machine each."""

    healthy: Machines
    changed: Machines


def asked(
    description: Description, faults: Iterable[str], severity: Iterable[str], both: Iterable[str]
) -> WhatIf:
    """What is asked for, from words such as `S04`, `S06=cold`, `screen_blocked_cold=90 %`, `tap_kind=lever`.

    Raises ValueError for an unknown fault, mode, parameter or value, with what is allowed.
    """
    named = tuple(_fault_asked(description, words) for words in faults)
    ids = [fault for fault, _ in named]
    # A machine's row has room for so many faults, and the same part cannot fail in two ways at once.
    if len(ids) > SLOTS or len(set(ids)) < len(ids):
        raise ValueError(
            f"fault: saw {', '.join(ids)}; allowed: at most {SLOTS} different faults; leave some out"
        )
    return WhatIf(named, _given(description, severity), _given(description, both))


def pair(description: Description, market: str, what: WhatIf) -> Pair:
    """The healthy machine and the changed one."""
    middle = with_parameters(description, what.both)
    changed = _with_severity(_with_modes(middle, what.faults), what.severity)
    return Pair(_machine(middle, market, ()), _machine(changed, market, [fault for fault, _ in what.faults]))


def what_if_facts(
    description: Description, market: str, what: WhatIf, *, machines: Pair, system: str
) -> Facts:
    """Every check on both machines, with the faults and values asked for.

    Raises ValueError when a machine cannot be: a value outside its physical range, or a network that does not balance.
    """
    rows = [_row(check, machines, system) for check in checks_of(description, market).values()]
    refuse_lost(machines, _hints(description, [*what.severity, *what.both]))
    return {
        "family": description.family,
        "market": market,
        "title": description.markets[market].title,
        "faults": [{"id": f, "title": description.faults[f].title, "mode": mode} for f, mode in what.faults],
        "severity": _values(description, what.severity, system),
        "both": _values(description, what.both, system),
        "checks": rows,
    }


def refuse_lost(machines: Pair, hints: str = "") -> None:
    """Raise ValueError when what was asked so far cannot be worked out on one of the machines. hints : about what was given."""
    for name, batch in (("healthy", machines.healthy), ("changed", machines.changed)):
        if batch.lost.any():
            raise ValueError(
                f"what-if: saw a {name} machine outside what the physics holds for, or a network that does not balance; "
                f"allowed: values inside their physical range, such as a share from 0 to 1; change a value{hints}"
            )


def _hints(description: Description, names: Iterable[str]) -> str:
    """The usual range of each number given, where the description has ends for it."""
    said = []
    for name in dict.fromkeys(names):
        ends = described_range(description, name)
        unit = description.parameters[name].unit
        span = f"is described from {show(ends[0], unit)} to {show(ends[1], unit)}" if ends else "has no ends described"
        said.append(f"; {name} {span}")
    return "".join(said)


def with_parameters(description: Description, given: Mapping[str, float]) -> Description:
    """The description with parameters at given values, SI or a choice's number, in every market."""
    fixed = {name: _fixed(description.parameters[name], value) for name, value in given.items()}
    markets = {
        m.name: replace(m, parameters={k: d for k, d in m.parameters.items() if k not in given})
        for m in description.markets.values()
    }
    return replace(description, parameters={**description.parameters, **fixed}, markets=markets)


def _fixed(record: Parameter, value: float) -> Parameter:
    if record.names:
        weights = tuple(float(i == int(value)) for i in range(len(record.names)))
        return replace(record, distribution=Distribution("choice", weights, record.names))
    number = float(from_si(value, record.unit))
    return replace(record, distribution=Distribution("constant", (number,)), times=None, plus=None)


def _with_severity(description: Description, given: Mapping[str, float]) -> Description:
    """Parameters at given values that no fault changes any more."""
    faults = {
        f.id: replace(f, modes=tuple(_spared(m, given) for m in f.modes)) for f in description.faults.values()
    }
    return replace(with_parameters(description, given), faults=faults)


def _spared(mode: Mode, given: Mapping[str, float]) -> Mode:
    # A swap crosses two lines as they are, so a given value goes with its line.
    return replace(
        mode, effects=tuple(e for e in mode.effects if e.kind == "swap" or e.parameter not in given)
    )


def _with_modes(description: Description, faults: Iterable[tuple[str, str]]) -> Description:
    chosen = {fault: _only(description.faults[fault], mode) for fault, mode in faults}
    return replace(description, faults={**description.faults, **chosen})


def _only(fault: Fault, title: str) -> Fault:
    return replace(fault, modes=tuple(m for m in fault.modes if m.title == title)[:1])


def _machine(description: Description, market: str, faults: Iterable[str]) -> Machines:
    place = world(description, market)
    codes = np.full((1, SLOTS), NO_FAULT, dtype=np.int16)
    for slot, fault in enumerate(faults):
        codes[0, slot] = place.plan.faults.index(fault)
    # What sleeps now and then is awake here: the question is what it does when it acts.
    return place.machines(Batch(np.zeros((1, place.plan.width)), codes, codes != NO_FAULT))


def _fault_asked(description: Description, words: str) -> tuple[str, str]:
    id, _, title = words.partition("=")
    fault = description.faults[one_of(id.strip(), description.faults, "fault")]
    titles = [m.title for m in fault.modes]
    # A row of the table without a mode named is its usual one.
    usual = max(fault.modes, key=lambda m: m.weight).title if fault.modes else ""
    return fault.id, one_of(title.strip(), titles, f"mode of {fault.id}") if title else usual


def _given(description: Description, pairs: Iterable[str]) -> dict[str, float]:
    found = {}
    for words in pairs:
        named, equals, typed = words.partition("=")
        if not equals:
            raise ValueError(
                f"parameter: saw {words!r}; allowed: PARAM=VALUE; write such as static_cold=350 kPa"
            )
        name = one_of(named.strip(), description.parameters, "parameter")
        record = description.parameters[name]
        found[name] = _value(record, typed.strip())
        if not record.names:
            _refuse_beyond(description, name, found[name])
    return found


def _value(record: Parameter, typed: str) -> float:
    """What was typed, SI, or the number of a choice."""
    if record.names:
        return float(record.names.index(one_of(typed.strip(), record.names, record.name)))
    read = parse(typed, dimension_of(record.unit))
    if read.bound != "exact":
        raise ValueError(
            f"{record.name}: saw {typed!r}; allowed: one number with its unit; leave the bound away"
        )
    return read.value


def _refuse_beyond(description: Description, name: str, value: float) -> None:
    """Raise ValueError for a number that the parameter cannot have, with what it can."""
    low, high = allowed_range(description, name)
    if low <= value <= high:
        return
    kind = description.parameters[name].unit
    ends = [f"{word} {show(end, kind)}" for word, end in (("at least", low), ("at most", high)) if math.isfinite(end)]
    raise ValueError(
        f"{name}: saw {show(value, kind)}, which is outside its physical range; allowed: {' and '.join(ends)}; change the value"
    )


def _values(description: Description, given: Mapping[str, float], system: str) -> list[Facts]:
    rows = []
    for name, value in given.items():
        record = description.parameters[name]
        said = record.names[int(value)] if record.names else show_in(value, dimension_of(record.unit), system)
        rows.append({"parameter": name, "value": value, "says": said})
    return rows


def _row(check: Check, machines: Pair, system: str) -> Facts:
    healthy, changed = (float(column(m, check)[0]) for m in (machines.healthy, machines.changed))
    return {
        "check": check.id,
        "title": check.title,
        "where": check.where,
        "state": check.state,
        "healthy": _reading(check, healthy, system),
        "what_if": _reading(check, changed, system),
        "tells": _tells(check, healthy, changed),
    }


def _reading(check: Check, true: float, system: str) -> Facts:
    """A true value, and what the instrument shows of it without its error."""
    if check.instrument is None:
        answer = check.answers[int(true)].name
        return {"value": None, "answer": answer, "says": answer}
    value = _displayed(check.instrument, true)
    return {
        "value": true if math.isfinite(true) else None,
        "answer": None,
        "says": shown(check, value, system),
    }


def _displayed(instrument: Instrument, true: float) -> float:
    inside = max(true, instrument.low)
    if instrument.log or instrument.resolution <= 0 or not math.isfinite(inside):
        return inside
    # The display has no digits between two steps.
    return round(inside / instrument.resolution) * instrument.resolution


def _tells(check: Check, healthy: float, changed: float) -> bool:
    """Whether one reading would tell the two machines apart."""
    tool = check.instrument
    if tool is None:
        return healthy != changed
    one, other = (min(max(v, tool.low), tool.high) for v in (healthy, changed))
    if tool.log:
        floor = tool.high * 1e-9
        return abs(math.log(max(one, floor) / max(other, floor))) > APART * math.hypot(
            tool.relative, check.model
        )
    size = max(abs(one), abs(other))
    sigma = math.hypot(
        tool.absolute, tool.relative * size, tool.resolution / math.sqrt(12), check.model * size
    )
    return abs(one - other) > APART * sigma
