"""Promised costs of whole calls against simulated ones, and the time of an advice."""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from tundish.diagnosis.odds import Cloud, start
from tundish.plan.advise import advise, planned
from tundish.plan.guide import guide, guided_policy, looked_through
from tundish.plan.promise import simulate
from tundish.plan.shop import shop_for
from tundish.plan.standing import Standing
from tundish.population.build import World, build, world
from tundish.population.hypotheses import priors, shares
from tundish.store.library import load

SEED = 5


def promises(
    family: str, complaints: Sequence[str], machines: int, calls: int = 4_000
) -> Iterator[Mapping[str, object]]:
    """Promised against simulated cost of the planned course on the planner's own problem, and the time of one advice."""
    description = load(family)
    place = world(description, next(iter(description.markets)))
    for complaint in complaints:
        record = place.description.complaints[complaint]
        held = build(place, complaint, machines, SEED)
        cloud = start(held, priors(held.hypotheses, record, shares(place.description, record, None, ())))
        yield {
            "complaint": complaint,
            **_promise(place, cloud, calls),
            "seconds an advice": _seconds(place, cloud),
        }


def _promise(place: World, cloud: Cloud, calls: int) -> dict[str, object]:
    shop = shop_for(place.description.markets[place.market])
    found = planned(place, cloud, shop, Standing())
    ready, weights = found.scout, found.wired.problem.weights
    policy, begin = guided_policy(ready), ready.frame.start
    first = policy(begin, weights)
    assert first is not None
    lay = guide(ready, begin)
    promised = float(looked_through(lay, begin, weights, [first], exact=True, followed=0.0)[0])
    done = simulate(found.wired.problem, policy, np.random.default_rng(SEED), calls)
    return {"promised": promised, "simulated": float(done.costs.mean()), "z": done.z(promised)}


def _seconds(place: World, cloud: Cloud, times: int = 5) -> float:
    shop = shop_for(place.description.markets[place.market])
    spent = []
    for seed in range(times):
        began = time.process_time()
        advise(place, cloud, shop, Standing(), seed=seed)
        spent.append(time.process_time() - began)
    return float(np.median(spent))
