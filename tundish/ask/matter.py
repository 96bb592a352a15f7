"""What a phone call is about: the kinds of machine that agree with what was told, and what could be done about each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from tundish.appliance.records import Complaint, Description
from tundish.diagnosis.odds import Cloud
from tundish.plan.candidates import Trying
from tundish.plan.change import Floats
from tundish.plan.hidden import cost_of
from tundish.plan.remedies import Remedy, remedies, way_minutes
from tundish.plan.samples import Sample, sample
from tundish.plan.shop import Shop
from tundish.plan.wired import EXPLAIN_MINUTES, LIKELY
from tundish.population.build import World
from tundish.population.hypotheses import NOTHING, UNDESCRIBED


@dataclass(frozen=True, eq=False)
class Matter:
    """A call on the phone.

    kinds : (k,) the faults of each kind of machine. weight : (k + 1,) chances, something not described last, summing to 1.
    known : circumstances told or denied, checks answered and facts given, by name or id of the question.
    """

    place: World
    cloud: Cloud
    shop: Shop
    sample: Sample
    kinds: tuple[frozenset[str], ...]
    weight: Floats
    known: frozenset[str]

    @property
    def description(self) -> Description:
        """The family."""
        return self.place.description

    @property
    def complaint(self) -> Complaint:
        """The complaint of the call."""
        return self.description.complaints[self.cloud.population.complaint]


def matter(
    place: World, cloud: Cloud, shop: Shop, *, rng: np.random.Generator, known: Sequence[str] = ()
) -> Matter:
    """The matter of a call. cloud : machines weighed by all that was told. Raises PlanError when nothing carries weight."""
    # The planner's own kinds, so that a question and a check are weighed on the same machines
    drawn = sample(place, cloud, rng)
    weight = np.append(drawn.mass, drawn.unknown)
    return Matter(place, cloud, shop, drawn, drawn.faults, weight / weight.sum(), frozenset(known))


def causes(kinds: Sequence[frozenset[str]], weight: Floats) -> Mapping[str, float]:
    """Chance of each cause, likeliest first, ties by name; nothing wrong and something not described among them.

    >>> causes([frozenset({"A"}), frozenset({"A", "B"}), frozenset()], np.array([0.5, 0.2, 0.2, 0.1]))
    {'A': 0.7, 'B': 0.2, 'nothing wrong': 0.2, 'something not described': 0.1}
    """
    held: dict[str, float] = {}
    for kind, chance in zip(kinds, weight[:-1].tolist(), strict=True):
        for name in sorted(kind) or [NOTHING]:
            held[name] = held.get(name, 0.0) + chance
    held[UNDESCRIBED] = float(weight[-1])
    return dict(sorted(held.items(), key=lambda item: (-item[1], item[0])))


def trying(
    description: Description, shop: Shop, kinds: Sequence[frozenset[str]], *, weight: Floats
) -> Trying:
    """What could be tried on kinds of machine, as the planner's cheap figure sees it.

    A machine with two faults needs two repairs: each is credited with its share of the cure. The way to a part is paid by each
    remedy alone. Saying that nothing is wrong is one of the things to try.
    """
    chance = causes(kinds, weight)
    # Nobody buys a part for a fault that is hardly there
    wanted = remedies(description, shop, [f for f, c in chance.items() if c > LIKELY])
    works = [[_works(description, remedy, kind) for kind in kinds] + [0.0] for remedy in wanted]
    sound = [1.0 if _is_sound(description, kind) else 0.0 for kind in kinds] + [0.0]
    cost = [_cost(description, shop, remedy) for remedy in wanted]
    return Trying(
        np.array([*works, sound]),
        np.array([*cost, EXPLAIN_MINUTES * shop.rate]),
        min(shop.replace, shop.stop_value),
    )


def _is_sound(description: Description, kind: frozenset[str]) -> bool:
    return all(description.faults[f].kind == "normal" for f in kind)


def _works(description: Description, remedy: Remedy, kind: frozenset[str]) -> float:
    """Chance that a remedy ends the complaint, its share of it where another one is needed too."""
    # Cured only when every fault is, so the chances multiply
    own = [f for f in kind if f in remedy.faults]
    whole = float(np.prod([description.faults[f].cure for f in kind]))
    return whole * len(own) / len(kind) if own else 0.0


def _cost(description: Description, shop: Shop, remedy: Remedy) -> float:
    way = way_minutes(description.faults[remedy.faults[0]].access)
    return cost_of(shop, remedy) + way * shop.rate + (shop.trip if remedy.order else 0.0)
