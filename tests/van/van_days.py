"""Days for tests: written out, random, and played through by plain enumeration."""

from __future__ import annotations

from itertools import product

import numpy as np

from tundish.van.need import CallNeed
from tundish.van.part import Part, PartKey


def key(number):
    """A part by its number."""
    return PartKey("box", f"part {number}")


def pick(*numbers):
    """A set of parts."""
    return frozenset(map(key, numbers))


def independent(chances, trip, call="a"):
    """A call that needs each part 1, 2, ... by itself with a chance: every set is written out."""
    sets = {}
    for there in product([False, True], repeat=len(chances)):
        chance = np.prod([p if t else 1 - p for p, t in zip(chances, there, strict=True)])
        if any(there):
            sets[pick(*(i + 1 for i, t in enumerate(there) if t))] = float(chance)
    return CallNeed(call, sets, trip)


def plain(holding, space=None):
    """Parts 1, 2, ... by holding cost."""
    room = space or [1.0] * len(holding)
    return {
        key(i + 1): Part(key(i + 1), h, space=s) for i, (h, s) in enumerate(zip(holding, room, strict=True))
    }


def random_day(rng, *, calls, parts, sets):
    """Calls with sets of one to three parts, and parts with figures; each call has its own trip cost."""
    listed = []
    for number in range(calls):
        chosen = {}
        for _ in range(int(rng.integers(1, sets + 1))):
            size = int(rng.choice([1, 2, 3], p=[0.45, 0.4, 0.15]))
            chosen[pick(*rng.choice(parts, min(size, parts), replace=False).tolist())] = 0.0
        chance = rng.dirichlet(np.ones(len(chosen) + 2))
        unknown = float(chance[-1]) if rng.random() < 0.5 else 0.0
        chosen = {s: float(c) for s, c in zip(chosen, chance, strict=False)}
        listed.append(CallNeed(str(number), chosen, float(rng.uniform(5, 100)), unknown))
    figures = {
        key(i): Part(
            key(i),
            float(rng.uniform(0, 12)),
            float(rng.choice([0.0, rng.uniform(0, 10)])),
            float(rng.choice([1.0, rng.uniform(0.2, 3)])),
        )
        for i in range(parts)
    }
    return listed, figures


def outcomes(calls):
    """Every way a day can go: its chance and what each call needs, None where no part helps."""
    each = [
        [*call.sets.items(), (None, call.unknown), (frozenset(), 1 - sum(call.sets.values()) - call.unknown)]
        for call in calls
    ]
    for way in product(*each):
        chance = float(np.prod([c for _, c in way]))
        if chance > 0:
            yield chance, [needed for needed, _ in way]


def referee(calls, parts, space=np.inf):
    """Least cost, that load and its share of calls served, by trying every load on every way the day can go.

    Shares nothing with the package but the records: it plays the tour, it knows no wants and no counts.
    """
    keys = sorted(parts)
    loads = np.array(list(product(range(len(calls) + 1), repeat=len(keys))))
    room = loads @ np.array([parts[k].space for k in keys])
    loads = loads[room <= space * (1 + 1e-12)]
    cost = loads @ np.array([parts[k].holding for k in keys])
    served = np.zeros(len(loads))
    for chance, needs in outcomes(calls):
        left = loads.copy()
        for call, needed in zip(calls, needs, strict=True):
            ok = np.full(len(loads), needed is not None)
            for part in needed or ():
                column = left[:, keys.index(part)]
                ok &= column > 0
                column -= column > 0
            cost = cost + chance * call.trip * ~ok
            served += chance * ok
        cost = cost + chance * (left @ np.array([parts[k].unused for k in keys]))
    at = int(np.argmin(cost))
    return float(cost[at]), dict(zip(keys, loads[at].tolist(), strict=True)), float(served[at]) / len(calls)
