"""What learning is worth: the same simulated calls of another region, begun with shipped, learned and true shares.

The region is told in words first and not tuned: hard water, old pipes, careless installers, careful users. By that, shares of causes
are multiplied by 4, by 1/4 or left, and made to sum to one again. Closed calls of all complaints are simulated there and learned
from; then calls whose machines and reading noise do not depend on the belief (common random numbers) are worked with each belief.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from tundish.appliance.records import Check, Complaint, Description
from tundish.diagnosis.likelihood import noise
from tundish.diagnosis.odds import Cloud, odds, start, weigh
from tundish.diagnosis.reading import Reading
from tundish.history.counted import Rows, taught_by
from tundish.history.learned import with_shares
from tundish.history.noisy import USUAL, right_after
from tundish.plan.rivals import ours
from tundish.plan.shop import shop_for
from tundish.plan.simulated import Bench, Bill
from tundish.plan.trial import figure, played
from tundish.population.build import Population, build, world
from tundish.population.hypotheses import priors, shares
from tundish.store.library import load

FAMILY, SEED = "front-load washer", 77
BELIEFS = ("shipped", "learned", "known")
# Causes of these kinds are so many times as common there; our choice, "differs 3 to 5 times" either way.
TIMES = {"install": 4.0, "house": 4.0, "user": 0.25, "wear": 1.0, "normal": 1.0}
HARD_WATER, HARD = "hard water", 4.0
# Share of closed calls that end as proven, and the chance that a proven cause was the right one.
PROVEN, SURE = 0.5, 0.97
# Readings after which a score is taken once more.
TAKEN = 3


def region(shipped: Description) -> Description:
    """The description with the shares of the region."""
    scale = {fault for fault, times in shipped.circumstances[HARD_WATER].times.items() if times > 1}

    def there(complaint: Complaint) -> Complaint:
        raw = {
            fault: share * (HARD if fault in scale else TIMES[shipped.faults[fault].kind])
            for fault, share in complaint.shares.items()
        }
        whole = sum(raw.values())
        return replace(complaint, shares={fault: share / whole for fault, share in raw.items()})

    return replace(shipped, complaints={name: there(one) for name, one in shipped.complaints.items()})


def closed_calls(there: Description, calls: int, rng: np.random.Generator) -> list[dict[str, object]]:
    """Weighted counts of closed calls as an engine gives them. Half are unproven, their stated chance honest; causes named wrongly
    are others of the same complaint; callbacks come as stated, ages and circumstances differ."""
    told_of = list(there.circumstances)[:3]
    held: dict[tuple[object, ...], float] = {}
    for name, complaint in there.complaints.items():
        for _ in range(calls // len(there.complaints)):
            age = (None, 1.0, 6.0, 14.0)[rng.integers(4)]
            told = tuple(word for word in told_of if rng.random() < 0.3)
            share = shares(there, complaint, age, told)
            causes, chance = list(share), np.array(list(share.values()))
            named, other = rng.choice(len(causes), 2, p=chance)
            sure = SURE if rng.random() < PROVEN else float(rng.uniform(0.5, 0.95))
            right = bool(rng.random() < sure) or other == named
            back = bool(rng.random() < (USUAL.right if right else USUAL.wrong))
            weight = right_after(float(sure + (1 - sure) * chance[named]), called_back=back)
            key = (name, age, "|".join(told), causes[named])
            held[key] = held.get(key, 0.0) + weight
    words = ("complaint", "age", "told", "cause")
    return [
        {"family": there.family, **dict(zip(words, key, strict=True)), "weight": weight} for key, weight in held.items()
    ]


def beliefs(shipped: Description, name: str, calls: int = 20_000) -> dict[str, Complaint]:
    """The complaint as it shipped, as learned from the region's calls, and as it truly is there."""
    there = region(shipped)
    taught = taught_by(Rows(closed_calls(there, calls, np.random.default_rng(SEED)), (), ()), shipped)
    mine = shipped.complaints[name]
    return {"shipped": mine, "learned": with_shares(mine, taught), "known": there.complaints[name]}


@dataclass(frozen=True)
class Stand:
    """What the calls of a complaint share. mine, truth : the tool's machines and those of the calls. chances : belief -> chance of
    each hypothesis of `mine`. prior : the same of `truth`, as it is there."""

    benches: Mapping[str, Bench]
    mine: Population
    truth: Population
    chances: Mapping[str, list[float]]
    prior: list[float]


def stand(shipped: Description, name: str, machines: int) -> Stand:
    """Machines of a complaint, and the three beliefs."""
    market = next(iter(shipped.markets))
    place, shop = world(shipped, market), shop_for(shipped.markets[market])
    mine, truth = build(place, name, machines, SEED), build(place, name, machines, SEED + 1)
    known = beliefs(shipped, name)

    def chances(record: Complaint, drawn: Population) -> list[float]:
        return priors(drawn.hypotheses, record, shares(shipped, record, None, ()))

    prior = chances(known["known"], truth)
    by_belief = {belief: chances(record, mine) for belief, record in known.items()}
    benches = {belief: Bench(place, shop, start(mine, chance), truth, prior, SEED) for belief, chance in by_belief.items()}
    return Stand(benches, mine, truth, by_belief, prior)


