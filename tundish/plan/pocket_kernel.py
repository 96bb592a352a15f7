"""The call in the pocket, reckoned without a server: odds, expected readings, misfit. `web/static/kernel.js` does the same on a phone.

A check's likelihood is worked out once for each number its scale has, then looked up for every machine. It is the likelihood of the
full odds (`diagnosis.likelihood`), so only the rounding of what machines show and their smaller number make a difference.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.special import logsumexp

from tundish.appliance.records import Answer, Check, Instrument
from tundish.diagnosis.likelihood import Span, exceeds, log_likelihood, misdone
from tundish.diagnosis.misfit import ALARM_CHANCE, ALARM_UNKNOWN, Fit, Misfit
from tundish.diagnosis.odds import LEAST_EFFECTIVE, UNKNOWN_LIKE_HEALTHY
from tundish.diagnosis.reading import NOT_THERE, Reading, by_check
from tundish.plan.change import Floats
from tundish.plan.errors import PlanError
from tundish.plan.lacking import OVERLOOKED
from tundish.plan.pocket_file import Head, unpacked
from tundish.plan.pocket_scale import Scale
from tundish.plan.samples import EFFECTIVE

Codes = npt.NDArray[np.integer[Any]]
# Halvings of the span in which a quantile is looked for: a billionth of it is left.
HALVINGS = 40
# Powers that weights within a kind are raised to until enough machines stand for it, as in `samples`.
POWERS = (1.0, 0.5, 0.25, 0.1, 0.05, 0.0)
# Least chance of what a test showed, and the logarithm that stands for none.
HARDLY, NEVER = 1e-30, -1e9


@dataclass(frozen=True, eq=False)
class Shown:
    """A check in the pocket. record : with what its likelihood asks. codes : (m,) of the machines, healthy : (r,) of healthy ones.

    outside : (t,) of those that moving changes, pulled out. lacks : (m,) 1 where the machine has not what it needs, None where all have.
    """

    record: Check
    facts: Head
    scale: Scale
    reach: Span
    codes: Codes
    healthy: Codes
    outside: Codes
    lacks: Codes | None

    @cached_property
    def values(self) -> Floats:
        """(l,) true value of each number of the scale."""
        return self.scale.value(np.arange(self.scale.levels))

    def likelihood(self, readings: Sequence[Reading]) -> Floats:
        """(l,) log-likelihood of readings for each number of the scale."""
        # Likelihoods take single precision as simulated; the values here are in double, which they take as well
        return log_likelihood(self.record, self.reach, self.values, readings)  # type: ignore[arg-type]

    def over(self, value: float | Floats) -> Floats:
        """(l,) chance that a fresh reading lies above a value; (k, l) for values (k, 1)."""
        return exceeds(self.record, self.values, value)  # type: ignore[arg-type]


@dataclass(frozen=True, eq=False)
class Pocket:
    """A packed call, opened. kind : (m,) of each machine. prior : (m,) log-weight before any reading. arrays : as in the file."""

    head: Head
    arrays: Mapping[str, npt.NDArray[Any]]
    checks: Mapping[str, Shown]
    kind: npt.NDArray[np.intp]
    prior: Floats


@dataclass(frozen=True, eq=False)
class Weighed:
    """Machines after readings. weight : (m,) share of the odds. unknown : that of something not described.

    like : check -> (l,) what its readings weigh. evidence : log chance (density) of all readings. effective : machines behind it.
    """

    pocket: Pocket
    weight: Floats
    unknown: float
    evidence: float
    effective: float
    like: Mapping[str, Floats]
    groups: Mapping[str, tuple[Reading, ...]]


@dataclass(frozen=True)
class PocketOdds:
    """causes : id -> chance that it is there. nothing, unknown : nothing wrong, not described. effective : machines behind it."""

    causes: Mapping[str, float]
    nothing: float
    unknown: float
    effective: float


@dataclass(frozen=True)
class Band:
    """What a check should read now: 5, 50 and 95 % points, SI, infinite over range; for a look the chance of each answer."""

    low: float | None
    middle: float | None
    high: float | None
    over: float
    answers: Mapping[str, float]


def opened(file: bytes) -> Pocket:
    """A packed call. PlanError for a file that is none."""
    head, arrays = unpacked(file)
    checks = {c["id"]: _check(number, c, arrays) for number, c in enumerate(head["checks"])}
    return Pocket(head, arrays, checks, arrays["kind"].astype(np.intp), arrays["prior"].astype(np.float64))


def weigh(pocket: Pocket, readings: Sequence[Reading], works: bool | None = None) -> Weighed:
    """The machines after all readings of the call that stand: a reading taken back is left out and everything weighed anew.

    Readings of checks that are not in the pocket are refused (PlanError). works : what the test after a repair showed.
    """
    groups = by_check([r for r in readings if r.answer != NOT_THERE])
    like = {name: _of(pocket, name).likelihood(group) for name, group in groups.items()}
    prior, unknown = _tested(pocket, works)
    unknown += sum(_unknown(pocket.checks[name], like[name], group) for name, group in groups.items())
    rows = [like[name][pocket.checks[name].codes] for name in groups]
    exact = prior + sum(rows, np.zeros(len(prior)))
    effective = _effective(exact)
    log_weight = exact if effective >= LEAST_EFFECTIVE else followed(pocket.kind, prior, rows)
    log_weight, unknown = _lacking(pocket, readings, log_weight, unknown)
    total = float(np.logaddexp(logsumexp(log_weight), unknown))
    if not np.isfinite(total):
        raise PlanError(
            seen=f"{len(readings)} readings that no machine and nothing undescribed can show together", allowed="readings with some chance",
            do="check the last reading",
        )  # fmt: skip
    weight = np.exp(log_weight - total)
    return Weighed(pocket, weight, float(np.exp(unknown - total)), total, effective, like, groups)


def _tested(pocket: Pocket, works: bool | None) -> tuple[Floats, float]:
    """Log-weights with the test: what is not described would still fail, and leaves what it shows of the rest as it is."""
    unknown = float(pocket.head["log_unknown"])
    if works is None or "w" not in pocket.arrays:
        return pocket.prior, unknown
    chance = pocket.arrays["w"].astype(np.float64)
    seen = np.log(np.maximum(chance if works else 1.0 - chance, HARDLY))
    return pocket.prior + seen, unknown + (NEVER if works else 0.0)


def chance_left(weighed: Weighed) -> float:
    """Chance that a cause is left that counts, something not described among them; of a machine as a repair left it."""
    troubled = weighed.pocket.arrays["t"].astype(np.bool_)
    return float(weighed.weight[troubled].sum()) + weighed.unknown


def followed(kind: npt.NDArray[np.intp], prior: Floats, rows: Sequence[Floats]) -> Floats:
    """Log-weights (m,) after the readings of one check after the other. rows : log-likelihoods (m,) of each.

    Nothing can be regrown here, so this is for readings that leave too few machines. Where the machines of a kind become too few
    to stand for it, their weights within the kind are flattened before the next check; what the readings say of the kind itself is
    kept. A kind with enough machines is weighed exactly.

    kind : (m,) in order.

    >>> followed(np.array([0, 1]), np.log([0.5, 0.5]), [np.log([0.2, 0.1])]).round(3).tolist()
    [-2.303, -2.996]
    """
    first = np.flatnonzero(np.concatenate([[True], np.diff(kind) != 0]))
    place = np.repeat(np.arange(len(first)), np.diff(np.append(first, len(kind))))
    chance = np.logaddexp.reduceat(prior, first)
    weight = np.exp(prior - chance[place])
    for row in rows:
        top = np.maximum.reduceat(row, first)
        top = np.where(np.isfinite(top), top, 0.0)
        weight = weight * np.exp(row - top[place])
        total = np.add.reduceat(weight, first)
        with np.errstate(divide="ignore"):
            chance = chance + np.log(total) + top
        weight = weight / np.maximum(total, 1e-300)[place]
        thin = np.flatnonzero(np.add.reduceat(weight**2, first) * EFFECTIVE > 1.0)
        for k in thin.tolist():
            here = slice(first[k], first[k + 1] if k + 1 < len(first) else len(kind))
            weight[here] = flat(weight[here])
    with np.errstate(divide="ignore"):
        return np.asarray(chance[place] + np.log(weight))


def flat(weight: Floats) -> Floats:
    """Weights raised to a power until enough machines stand for their kind, as `samples` does; sums to 1, what is 0 stays 0."""
    scaled = weight / max(float(weight.max(initial=0.0)), 1e-300)
    for power in POWERS:
        raised = np.where(scaled > 0, scaled**power, 0.0)
        if raised.sum() ** 2 >= EFFECTIVE * (raised**2).sum():
            break
    return np.asarray(raised / max(float(raised.sum()), 1e-300))


def _effective(log_weight: Floats) -> float:
    """Effective machines of weights that were not flattened: whether the odds may be trusted."""
    if not np.isfinite(log_weight).any():
        return 0.0
    weight = np.exp(log_weight - log_weight.max())
    return float(weight.sum() ** 2 / max(float((weight**2).sum()), 1e-300))


def dangers(pocket: Pocket, readings: Sequence[Reading]) -> list[Head]:
    """What the readings ask to be said at once, as the head has it; where one `halts`, no work goes on."""
    return [d for d in pocket.head["dangers"] if any(_asks(d, r) for r in readings)]


def odds(weighed: Weighed) -> PocketOdds:
    """Odds of every cause."""
    pocket = weighed.pocket
    kinds = pocket.head["kinds"]
    mass = np.bincount(pocket.kind, weights=weighed.weight, minlength=len(kinds))
    chance = np.zeros(len(pocket.head["causes"]))
    for kind, share in zip(kinds, mass, strict=True):
        chance[kind["causes"]] += share
    nothing = float(mass[[k["sound"] for k in kinds]].sum())
    names = [c["id"] for c in pocket.head["causes"]]
    causes = {n: float(c) for n, c in zip(names, chance, strict=True)}
    return PocketOdds(causes, nothing, weighed.unknown, weighed.effective)


def expected(weighed: Weighed, check: str) -> Band:
    """What a check should read on the machines that agree with the readings."""
    shown = _of(weighed.pocket, check)
    share = np.bincount(shown.codes, weights=weighed.weight, minlength=shown.scale.levels)
    share = share / max(share.sum(), 1e-300)
    tool = shown.record.instrument
    if tool is None:
        named = share @ np.array(shown.facts["chances"])
        return Band(None, None, None, 0.0, dict(zip(shown.facts["answers"], named.tolist(), strict=True)))
    over = float(share @ shown.over(tool.high))
    low, middle, high = (_quantile(shown, share, q, over) for q in (0.05, 0.5, 0.95))
    return Band(low, middle, high, over, {})


def misfit(weighed: Weighed) -> Misfit:
    """Whether the readings fit, and which fits least: each is held against the machines that agree with the others."""
    fits = [Fit(name, _fit(weighed, name, group)) for name, group in weighed.groups.items()]
    fits.sort(key=lambda fit: fit.chance)
    alarm = weighed.unknown > ALARM_UNKNOWN or any(fit.chance < ALARM_CHANCE for fit in fits)
    return Misfit(bool(fits) and alarm, fits[0].check if fits else None, tuple(fits))


def _asks(danger: Head, reading: Reading) -> bool:
    if reading.check not in danger["checks"]:
        return False
    if reading.value is None:
        return reading.answer in danger["answers"]
    high = danger["above"] is not None and reading.value > danger["above"]
    return high or (danger["below"] is not None and reading.value < danger["below"])


def _of(pocket: Pocket, check: str) -> Shown:
    if check not in pocket.checks:
        raise PlanError(
            seen=f"check {check!r}", allowed="checks of the pocket", do="ask the server about this one"
        )
    return pocket.checks[check]


def _check(number: int, facts: Head, arrays: Mapping[str, npt.NDArray[Any]]) -> Shown:
    tool = Instrument(facts["instrument"], "", **facts["errors"]) if facts["errors"] else None
    names = facts["answers"]
    wrong = {
        true: {n: c for n, c in zip(names, row, strict=True) if n != true}
        for true, row in zip(names, facts["chances"], strict=True)
    }
    record = Check(
        facts["id"], facts["title"], "", facts["unit"], tool, tuple(Answer(n) for n in names), wrong, facts["model"],
        facts["misdone"], facts["minutes"], "", (), facts["live"], facts["where"], facts["how"], (),
    )  # fmt: skip
    shown, healthy, outside = (arrays[f"{letter}{number}"] for letter in "sho")
    scale, reach, lacks = Scale(**facts["scale"]), Span(*facts["reach"]), arrays.get(f"l{number}")
    return Shown(record, facts, scale, reach, shown, healthy, outside, lacks)


def _unknown(shown: Shown, like: Floats, group: Sequence[Reading]) -> float:
    healthy = float(logsumexp(like[shown.healthy]) - np.log(len(shown.healthy)))
    anywhere = misdone(shown.record, shown.reach, group)
    half = np.log(UNKNOWN_LIKE_HEALTHY) + healthy, np.log1p(-UNKNOWN_LIKE_HEALTHY) + anywhere
    return float(np.logaddexp(*half))


def _lacking(
    pocket: Pocket, readings: Sequence[Reading], log_weight: Floats, unknown: float
) -> tuple[Floats, float]:
    """Weights once it was said that the machine has not what some checks need; each thing counts once."""
    said = sorted({r.check for r in readings if r.answer == NOT_THERE})
    things = {_of(pocket, name).facts["needs"]: pocket.checks[name].lacks for name in said}
    for lacks in things.values():
        chance = np.full(len(log_weight), OVERLOOKED) if lacks is None else np.where(lacks, 1.0, OVERLOOKED)
        weight = np.exp(log_weight - log_weight.max())
        unknown += float(np.log(weight @ chance / weight.sum()))
        log_weight = log_weight + np.log(chance)
    return log_weight, unknown


def _quantile(shown: Shown, share: Floats, q: float, over: float) -> float:
    """Least reading that no more than 1 - q lie above."""
    tool = shown.record.instrument
    assert tool is not None
    if over > 1.0 - q:
        return np.inf
    low, high = tool.low, tool.high
    foot = max(low, 1e-9 * high) if tool.log else low
    if float(share @ shown.over(foot)) <= 1.0 - q:
        return foot
    a, b = (np.log(foot), np.log(high)) if tool.log else (foot, high)
    for _ in range(HALVINGS):
        middle = (a + b) / 2
        value = float(np.exp(middle)) if tool.log else middle
        a, b = (middle, b) if float(share @ shown.over(value)) > 1.0 - q else (a, middle)
    return float(np.exp(b)) if tool.log else b


def _fit(weighed: Weighed, name: str, group: Sequence[Reading]) -> float:
    shown = _of(weighed.pocket, name)
    pocket = weighed.pocket
    others = [weighed.like[n][pocket.checks[n].codes] for n in weighed.groups if n != name]
    without = followed(pocket.kind, pocket.prior, others)
    # A machine ruled out for good cannot be brought back by leaving the reading out
    without = np.where(np.isfinite(weighed.like[name][shown.codes]), without, -np.inf)
    if not np.isfinite(without).any():
        return 0.0
    weight = np.exp(without - without.max())
    share = np.bincount(shown.codes, weights=weight / weight.sum(), minlength=shown.scale.levels)
    last, tool = group[-1], shown.record.instrument
    if tool is None:
        at = shown.facts["answers"].index(last.answer)
        return float(share @ np.array(shown.facts["chances"])[:, at])
    value = float(last.value or 0.0)
    if value >= tool.high:
        return float(share @ shown.over(np.nextafter(tool.high, 0.0)))
    above = float(share @ shown.over(value))
    if last.bound == "above":
        return above
    return 1.0 - above if last.bound == "below" else 2.0 * min(above, 1.0 - above)
