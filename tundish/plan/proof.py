"""What proves a repair: the machine as it is left, the cheapest checks that would show a cause still there, what they should read."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np

from tundish.appliance.records import Check
from tundish.diagnosis.expect import Expected, after_repair, expected
from tundish.diagnosis.likelihood import exceeds
from tundish.diagnosis.odds import UNKNOWN_LIKE_HEALTHY, Cloud
from tundish.plan.change import Floats
from tundish.plan.cured import complains, drawn_with, shown_by
from tundish.plan.demands import demands_of_check, refused, water_of
from tundish.plan.hidden import afterwards, sleeps
from tundish.plan.lawful_checks import Demand
from tundish.plan.remedies import check_minutes
from tundish.plan.samples import faults_of
from tundish.plan.shop import Shop
from tundish.plan.standing import Standing
from tundish.plan.states import Safety
from tundish.plan.troubling import anything_left, troubled
from tundish.population.build import World

# Machines that stand for the machine as left. Our choice.
STANDING_FOR = 1_000
# Codes of checks taken as the customer uses the machine.
AS_USED = frozenset({"FILL", "RUN", "STAT", "PWR"})
# Of these, those in which the machine does its work.
RUNNING = frozenset({"FILL", "RUN"})
# Of a good machine's readings this share lies in the band asked for, [-].
BAND = (0.05, 0.95)
# A check shows the fault when at most this share of the complaining machines reads inside the good band. Our choice.
WOULD_PASS = 0.5
# Checks looked at together, and most asked for. Our choice.
TOGETHER, MOST = 8, 3
# Most checks asked for to settle whether a second, mild cause is left. Our choice.
MOST_TO_SETTLE = 6


@dataclass(frozen=True)
class Proof:
    """How a repair is proven.

    checks : to be read as used, in their order; none when nothing needs to be or can be read. predicted : what each should
    read once cured. before, left : chance that a cause is left now, and once all of them read as they should.
    proven : whether `left` is within the shop's limit. cost, minutes : of the checks. showing : every check as used, read or
    not, that would have shown the fault.
    """

    checks: tuple[str, ...]
    predicted: Mapping[str, Expected]
    before: float
    left: float
    proven: bool
    cost: float
    minutes: float
    showing: tuple[str, ...] = ()


def as_left(
    place: World, cloud: Cloud, faults: Sequence[str], rng: np.random.Generator, *, works: bool | None
) -> Cloud:
    """The cloud of the machine as a repair of these faults left it.

    Each fault that is there is cured with its own chance; the readings taken before still count, new ones are weighed on
    what the machine shows now. works : whether the complaint was gone at the test, None when it was not tried.
    Machines as left are never regrown: they are no draws of their hypothesis any more.
    """
    population, weight, unknown = cloud.population, *_shares(cloud)
    rows, was, left, share = _outcomes(place, cloud, faults, _standing(place, cloud, weight, faults, rng))
    chance = _works(place, cloud, rows, was, left) if works is not None else np.ones(len(rows))
    drawn = drawn_with(place, population, rows, left, found=True)
    names = [population.faults[s] for s in population.stratum[rows]]
    gone = [[f in w - keep for f in slots] for slots, w, keep in zip(names, was, left, strict=True)]
    after = replace(
        population,
        stratum=population.stratum[rows],
        latent=population.latent[rows],
        present=population.present[rows] & ~np.array(gone, dtype=np.bool_),
        predicted=shown_by(place, drawn, population.checks),
    )
    seen = chance if works is not False else 1.0 - chance
    with np.errstate(divide="ignore"):
        log_weight = np.log(seen) + np.log(share * (1.0 - unknown))
        log_unknown = -np.inf if works else float(np.log(unknown))
    return Cloud(after, log_weight, log_unknown)


def _outcomes(
    place: World, cloud: Cloud, faults: Sequence[str], standing: tuple[np.ndarray, Floats]
) -> tuple[np.ndarray, list[frozenset[str]], list[frozenset[str]], Floats]:
    """Every machine with every outcome of the repair: rows, faults before and after, and the share of each."""
    rows, share = standing
    remedy = tuple(faults)
    out = [
        (row, was, left, s * chance)
        for row, was, s in zip(
            rows.tolist(), faults_of(place, cloud.population, rows), share.tolist(), strict=True
        )
        for left, chance in afterwards(place.description, was, remedy)
    ]
    row, was, left, shares = zip(*out, strict=True)
    return np.array(row, dtype=np.intp), list(was), list(left), np.array(shares)


def _standing(
    place: World, cloud: Cloud, weight: Floats, faults: Sequence[str], rng: np.random.Generator
) -> tuple[np.ndarray, Floats]:
    """Machines that stand for the cloud, with the share each has: half of them drawn from those the repair cannot cure.

    When it fails, these are nearly all that is left; drawn by weight alone they would be too few to plan with.
    """
    every = faults_of(place, cloud.population, np.arange(len(weight)))
    beyond = np.array([not f <= set(faults) or not f for f in every]) * weight
    drawn = weight / weight.sum()
    if beyond.sum() > 0:
        drawn = (drawn + beyond / beyond.sum()) / 2
    edges = np.cumsum(drawn)
    at = (np.arange(STANDING_FOR) + rng.random()) / STANDING_FOR * edges[-1]
    picked = np.minimum(np.searchsorted(edges, at, side="right"), len(weight) - 1)
    # A machine drawn often is held once: many copies of one would look like many that agree
    rows, times = np.unique(picked, return_counts=True)
    share = times * weight[rows] / drawn[rows]
    return rows, np.asarray(share / share.sum())


def _works(
    place: World,
    cloud: Cloud,
    rows: np.ndarray,
    was: Sequence[frozenset[str]],
    left: Sequence[frozenset[str]],
) -> Floats:
    """Chance that each machine works at the test."""
    complaint = place.description.complaints[cloud.population.complaint]
    drawn = drawn_with(place, cloud.population, rows, left, found=False)
    shows = complains(place, drawn, complaint)
    out = np.zeros(len(rows))
    for i, (before, after) in enumerate(zip(was, left, strict=True)):
        if not after:
            # What was not wrong before is as it was: its user still complains
            out[i] = 1.0 if before else 0.0
        else:
            out[i] = sleeps(place.description, after) if shows[i] or after == before else 1.0
    return out


@dataclass(frozen=True, eq=False)
class _Stake:
    """What a set of checks is judged by. passes : (checks, m) P(in the good band | machine). weight, sick : (m,).

    price : (checks,) money. showing : those that would have shown the fault; one of them must be in, if there is any.
    """

    passes: Floats
    weight: Floats
    sick: np.ndarray
    price: Floats
    showing: tuple[int, ...]
    limit: float

    def left(self, picked: Sequence[int]) -> float:
        """Chance that a cause is left when the picked checks read as they should."""
        after = self.weight * np.prod(self.passes[list(picked)], axis=0) if len(picked) else self.weight
        return float(after[self.sick].sum() / max(after.sum(), 1e-300))


def prove(
    place: World,
    cloud: Cloud,
    shop: Shop,
    standing: Standing,
    faults: Sequence[str],
    rng: np.random.Generator,
    *,
    shown: bool = False,
    sick: np.ndarray | None = None,
) -> Proof:
    """The cheapest checks, as used, after which a cause is left with no more than the shop's chance.

    cloud : of the machine as left (`as_left`), weighed by the readings since the repair. faults : those repaired; one of the
    checks must be one that would have shown them. shown : such a one was read already. sick : (m,) which machines have a
    cause left, where the caller worked it out.
    Greedy first; of the best checks every small set is then tried, and the cheapest kept. Unproven when none will do. Where
    nothing as used would have shown the fault, a passed test stands for it.
    """
    weight, unknown = _shares(cloud)
    well = weight * ~anything_left(place, cloud.population)
    sick = troubled(place, cloud.population, faults) if sick is None else sick
    # A family without a tap is used with no water on it
    used = Safety(water=water_of(place.description))
    every = [c for c in place.description.checks.values() if _as_used(c, used, shop)]
    # Those that the repair did not cure show what a check reads when it failed, whatever they weigh now
    failed = _having(place, cloud, faults)
    table, fair = _passes(cloud, every, well, failed)
    telling = [c for c, f in zip(every, fair, strict=True) if f <= WOULD_PASS]
    unread = [i for i, c in enumerate(every) if c.id not in standing.read]
    checks = [every[i] for i in unread]
    price = np.array([check_minutes(c.minutes, c.access) * shop.rate for c in checks])
    showing = () if shown else _best_showing(checks, [fair[i] for i in unread])
    stake = _Stake(
        table[unread], np.append(weight, unknown), np.append(sick, True), price, showing, shop.limit
    )
    before = stake.left([])
    # Only a reading that the fault would have spoilt proves it; without one the others prove nothing either
    open_still = bool(showing) or (shown and before > shop.limit)
    picked = _cheapest(stake) if open_still else []
    left, cost = stake.left(picked), float(price[picked].sum())
    looked_at = shown or bool(showing) or (not telling and standing.works is True)
    ids = [checks[i].id for i in picked]
    return Proof(
        checks=tuple(ids),
        predicted=_predicted(place, cloud, ids, well, rng),
        before=before,
        left=left,
        proven=looked_at and standing.works is not False and left <= shop.limit,
        cost=cost,
        minutes=cost / shop.rate,
        showing=tuple(c.id for c in telling),
    )


def settle(
    place: World,
    cloud: Cloud,
    shop: Shop,
    standing: Standing,
    sick: np.ndarray,
    *,
    given: Sequence[str],
) -> tuple[tuple[str, ...], float]:
    """Checks that settle what else is left, and the chance that a cause is left once they and those given read as they should.

    sick : (m,) which machines have a cause left. Any check that somebody who is not qualified may take, in whatever state of
    the machine: a second cause may show where it sits rather than in use. Greedy by how much less is left for the money; none
    where nothing helps.
    """
    weight, unknown = _shares(cloud)
    well = weight * ~anything_left(place, cloud.population)
    every = [
        check
        for check in place.description.checks.values()
        if not (check.live or check.requires) and (check.id in given or check.id not in standing.read)
    ]
    table, _ = _passes(cloud, every, well, np.zeros(len(sick), dtype=np.bool_))
    price = np.array([check.minutes * shop.rate for check in every])
    stake = _Stake(table, np.append(weight, unknown), np.append(sick, True), price, (), shop.limit)
    first = [i for i, check in enumerate(every) if check.id in given]
    picked: list[int] = []
    while stake.left([*first, *picked]) > stake.limit and len(picked) < MOST_TO_SETTLE:
        now = stake.left([*first, *picked])
        rest = [i for i in range(len(every)) if i not in (*first, *picked)]
        gains = [np.log(now / max(stake.left([*first, *picked, i]), 1e-12)) / price[i] for i in rest]
        if not rest or max(gains) <= 1e-6:
            break
        picked.append(rest[int(np.argmax(gains))])
    return tuple(every[i].id for i in picked), stake.left([*first, *picked])


def _best_showing(checks: Sequence[Check], fair: Sequence[float]) -> tuple[int, ...]:
    """Of the checks that show the fault, the best kind there is.

    A handle that stands right is no proof: the machine must do what it did not do, and a number is kept beside the first.
    """
    showing = tuple(i for i, f in enumerate(fair) if f <= WOULD_PASS)
    running = tuple(i for i in showing if checks[i].state in RUNNING)
    return tuple(i for i in running if not checks[i].is_look) or running or showing


def taken_as_used(check: Check) -> bool:
    """Whether a check can be taken as the customer uses the machine: closed, powered or with water, nothing moved.

    A thermometer laid in a machine that runs counts too, though it asks for no state of its own.
    """
    laid_in = check.state == "NONE" and check.instrument is not None
    laid_in = laid_in and check.instrument is not None and check.instrument.dimension == "temperature"
    used = check.state in AS_USED or laid_in
    return used and not check.live and not set(check.access) - {"EXT"}


def as_customer_uses(demands: Iterable[Demand]) -> tuple[Demand, ...]:
    """What a check demands when it is to prove something: the machine in its place, and on where it asks for nothing."""
    return tuple(replace(d, code="RUN" if d.code == "NONE" else d.code, place="in place") for d in demands)


def _as_used(check: Check, used: Safety, shop: Shop) -> bool:
    """Whether a check may be taken with the machine as the customer uses it, running or ready."""
    return (
        taken_as_used(check)
        and not check.requires
        and not refused(demands_of_check(check), used, who=shop.who)
    )


def _having(place: World, cloud: Cloud, faults: Sequence[str]) -> np.ndarray:
    left = faults_of(place, cloud.population, np.arange(cloud.population.size))
    return np.array([not f.isdisjoint(faults) for f in left])


def _passes(
    cloud: Cloud, checks: Sequence[Check], good: Floats, failed: np.ndarray
) -> tuple[Floats, list[float]]:
    """P(reading inside the good band | machine), (checks, m + 1) with the undescribed last, and the share of machines
    whose repair failed that would pass."""
    population, table, fair = cloud.population, [], []
    well = good.sum() > 0
    for check in checks:
        row, sound = population.row(check.id), population.healthy[population.checks.index(check.id)]
        shown, share = (row, good / good.sum()) if well else (sound, np.full(len(sound), 1.0 / len(sound)))
        inside = _inside(check, shown, share)
        own = inside(row)
        like = float(inside(sound).mean())
        table.append(np.append(own, UNKNOWN_LIKE_HEALTHY * like + (1.0 - UNKNOWN_LIKE_HEALTHY) * WOULD_PASS))
        fair.append(float(own[failed].mean()) if failed.any() else 1.0)
    return np.array(table).reshape(len(checks), population.size + 1), fair


def _inside(check: Check, shown: np.ndarray, share: Floats) -> _Band:
    return _Band(check, *_band(check, shown, share))


@dataclass(frozen=True)
class _Band:
    """Chance to read inside a band, or to name one of the good answers."""

    check: Check
    low: float
    high: float
    answers: tuple[int, ...]

    def __call__(self, shown: np.ndarray) -> Floats:
        if self.check.is_look:
            return _answered(self.check, shown, self.answers)
        good = exceeds(self.check, shown, self.low) - exceeds(self.check, shown, self.high)
        return np.asarray(np.clip(good, 0.0, 1.0))


def _band(check: Check, shown: np.ndarray, share: Floats) -> tuple[float, float, tuple[int, ...]]:
    if check.is_look:
        count = np.bincount(shown.astype(int), weights=share, minlength=len(check.answers))
        return 0.0, 0.0, tuple(np.flatnonzero(count >= BAND[0]).tolist())
    order = np.argsort(shown, kind="stable")
    reached = np.cumsum(share[order])
    low, high = (float(shown[order[min(int(np.searchsorted(reached, q)), len(order) - 1)]]) for q in BAND)
    return low * (1 - 2 * check.model) - _blur(check), high * (1 + 2 * check.model) + _blur(check), ()


def _blur(check: Check) -> float:
    """Two sigma of the instrument's absolute error: the band is one of readings, not of true values."""
    return 2.0 * check.instrument.absolute if check.instrument else 0.0


