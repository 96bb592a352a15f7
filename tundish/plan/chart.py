"""Charts with a fixed order of checks, as printed, and what they do with a reading that is not normal.

A chart is written once for a complaint and knows nothing of the call but its own readings. It is given the trade's own first
checks, then cheap outside checks, and only checks that tell something about the complaint. Each line names the remedy that
an abnormal reading on that side points to most, worked out when the chart is printed from machines with this complaint.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from tundish.appliance.records import Check
from tundish.diagnosis.reading import Reading
from tundish.plan.change import Floats
from tundish.plan.demands import PANELS, demands_of_check
from tundish.plan.remedies import Remedy
from tundish.plan.simulated import Bench, Job, apply, chances, end, take
from tundish.plan.wired import TRIES

Bools = npt.NDArray[np.bool_]
# First checks of the trade for a complaint, common practice, no source; those a family has not are passed over.
FIRST = {
    "SLOW": ("C02", "C13.cold", "C03"),
    "COLD/HOT": ("C02", "C13.cold", "C03"),
    "OVER": ("W03",),
    "NODRAIN": ("W08", "W09"),
    "TRIP": ("C22.cold", "C22.warm"),
}
# A cheap outside check of a chart, minutes; a cause worth a line of it; how often a fault must show. Our choice.
CHEAP, LISTED, SHOWN = 10.0, 0.03, 0.5
# Outside this band of healthy readings, or an answer rarer than that among them, a reading is abnormal on a chart.
HEALTHY, RARE = (0.01, 0.99), 0.05
# A line names a remedy from this chance; a part less likely than UNLIKELY is not on the chart. Our choice.
NAMED, UNLIKELY = 0.5, 0.05


@dataclass(frozen=True)
class Line:
    """A line of a chart: a check, and the readings that are normal: a band in SI, or answers.

    names : the remedy that an abnormal reading points to, by side ("low", "high") or by answer; None where it names none.
    """

    check: Check
    low: float
    high: float
    answers: frozenset[str]
    names: Mapping[str, Remedy | None]

    def abnormal(self, reading: Reading) -> str:
        """The side or the answer of an abnormal reading, "" for a normal one."""
        if reading.answer is not None:
            return "" if reading.answer in self.answers else reading.answer
        if reading.value is None:
            return ""
        return "low" if reading.value < self.low else "high" if reading.value > self.high else ""


def printed(bench: Bench, *, named: float = NAMED) -> Callable[[Job], None]:
    """A chart as printed: at an abnormal reading the part its line names is fitted, else the next line follows.

    At its end come the remedies by how often they are the cause, then those that a reading named and that failed once more,
    then another machine. named : chance from which a line names a remedy.
    """
    lines = {line.check.id: line for line in chart_lines(bench, named=named)}
    usual = chances(bench.remedies, bench.cloud)
    order = sorted((r for r in usual if usual[r] >= UNLIKELY), key=lambda r: -usual[r])

    def step(job: Job) -> None:
        found = points_to(lines, job)
        # A reading names a part once; when that fails the chart goes on
        job.noted = len(job.readings)
        if found is not None and found not in job.tried:
            job.named.append(found)
            apply(job, found)
            return
        check = next_line(lines, job)
        rest = [r for r in order if r not in job.tried]
        again = [r for r in job.named if job.tried.count(r) < TRIES]
        if check is not None:
            take(job, check)
        elif rest or again:
            apply(job, (rest or again)[0])
        else:
            end(job, "advise another machine")

    return step


def next_line(lines: Mapping[str, Line], job: Job) -> Check | None:
    """The first check of the chart that is not read yet and to which a lawful way leads."""
    left = (line.check for name, line in lines.items() if name not in job.read)
    return next((c for c in left if np.isfinite(job.way(demands_of_check(c))[0])), None)


def points_to(lines: Mapping[str, Line], job: Job) -> Remedy | None:
    """What the last reading names, when it is new, on the chart and abnormal."""
    last = new_abnormal(lines, job)
    return None if last is None else lines[last.check].names.get(lines[last.check].abnormal(last))


def new_abnormal(lines: Mapping[str, Line], job: Job) -> Reading | None:
    """The last reading, when it is new, on the chart and abnormal."""
    if not job.readings or job.noted == len(job.readings):
        return None
    last = job.readings[-1]
    return last if last.check in lines and lines[last.check].abnormal(last) else None


def chart_lines(bench: Bench, *, named: float = NAMED) -> list[Line]:
    """The chart's lines in their order."""
    records = bench.description.checks
    made = {c.id: _line(bench, c, named) for c in records.values() if not c.live}
    checks = [records[c] for c, line in made.items() if _tells(bench, line)]
    first = [c for c in FIRST.get(bench.truth.complaint, ()) if c in made]
    outside = [c.id for c in checks if c.minutes <= CHEAP and not set(c.access) & PANELS.keys()]
    return [made[c] for c in dict.fromkeys([*first, *outside, *(c.id for c in checks)])]


