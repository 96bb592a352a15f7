"""Makes tests/web/vectors: small packed calls, readings, and what the kernel in Python says of them.

    python -m tools.pocket_vectors

Both kernels must say the same of these files. They are frozen: make them anew only when the file's layout changes or the reckoning is
meant to change, and look at what became different.
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np

from tundish.appliance.records import Check
from tundish.diagnosis.likelihood import noise
from tundish.diagnosis.odds import Cloud, start
from tundish.diagnosis.reading import NOT_THERE, Reading
from tundish.plan.demands import water_of
from tundish.plan.pocket import Case, pack
from tundish.plan.pocket_kernel import Pocket, expected, misfit, odds, opened, weigh
from tundish.plan.pocket_next import Place, board
from tundish.plan.shop import shop_for
from tundish.plan.standing import Standing
from tundish.plan.states import Safety
from tundish.population.build import build, world
from tundish.store import library
from tundish.store.desk import Matter, prior_of

FOLDER = Path(__file__).parents[1] / "tests" / "web" / "vectors"
CALLS = (("front load washer", "EU", "SLOW"), ("dryer", "EU", "NOHEAT230"))
MACHINES, CASES, SEED = 700, 18, 9


def case_of(family: str, market: str, complaint: str, *, size: int) -> Case:
    """A call before any reading, of a machine nine years old."""
    description = library.load(family)
    place = world(description, market)
    population = build(place, complaint, size, SEED)
    matter = Matter(family, market, complaint, 9.0, ())
    prior = prior_of(description, description.complaints[complaint], matter, population.hypotheses)
    cloud = start(population, prior)
    standing = Standing(safety=Safety(water=water_of(description)))
    return Case(place, cloud, cloud, (), shop_for(description.markets[market]), standing)


def read_on(check: Check, cloud: Cloud, machine: int, rng: np.random.Generator) -> Reading:
    """What somebody would read at a check on a machine; now and then a bound."""
    shown = noise(check, cloud.population.row(check.id)[machine : machine + 1], rng)[0]
    if check.is_look:
        return Reading(check.id, answer=check.answers[int(shown)].name)
    bound = str(rng.choice(["exact", "exact", "exact", "above", "below"])) if math.isfinite(shown) else "exact"
    return Reading(check.id, value=float(shown), bound=bound)


def told_of(pocket: Pocket, readings: Sequence[Reading], place: Place) -> dict[str, Any]:
    """What the kernel says."""
    weighed = weigh(pocket, readings)
    found, fit, shown = odds(weighed), misfit(weighed), board(weighed, place)
    asked = sorted(pocket.checks)[:: max(1, len(pocket.checks) // 6)]
    bands = {name: expected(weighed, name) for name in asked}
    return {
        "readings": [
            {"check": r.check, "value": _plain(r.value), "answer": r.answer, "bound": r.bound} for r in readings
        ],
        "place": {"state": place.state, "parts": sorted(place.parts)},
        "odds": {"causes": dict(found.causes), "nothing": found.nothing, "unknown": found.unknown},
        "evidence": weighed.evidence,
        "effective": found.effective,
        "misfit": {"alarm": fit.alarm, "worst": fit.worst, "fits": {f.check: f.chance for f in fit.fits}},
        "expected": {
            n: {"low": _plain(b.low), "middle": _plain(b.middle), "high": _plain(b.high), "over": b.over, "answers": dict(b.answers)}
            for n, b in bands.items()
        },
        "options": [{"kind": o.kind, "what": o.what, "at": o.at, "own": o.own, "promise": o.promise} for o in shown.options],
        "halt": bool(shown.halt),
    }  # fmt: skip


def _plain(value: float | None) -> float | str | None:
    return "over" if value is not None and math.isinf(value) else value


def cases(made: Case, pocket: Pocket, number: int, rng: np.random.Generator) -> list[dict[str, Any]]:
    """Random readings of one machine each, none to five, in random states; some taken twice, some not possible."""
    cloud, checks, out = made.first, made.place.description.checks, []
    weight = np.exp(cloud.log_weight) / np.exp(cloud.log_weight).sum()
    states = pocket.head["states"]
    for count in range(number):
        machine = int(rng.choice(cloud.population.size, p=weight))
        asked = rng.choice(sorted(pocket.checks), count % 6, replace=False).tolist()
        readings = [read_on(checks[c], cloud, machine, rng) for c in asked]
        # A check taken twice repeats its error; a thing that is missing is said so
        readings += [read_on(checks[c], cloud, machine, rng) for c in asked[:1]]
        lacking = [c for c, s in pocket.checks.items() if s.lacks is not None and c not in asked]
        if count % 4 == 3 and lacking:
            readings.append(Reading(lacking[count % len(lacking)], answer=NOT_THERE))
        state = "" if count % 3 == 0 else str(rng.choice(states))
        needed = [r["faults"][0] for r in pocket.head["remedies"] if r["order"]]
        parts = frozenset(needed[:1] if count % 2 else [])
        out.append(told_of(pocket, readings, Place(state, parts)))
    return out


def main() -> None:
    """Write the files."""
    FOLDER.mkdir(parents=True, exist_ok=True)
    for family, market, complaint in CALLS:
        made = case_of(family, market, complaint, size=4_000)
        file = pack(made, np.random.default_rng(SEED), size=MACHINES)
        name = family.replace(" ", "_")
        (FOLDER / f"{name}.pack").write_bytes(file)
        pocket = opened(file)
        told = {"pack": f"{name}.pack", "cases": cases(made, pocket, CASES, np.random.default_rng(SEED))}
        text = json.dumps(told, indent=None, allow_nan=False, sort_keys=True)
        (FOLDER / f"{name}.json").write_text(text + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