def _answered(check: Check, shown: np.ndarray, answers: Sequence[int]) -> Floats:
    names = [a.name for a in check.answers]
    table = []
    for true in names:
        wrong = check.mistakes.get(true, {})
        row = [1.0 - sum(wrong.values()) if n == true else wrong.get(n, 0.0) for n in names]
        table.append(sum(row[a] for a in answers))
    return np.asarray(np.array(table)[np.clip(shown.astype(int), 0, len(names) - 1)], dtype=np.float64)


def _cheapest(stake: _Stake) -> list[int]:
    """The cheapest set with a check that shows the fault whose passing leaves at most the limit; the greedy one if none does."""
    greedy = _greedy(stake)
    best = greedy if stake.left(greedy) <= stake.limit else []
    alone = [stake.left([i]) for i in range(len(stake.passes))]
    among = sorted(range(len(stake.passes)), key=lambda i: (alone[i], stake.price[i]))[:TOGETHER]
    # Those that show the fault must be among them, however little they tell about second causes
    among += [i for i in stake.showing if i not in among][:TOGETHER]
    for size in range(1, MOST + 1):
        for some in map(list, combinations(among, size)):
            good = not stake.showing or not set(stake.showing).isdisjoint(some)
            cheaper = not best or stake.price[some].sum() < stake.price[best].sum() - 1e-9
            if good and cheaper and stake.left(some) <= stake.limit:
                best = some
    return sorted(best or greedy)


