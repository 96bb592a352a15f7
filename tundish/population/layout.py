"""Where each random number of a machine stands in its row."""

from __future__ import annotations

from dataclasses import dataclass

from tundish.appliance.records import Description, Distribution, Effect

# Two roots, and at most two consequences dragged by them.
ROOT_SLOTS = 2
SLOTS = 4


@dataclass(frozen=True)
class Layout:
    """Columns of the latent row: one a parameter, then for each fault slot: mode, occurs, and one an effect."""

    parameters: dict[str, int]
    faults: tuple[str, ...]
    effects: int

    @property
    def width(self) -> int:
        """Numbers in a row, [-]."""
        return len(self.parameters) + SLOTS * (2 + self.effects)

    def mode(self, slot: int) -> int:
        """Column that chooses the fault's mode."""
        return len(self.parameters) + slot * (2 + self.effects)

    def occurs(self, slot: int) -> int:
        """Column that says whether an intermittent fault acts now, or a consequence has followed."""
        return self.mode(slot) + 1

    def effect(self, slot: int, index: int) -> int:
        """Column of the severity of the fault's effect number `index`."""
        return self.mode(slot) + 2 + index


def layout(description: Description) -> Layout:
    """The row layout of a family: parameters in the order in which they can be drawn."""
    most = max((len(m.effects) for f in description.faults.values() for m in f.modes), default=0)
    names = drawing_order(description)
    return Layout({name: i for i, name in enumerate(names)}, tuple(description.faults), most)


def drawing_order(description: Description) -> tuple[str, ...]:
    """Parameter names so that each comes after those it is drawn from (the reader has refused cycles)."""
    done: dict[str, None] = {}
    for name in description.parameters:
        _visit(description, name, done)
    return tuple(done)


def _visit(description: Description, name: str, done: dict[str, None]) -> None:
    # Depth first: what a parameter is drawn from stands before it.
    if name in done:
        return
    for other in sorted(parents(description, name)):
        _visit(description, other, done)
    done[name] = None


def parents(description: Description, name: str) -> set[str]:
    """Parameters that a parameter's draws or effects look up, in any market."""
    record = description.parameters[name]
    found = {p for p in (record.times, record.plus) if p}
    here = [record.distribution, *(m.parameters[name] for m in description.markets.values() if name in m.parameters)]
    here += [e.distribution for e in _effects_on(description, name) if e.distribution]
    return found.union(*(_keys(d) for d in here))


def _keys(distribution: Distribution) -> set[str]:
    """Choices that a distribution looks up, also inside its cases."""
    own = {distribution.key} if distribution.key else set()
    return own.union(*(_keys(case) for case in distribution.cases))


def _effects_on(description: Description, name: str) -> list[Effect]:
    modes = (m for f in description.faults.values() for m in f.modes)
    return [e for m in modes for e in m.effects if e.parameter == name and e.kind != "swap"]
