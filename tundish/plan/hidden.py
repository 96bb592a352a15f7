"""The hidden states of a call: kinds of machine, what is left of each after partial cures, and each as it is pulled out.

What a remedy does to a machine: it cures each of its own faults that are there with the fault's chance. The customer sees
that it works when nothing is left, when what is left does not show the complaint, or when it sleeps at the moment.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np

from tundish.appliance.records import Description
from tundish.plan.change import Change, Floats, becoming
from tundish.plan.cured import Bools, complains, drawn_with, eased_by_pulling
from tundish.plan.remedies import Remedy
from tundish.plan.samples import Rows, Sample
from tundish.plan.shop import Shop
from tundish.population.build import World

# A root or a second cause left under a machine that works now comes back with this chance. Our choice: the trade's own
# example of a consequence renewed alone has its callback within months.
RETURNS = 0.8
# Machines that stand for what a partial cure leaves of a kind. Our choice.
STANDING_FOR = 5
Left = frozenset[str]


@dataclass(frozen=True, eq=False)
class Hidden:
    """Hidden states: the kinds of a sample, then what partial cures leave of them and their twins pulled out, then not described.

    of : (h,) kind, -1 for not described. left : (h,) faults there. moved : (h,) pulled out, and another machine by it.
    weight : (h,) sums to 1. shows : (h,) chance that the complaint would be seen. twin : (h,) the same pulled out.
    derived, owner : rows (d,) of the population that stand for the states after the kinds, and the state of each.
    """

    sample: Sample
    of: Rows
    left: tuple[Left, ...]
    moved: Bools
    weight: Floats
    shows: Floats
    twin: Rows
    derived: Rows
    owner: Rows
    place: Mapping[tuple[int, Left, bool], int]

    @property
    def sick(self) -> Bools:
        """(h,) whether anything is wrong."""
        return np.array([bool(f) for f in self.left[:-1]] + [True])

    @property
    def cured(self) -> Bools:
        """(h,) whether something was wrong and nothing is left of it."""
        sound = np.append(self.sample.sound[self.of[:-1]], False)
        return np.asarray(~self.sick & ~sound)

    def derived_mean(self, table: Floats) -> Floats:
        """Mean of (r, d) by state after the kinds, (r, h - kinds - 1)."""
        if not len(self.derived):
            return np.zeros((len(table), 0))
        first = np.flatnonzero(np.concatenate([[True], np.diff(self.owner) != 0]))
        return np.asarray(np.add.reduceat(table, first, axis=1) / np.bincount(self.owner)[self.owner[first]])


def hidden(place: World, sampled: Sample, cures: Sequence[Remedy], *, pulled_out: bool) -> Hidden:
    """The hidden states of a sample under these remedies. pulled_out : the machine stands outside already."""
    states = [(k, f, False) for k, f in enumerate(sampled.faults)]
    rest = [(k, f, False) for k, whole in enumerate(sampled.faults) for f in _reached(whole, cures)]
    shows, eased = _rest(place, sampled, rest)
    differs = [bool(e) for e in sampled.eased] + eased
    twins = [(k, f, True) for (k, f, _), d in zip(states + rest, differs, strict=True) if d]
    every = states + rest + twins
    index = {state: i for i, state in enumerate(every)}
    seen = np.array([1.0] * len(states) + shows + [1.0] * (len(twins) + 1))
    twin = np.array(
        [index.get((k, f, True), i) for i, (k, f, _) in enumerate(every)] + [len(every)], dtype=np.intp
    )
    # Only the kinds weigh at first; the rest is reached by repairs and moves
    weight = np.zeros(len(every) + 1)
    weight[: len(states)], weight[-1] = sampled.mass, sampled.unknown
    if pulled_out:
        weight = np.bincount(twin, weights=weight, minlength=len(weight)).astype(np.float64)
    rows = [sampled.machines(k, STANDING_FOR) for k, _, _ in rest + twins]
    owner = np.repeat(np.arange(len(states), len(every)), [len(r) for r in rows]).astype(np.intp)
    return Hidden(
        sampled,
        np.array([k for k, _, _ in every] + [-1], dtype=np.intp),
        (*(f for _, f, _ in every), frozenset[str]()),
        np.array([m for _, _, m in every] + [False]),
        weight / weight.sum(),
        seen,
        twin,
        np.concatenate(rows) if rows else np.zeros(0, dtype=np.intp),
        owner,
        index,
    )


def _rest(
    place: World, sampled: Sample, rest: Sequence[tuple[int, Left, bool]]
) -> tuple[list[float], list[bool]]:
    """Of what partial cures leave: the chance that it shows the complaint, and whether pulling out changes it."""
    if not rest:
        return [], []
    rows = [sampled.machines(k, STANDING_FOR) for k, _, _ in rest]
    left = [f for (_, f, _), r in zip(rest, rows, strict=True) for _ in r]
    every, count = np.concatenate(rows), [len(r) for r in rows]
    first = np.cumsum([0, *count])[:-1]
    complaint = place.description.complaints[sampled.population.complaint]
    seen = complains(place, drawn_with(place, sampled.population, every, left, found=False), complaint)
    eased = eased_by_pulling(place, drawn_with(place, sampled.population, every, left, found=True))
    return (
        (np.add.reduceat(seen * 1.0, first) / count).tolist(),
        (np.add.reduceat(eased * 1.0, first) / count > 0.5).tolist(),
    )


def _reached(whole: Left, cures: Sequence[Remedy]) -> list[Left]:
    """What may be left of a machine's faults after cures, but neither all nor nothing."""
    if len(whole) < 2:
        return []
    seen: set[Left] = {whole}
    todo = [whole]
    while todo:
        here = todo.pop()
        for remedy in cures:
            for there, _ in afterwards(None, here, remedy.faults):
                if there and there not in seen:
                    seen.add(there)
                    todo.append(there)
    return sorted(seen - {whole}, key=lambda f: (-len(f), sorted(f)))