def _greedy(stake: _Stake) -> list[int]:
    """Checks by how much less is left for their money, the first of them one that shows the fault."""
    picked: list[int] = []
    while len(picked) < MOST and (not picked or stake.left(picked) > stake.limit):
        now = stake.left(picked)
        # Where nothing shows the fault any more, one that did was read already
        first = stake.showing or range(len(stake.passes))
        rest = [i for i in (range(len(stake.passes)) if picked else first) if i not in picked]
        gains = [
            np.log(max(now, 1e-12) / max(stake.left([*picked, i]), 1e-12)) / stake.price[i] for i in rest
        ]
        if not rest or (picked and max(gains) <= 1e-6):
            break
        picked.append(rest[int(np.argmax(gains))])
    return picked


def _predicted(
    place: World, cloud: Cloud, ids: Sequence[str], good: Floats, rng: np.random.Generator
) -> dict[str, Expected]:
    """What the checks should read on this machine once nothing is left."""
    if good.sum() <= 0:
        return {}
    picked = rng.choice(len(good), size=STANDING_FOR, p=good / good.sum())
    checks = place.description.checks
    return {c: expected(checks[c], cloud.population.row(c)[picked], rng) for c in ids}


def predicted_after(
    place: World, cloud: Cloud, faults: Sequence[str], checks: Sequence[str], rng: np.random.Generator
) -> dict[str, Expected]:
    """What checks should read once these faults are cured, said before the repair. cloud : as found."""
    shown = after_repair(place, cloud, tuple(faults), tuple(checks), rng)
    return {c: expected(place.description.checks[c], row, rng) for c, row in shown.items()}


def _shares(cloud: Cloud) -> tuple[Floats, float]:
    top = max(float(cloud.log_weight.max(initial=-np.inf)), cloud.log_unknown)
    weight, unknown = np.exp(cloud.log_weight - top), float(np.exp(cloud.log_unknown - top))
    total = float(weight.sum()) + unknown
    return weight / total, unknown / total
