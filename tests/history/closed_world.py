"""A world whose shares, cure chances and mistakes are not the shipped ones, and its closed calls."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from tundish.appliance.records import Description
from tundish.history.noisy import FAILED, USUAL
from tundish.history.outcome import First, Found, Money, Outcome
from tundish.history.tables import Beside, microseconds, moment_of
from tundish.population.hypotheses import shares

START = microseconds("2025-01-01T00:00:00.000Z")
DAY = 86_400_000_000
# Chance that a test is passed after a repair that cured, and after one that did not.
PASSES = (0.99, 0.2)
UNTIL = START + 400 * DAY


@dataclass(frozen=True)
class World:
    """What is true in it.

    described : the description with its shares and cures. looks : check -> (k, k) chance of each answer by true one.
    truths : (check, cause) -> (k,) chance of each true answer. proven : share of calls that end as proven.
    """

    described: Description
    complaints: tuple[str, ...]
    looks: Mapping[str, np.ndarray]
    truths: Mapping[tuple[str, str], np.ndarray]
    proven: float = 0.5


def other_shares(shipped: Description, rng: np.random.Generator, worth: float) -> Description:
    """The description with shares drawn around its own, worth so many calls, and cure chances drawn around theirs."""
    complaints = {}
    for name, one in shipped.complaints.items():
        listed = [cause for cause, share in one.shares.items() if share > 0]
        base = np.array([one.shares[cause] for cause in listed])
        drawn = np.maximum(rng.dirichlet(worth * base / base.sum()), 1e-9)
        complaints[name] = replace(one, shares=dict(zip(listed, drawn / drawn.sum(), strict=True)))
    faults = {
        id: replace(one, cure=float(rng.beta(50 * min(one.cure, 0.99), 50 * (1 - min(one.cure, 0.99)))))
        for id, one in shipped.faults.items()
    }
    return replace(shipped, complaints=complaints, faults=faults)


def calls(world: World, n: int, rng: np.random.Generator) -> Iterator[tuple[Outcome, Beside]]:
    """Closed calls: proven ones right with 0.97 or a little more, the others by honest odds; callbacks as the stated rates say."""
    description = world.described
    told_of = list(description.circumstances)[:3]
    # A few kinds of callers, so that shares are computed once for each
    kinds = [
        (name, age, tuple(word for word in told_of if rng.random() < 0.3))
        for name in world.complaints
        for age in (None, 1.0, 6.0, 14.0)
    ]
    tables = [shares(description, description.complaints[name], age, told) for name, age, told in kinds]
    for number in range(n):
        kind = int(rng.integers(len(kinds)))
        name, age, told = kinds[kind]
        causes, chance = list(tables[kind]), np.array(list(tables[kind].values()))
        yield _call(world, (f"c{number:07d}", name, age, told), dict(zip(causes, chance, strict=True)), rng)


def _call(world: World, what: tuple, share: dict[str, float], rng: np.random.Generator) -> tuple[Outcome, Beside]:
    id, name, age, told = what
    causes, chances = list(share), np.array(list(share.values()))
    named, other = (causes[place] for place in rng.choice(len(causes), 2, p=chances))
    proven = bool(rng.random() < world.proven)
    # Known with `sure`, else anything by the shares: then a cause named is there with just the chance that is stated
    sure = 0.97 if proven else float(rng.uniform(0.5, 0.95))
    cause = named if rng.random() < sure else other
    chance = sure + (1 - sure) * share[named]
    right = cause == named and rng.random() < world.described.faults[named].cure
    lift, second = _tested(right, rng)
    ended = START + int(rng.random() * 400) * DAY
    back = rng.random() < (USUAL.right if right else USUAL.wrong)
    came = ended + int(rng.uniform(0, 30) * DAY) // 1000 * 1000
    checks = tuple(
        (check, _answer(world, check, cause, rng), 0) for check in world.looks if (check, cause) in world.truths
    )
    outcome = Outcome(
        call=id, family=world.described.family, market="EU", complaint=name, age=age, circumstances=told, denied=(),
        ended="proven" if proven else "unproven", opened_at=moment_of(ended - DAY), ended_at=moment_of(ended), days=0.0,
        called_back=back, stated={named: chance}, causes=(Found(named, "proven" if proven else "unproven", chance),),
        checks=checks, repairs=((named, float(rng.lognormal(3.4, 0.4))), *((other, None) for _ in range(second))),
        parts=(("pump", named, 1),),
        visits=int(rng.integers(1, 3)), minutes=float(rng.uniform(20, 90)), asked=60.0,
        money=Money("EUR", int(rng.integers(5_000, 20_000)), 5_000, 1_000, int(rng.integers(2)) * 500),
        quoted=True, refused=bool(rng.random() < 0.2), callback_of="", first=First(named, chance, lift),
    )  # fmt: skip
    return outcome, Beside(moment_of(came) if back else "", "", _paid(world.described, named, rng))


def _paid(description: Description, fault: str, rng: np.random.Generator) -> float | None:
    """A part costs 1.5 times what shipped, spread by a tenth; one price in fifty is mistyped by a factor of a hundred."""
    low, high = description.faults[fault].price.get("EUR", (0.0, 0.0))
    typed = 100.0 if rng.random() < 0.02 else 1.0
    return float((low * high) ** 0.5 * 1.5 * rng.lognormal(0, 0.1) * typed) if low > 0 else None


def _tested(right: bool, rng: np.random.Generator) -> tuple[float, bool]:
    """Half of the repairs are tested. Returns what that says of the repair, and whether another had to follow."""
    if rng.random() < 0.5:
        return 0.0, False
    if rng.random() < (PASSES[0] if right else PASSES[1]):
        return float(np.log(PASSES[0] / PASSES[1])), False
    # Every other one that failed is repaired once more on the spot
    second = bool(rng.random() < 0.5)
    return (FAILED if second else float(np.log((1 - PASSES[0]) / (1 - PASSES[1])))), second


def seen_at(pair: tuple[Outcome, Beside], until: int) -> Outcome:
    """The call as it was known at a moment."""
    outcome, beside = pair
    back = microseconds(beside.back) if beside.back else None
    known = back is not None and back <= until
    last = back if known and back is not None else until
    return replace(outcome, days=max((last - microseconds(outcome.ended_at)) / DAY, 0.0), called_back=known)


def _answer(world: World, check: str, cause: str, rng: np.random.Generator) -> str:
    truth = world.truths[check, cause]
    true = rng.choice(len(truth), p=truth)
    named = rng.choice(len(truth), p=world.looks[check][true])
    return world.described.checks[check].answers[named].name