def bills(complaints: Sequence[str], calls: int, machines: int, first: int = 0) -> Iterator[tuple[str, int, dict[str, Bill]]]:
    """Complaint, number and bill by belief, call by call through all complaints, so that a trial cut short is still in pairs.

    first : number of the first call; calls of other numbers are other calls.
    """
    shipped = load(FAMILY)
    stands = {name: stand(shipped, name, machines) for name in complaints}
    for number in range(first, first + calls):
        for name, one in stands.items():
            yield name, number, {belief: played(made, number, ours()) for belief, made in one.benches.items()}


def costs(found: Sequence[tuple[str, int, Mapping[str, Bill]]]) -> Iterator[dict[str, object]]:
    """A row by complaint and belief, then all complaints together: mean cost, paired differences, first visits."""
    for name in (*dict.fromkeys(one for one, _, _ in found), "all"):
        mine = [held for one, _, held in found if name in (one, "all")]
        cost = {belief: np.array([held[belief].cost for held in mine]) for belief in BELIEFS}
        for belief in BELIEFS:
            yield {
                "complaint": name, "belief": belief, "calls": len(mine), "cost": _shown(cost[belief]),
                "above known": _shown(cost[belief] - cost["known"]), "below shipped": _shown(cost["shipped"] - cost[belief]),
                "first visit": round(float(np.mean([held[belief].settled for held in mine])), 3),
            }  # fmt: skip


def log_scores(name: str, calls: int, machines: int, taken: int = TAKEN) -> dict[tuple[str, int], np.ndarray]:
    """(belief, readings taken) -> (calls,) log score of the truth: before a reading, and after some drawn ones, the same for all.

    A wrong prior costs its Kullback-Leibler divergence before any reading; readings wash some of it out.
    """
    shipped = load(FAMILY)
    one = stand(shipped, name, machines)
    found: dict[tuple[str, int], list[float]] = {(belief, at): [] for at in (0, taken) for belief in BELIEFS}
    clouds = {belief: start(one.mine, chance) for belief, chance in one.chances.items()}
    before = {belief: np.log(np.array(chance)) for belief, chance in one.chances.items()}
    checks = [check for check in shipped.checks.values() if check.id in one.truth.checks and not check.requires]
    for number in range(calls):
        rng = np.random.default_rng([SEED, number])
        # A machine whose hypothesis the tool has too; one that is not described has no machines to read
        row = _machine(one, rng)
        which = one.truth.hypotheses[int(one.truth.stratum[row])]
        place = one.mine.hypotheses.index(which)
        readings = [_read(one.truth, checks[at], row, rng) for at in rng.choice(len(checks), taken, replace=False)]
        for belief in BELIEFS:
            found[belief, 0].append(float(before[belief][place]))
            found[belief, taken].append(_log_chance(clouds[belief], shipped, readings, place))
    return {key: np.array(held) for key, held in found.items()}


def scores(name: str, calls: int, machines: int) -> Iterator[dict[str, object]]:
    """A row by belief and readings taken, with paired differences."""
    found = log_scores(name, calls, machines)
    for (belief, at), held in found.items():
        yield {
            "complaint": name, "belief": belief, "readings": at, "calls": calls, "log score": _shown(held, 3),
            "above shipped": _shown(held - found["shipped", at], 3), "below known": _shown(found["known", at] - held, 3),
        }  # fmt: skip


def _machine(one: Stand, rng: np.random.Generator) -> int:
    chance = np.array(one.prior)
    shared = np.array([h in one.mine.hypotheses for h in one.truth.hypotheses])
    there = np.bincount(one.truth.stratum, minlength=len(chance)) > 0
    chance = chance * shared * there
    which = int(rng.choice(len(chance), p=chance / chance.sum()))
    return int(rng.choice(np.flatnonzero(one.truth.stratum == which)))


def _read(truth: Population, check: Check, row: int, rng: np.random.Generator) -> Reading:
    value = float(noise(check, truth.row(check.id)[row : row + 1].astype(np.float32), rng)[0])
    if check.is_look:
        return Reading(check.id, answer=check.answers[int(value)].name)
    return Reading(check.id, value)


def _log_chance(cloud: Cloud, shipped: Description, readings: Sequence[Reading], place: int) -> float:
    # A hypothesis with no machine near the readings has the chance 0 by the tool; its score is kept finite
    return float(np.log(max(odds(weigh(cloud, shipped.checks, readings)).chance[place], 1e-6)))


def _shown(values: np.ndarray, digits: int = 1) -> str:
    held = figure(values) if values.any() else figure([0.0, 0.0])
    return f"{held.mean:.{digits}f} ({held.low:.{digits}f} to {held.high:.{digits}f})"
