"""A call packed for the pocket: machines with what checks show on them, and all that the kernel needs to advise without a server."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt

from tundish.appliance.possible import checks_of
from tundish.appliance.records import Check
from tundish.diagnosis.odds import Cloud, reach_of
from tundish.diagnosis.reading import Reading
from tundish.plan import pocket_head
from tundish.plan.cured import moved_by_pulling
from tundish.plan.lacking import present
from tundish.plan.pocket_draw import SIZE, Drawn, drawn
from tundish.plan.pocket_file import packed
from tundish.plan.pocket_kinds import Kinds, effects, kinds, pulled_out
from tundish.plan.pocket_left import Left
from tundish.plan.pocket_scale import Scale, scale_of
from tundish.plan.pocket_ways import Ways, ways
from tundish.plan.remedies import Remedy, remedies
from tundish.plan.shop import Shop
from tundish.plan.standing import Standing
from tundish.population.build import World

Arrays = dict[str, npt.NDArray[Any]]
# Healthy machines of the market by rank, for what something not described shows. Our choice: 4,000 gave no other odds.
HEALTHY = 500
FEW = 256


@dataclass(frozen=True, eq=False)
class Case:
    """What is packed. first : the cloud before any reading. now : after `readings`, regrown or not. standing : where the call stands.

    left : what the proof of a repair asks, where the machines are those as a repair left them.
    """

    place: World
    first: Cloud
    now: Cloud
    readings: Sequence[Reading]
    shop: Shop
    standing: Standing
    left: Left | None = None


def pack(case: Case, rng: np.random.Generator, *, size: int = SIZE) -> bytes:
    """The bytes of a packed call with about `size` machines.

    A phone cannot simulate what a repair leaves: machines as left are packed as such. The same case and generator give the same bytes.
    """
    description, checks = case.place.description, checks_of(case.place.description, case.place.market)
    picked = drawn(case.first, case.now, description.checks, case.readings, rng=rng, size=size)
    held = kinds(case.place, picked.population)
    log_prior = picked.log_prior[held.rows]
    cures = remedies(description, case.shop, {f for left in held.left for f in left})
    way = ways(case.place, case.shop, case.standing.safety, cures)
    shown = _shown(case, held, tuple(checks.values()))
    arrays: Arrays = {"prior": log_prior.astype("f4"), "kind": held.kind.astype("u2")}
    arrays |= shown.arrays | _done(case, held, log_prior, cures) | _walked(way)
    if case.left is not None:
        rows = picked.rows[held.rows]
        arrays |= {"w": case.left.works[rows].astype("f4"), "t": case.left.troubled[rows].astype("u1")}
    head = {
        **pocket_head.matter(case.place, picked.population.complaint, case.shop),
        **pocket_head.causes(description, held),
        "dangers": pocket_head.dangers(description),
        "log_unknown": float(max(picked.log_unknown, -1e9)),
        "machines": len(log_prior),
        "checks": _checks(case, picked, tuple(checks.values()), shown, way),
        "remedies": [pocket_head.remedy(description, case.shop, r, way.meeting(r.demands)) for r in cures],
        **pocket_head.walks(way, case.shop, case.standing.safety),
        "proof": pocket_head.proof(description, case.left),
    }
    return packed(head, arrays | _lawful(way))


@dataclass(frozen=True, eq=False)
class _Shown:
    scales: Mapping[str, Scale]
    arrays: Arrays


def _shown(case: Case, held: Kinds, checks: Sequence[Check]) -> _Shown:
    """What checks show, as numbers on their scales: s of machines, h of healthy ones by rank, o of those pulled out; l : who lacks it."""
    population = held.population
    at, outside = pulled_out(case.place, held)
    has = present(case.place, population, held.rows, checks)
    scales, arrays = dict[str, Scale](), Arrays()
    arrays["eased"] = at.astype("u2")
    for number, check in enumerate(checks):
        row = population.checks.index(check.id)
        seen, healthy = population.predicted[row][held.rows], population.healthy[row]
        scale = scale_of(check, np.concatenate([seen, healthy, outside[row]]))
        ranks = np.sort(healthy)[((np.arange(HEALTHY) + 0.5) / HEALTHY * len(healthy)).astype(int)]
        for name, values in (("s", seen), ("h", ranks), ("o", outside[row])):
            code = scale.code(check, values)
            arrays[f"{name}{number}"] = code.astype("u1") if scale.levels <= FEW else code
        if not has[check.id].all():
            arrays[f"l{number}"] = (~has[check.id]).astype("u1")
        scales[check.id] = scale
    return _Shown(scales, arrays)


def _checks(
    case: Case, picked: Drawn, checks: Sequence[Check], shown: _Shown, way: Ways
) -> list[dict[str, Any]]:
    going = moved_by_pulling(case.place.description)
    return [
        {
            **pocket_head.check(c, reach_of(case.first.population, c), shown.scales[c.id]),
            "demand": pocket_head.demand(way, c),
            "cost": pocket_head.money(c, case.shop),
            "goes": c.reads in going and "OUT" not in c.access,
        }
        for c in checks
    ]


def _done(case: Case, held: Kinds, log_prior: npt.NDArray[np.float64], cures: Sequence[Remedy]) -> Arrays:
    """What remedies do to kinds, a remedy's row after the other."""
    weight = np.exp(log_prior - log_prior.max())
    found = effects(case.place, case.shop, held, weight, cures)
    return {n: getattr(found, n).ravel().astype("f4") for n in ("works", "cures", "tolls")}


def _walked(way: Ways) -> Arrays:
    return {"moves": way.moves.ravel(), "useful": way.useful}


def _lawful(way: Ways) -> Arrays:
    """Where each demand is met, the lists one after the other; the head has their lengths."""
    return {"lawful": np.array([i for listed in way.lawful for i in listed], "u2")}