def afterwards(
    description: Description | None, left: Left, cures: Iterable[str]
) -> Iterator[tuple[Left, float]]:
    """What a repair of some faults may leave of those there, with its chance (1 for all without a description)."""
    own = sorted(left & set(cures))
    for cured in product((True, False), repeat=len(own)):
        gone = {f for f, c in zip(own, cured, strict=True) if c}
        chance = 1.0
        for fault, c in zip(own, cured, strict=True):
            cure = 1.0 if description is None else description.faults[fault].cure
            chance *= cure if c else 1.0 - cure
        if chance > 0 or description is None:
            yield left - gone, chance


def sleeps(description: Description, left: Iterable[str]) -> float:
    """Chance that none of these faults acts just now."""
    return float(np.prod([1.0 - description.faults[f].acts for f in left]))


@dataclass(frozen=True, eq=False)
class Effect:
    """What a remedy does. works : (h,) chance that the machine works after it. toll : (h,) money to expect later when it does.

    cures : (h,) chance that it works because of the remedy, not because the fault sleeps. change : what it makes of the
    machine when it still fails, None for nothing.
    """

    works: Floats
    cures: Floats
    toll: Floats
    change: Change | None


class Curing:
    """What remedies do to hidden states, in a shop's money."""

    def __init__(self, description: Description, states: Hidden, shop: Shop, cures: Sequence[Remedy]) -> None:
        self._description, self._states, self._shop = description, states, shop
        self._price = {
            f: min(cost_of(shop, r) for r in cures if f in r.faults) for r in cures for f in r.faults
        }
        self._luck = np.array([sleeps(description, f) if f else 0.0 for f in states.left[:-1]] + [0.0])
        self._later = np.array([self.later(f, 1.0) if f else 0.0 for f in states.left[:-1]] + [0.0])

    def later(self, left: Left, chance: float) -> float:
        """Money to expect when faults are left under a machine that works: the callback, and curing them then."""
        return chance * (self._shop.callback + sum(self._price.get(f, self._shop.replace) for f in left))

    def effect(self, remedy: Remedy) -> Effect:
        """What a remedy does.

        A machine cured before is not brought to work by it: closing takes the proof, or any cheap repair would be a test.
        """
        states = self._states
        works, tolled = self._luck.copy(), self._luck * self._later
        source: list[int] = []
        target: list[int] = []
        chance: list[float] = []
        for i, left in enumerate(states.left[:-1]):
            if not left.isdisjoint(remedy.faults):
                works[i], tolled[i], fails = self._one(i, remedy)
                for there, p in fails:
                    if there != i:
                        source.append(i)
                        target.append(there)
                        chance.append(p / max(1.0 - works[i], 1e-12))
        toll = tolled / np.maximum(works, 1e-12)
        change = becoming(len(works), source, target, np.minimum(chance, 1.0).tolist()) if source else None
        # Luck is the same for every remedy: counted as a cure it would be counted once for each of them
        touched = np.array([not left.isdisjoint(remedy.faults) for left in states.left])
        works = np.clip(works, 0.0, 1.0)
        return Effect(works, np.where(touched, works, 0.0), toll, change)

    def _one(self, state: int, remedy: Remedy) -> tuple[float, float, list[tuple[int, float]]]:
        """Chance that it works, chance x toll, and where it lands when it fails."""
        states = self._states
        works = tolled = 0.0
        fails = []
        for left, chance in afterwards(self._description, states.left[state], remedy.faults):
            there = self._landing(state, left)
            quiet, toll = self._seen(left, there)
            works += chance * quiet
            tolled += chance * quiet * toll
            if quiet < 1.0:
                fails.append((there, chance * (1.0 - quiet)))
        return works, tolled, fails

    def _seen(self, left: Left, there: int) -> tuple[float, float]:
        """Chance that a machine with these faults left works at the test, and the toll when it does."""
        if not left:
            return 1.0, 0.0
        shows, luck = float(self._states.shows[there]), float(self._luck[there])
        quiet, lucky = 1.0 - shows, shows * luck
        toll = quiet * self.later(left, RETURNS) + lucky * float(self._later[there])
        return quiet + lucky, toll / max(quiet + lucky, 1e-12)

    def _landing(self, state: int, left: Left) -> int:
        states = self._states
        if not left:
            return state
        # Curing the kink itself leaves a machine that moving no longer changes
        of, moved = int(states.of[state]), bool(states.moved[state])
        return states.place.get((of, left, moved), states.place.get((of, left, False), state))


def cost_of(shop: Shop, remedy: Remedy) -> float:
    """Money of a remedy by itself: part and minutes."""
    return remedy.price + remedy.minutes * shop.rate


def pulling(states: Hidden) -> Change | None:
    """What pulling the machine out does to the hidden states; None for nothing."""
    moving = np.flatnonzero(states.twin != np.arange(len(states.twin)))
    if not len(moving):
        return None
    return becoming(len(states.twin), moving.tolist(), states.twin[moving].tolist(), [1.0] * len(moving))