def _line(bench: Bench, check: Check, named: float) -> Line:
    low, high, usual = _normal(bench, check)
    sides = _sides(bench, check, low, high, usual)
    return Line(check, low, high, usual, {side: _named(bench, on, named) for side, on in sides.items()})


def _normal(bench: Bench, check: Check) -> tuple[float, float, frozenset[str]]:
    """What a healthy machine shows: a band widened by the instrument's and the model's error, or its usual answers."""
    sound = bench.cloud.population.healthy[bench.cloud.population.checks.index(check.id)]
    if check.is_look:
        share = np.bincount(sound.astype(int), minlength=len(check.answers)) / len(sound)
        return 0.0, 0.0, frozenset(a.name for a, s in zip(check.answers, share, strict=True) if s >= RARE)
    low, high = np.quantile(sound, HEALTHY, method="nearest")
    error = 2.0 * (check.instrument.absolute if check.instrument else 0.0)
    return float(low) * (1 - check.model) - error, float(high) * (1 + check.model) + error, frozenset()


def _sides(bench: Bench, check: Check, low: float, high: float, usual: frozenset[str]) -> dict[str, Bools]:
    """Which machines of the tool show an abnormal reading, by side or answer, (n,) each."""
    row = bench.cloud.population.row(check.id)
    if not check.is_look:
        return {"low": row < low, "high": row > high}
    return {a.name: row == i for i, a in enumerate(check.answers) if a.name not in usual}


def _named(bench: Bench, shown: Bools, named: float) -> Remedy | None:
    """The likeliest remedy among the machines that show it, when it is likely enough to be printed."""
    found = chances(bench.remedies, bench.cloud, shown)
    best = max(found, key=lambda r: found[r], default=None)
    return best if best is not None and found[best] >= named else None


def _tells(bench: Bench, line: Line) -> bool:
    """Whether some cause of the complaint that is worth a line shows at this check."""
    population, shares = bench.cloud.population, bench.complaint.shares
    outside = np.logical_or.reduce(
        list(_sides(bench, line.check, line.low, line.high, line.answers).values())
        or [np.zeros(population.size, dtype=np.bool_)]
    )
    for index, hypothesis in enumerate(population.hypotheses):
        listed = len(hypothesis.roots) == 1 and shares[hypothesis.roots[0]] >= LISTED * sum(shares.values())
        there = population.stratum == index
        if listed and hypothesis.kind == "root" and there.any() and _mean(outside[there]) >= SHOWN:
            return True
    return False


def _mean(values: Bools | Floats) -> float:
    return float(np.mean(values))


def remedies_left(remedies: Sequence[Remedy], job: Job) -> list[Remedy]:
    """The remedies that may still be tried: none is done more often than a call allows."""
    return [r for r in remedies if job.tried.count(r) < TRIES]
