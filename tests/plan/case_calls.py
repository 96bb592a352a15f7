"""A case of tests/cases played with the planner choosing each step and the case answering.

What the case does not say is shown by the simulated machine with the case's fault that agrees best with the case's readings.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from whole_calls import Visit, close, opened, prove_and_close, wrong_with

from tundish.appliance.records import Check
from tundish.call.casefile import Case, read_case
from tundish.call.entry import check_named, reading_of
from tundish.diagnosis.odds import start, weigh
from tundish.diagnosis.reading import Reading
from tundish.plan.advise import Proposal
from tundish.plan.cured import complains, drawn_with, shown_by
from tundish.plan.samples import faults_of
from tundish.plan.shop import shop_for
from tundish.plan.simulated import Bench, Job
from tundish.plan.trial import bench
from tundish.population.build import world
from tundish.store.library import load

CASES = Path(__file__).parents[1] / "cases"
MACHINES, SEED, MOST = 6_000, 11, 30


@dataclass
class Played:
    """How a case went. done : what was proposed and done, in order. before : state in which each was done."""

    visit: Visit
    case: Case
    done: list[Proposal] = field(default_factory=list)
    states: list[str] = field(default_factory=list)

    @property
    def checks(self) -> list[str]:
        return [p.check for p in self.done if p.check]

    @property
    def cures(self) -> list[tuple[str, tuple[str, ...]]]:
        return [(p.kind, p.faults) for p in self.done if p.faults]

    @property
    def parts(self) -> set[str]:
        """Faults for which something was fitted that costs money, or ordered."""
        shop, faults = self.visit.bench.shop, self.visit.description.faults
        return {f for p in self.done if p.kind == "repair" for f in p.faults if shop.price(faults[f]) > 0}

    @property
    def first_cure(self) -> int:
        """Place of the first repair or hand over among what was done."""
        return next((i for i, p in enumerate(self.done) if p.faults), len(self.done))

    def looked_first(self, *checks: str) -> bool:
        """Whether one of these was read before anything was cured."""
        return any(p.check in checks for p in self.done[: self.first_cure])

    @property
    def end(self) -> str:
        return "" if self.visit.state.ended is None else self.visit.state.ended.body.as_

    @property
    def told(self) -> str:
        return "\n".join([*self.visit.history, f"end: {self.end}"])


def bench_of(name: str) -> tuple[Bench, Case]:
    case = read_case((CASES / f"{name}.yaml").read_text(encoding="utf-8"), name)
    place = world(load(case.family), case.market)
    shop = shop_for(place.description.markets[case.market])
    made = bench(place, case.complaint, shop, size=MACHINES, seed=SEED, told=case.told, age=case.age)
    return made, case


def play(name: str, faults: set[str], *, other: tuple[str, ...] = ()) -> Played:
    """Play the case of a file with these faults as the truth. other : readings that differ from the file, as typed there."""
    made, case = bench_of(name)
    typed = {t.check: t.typed for t in case.readings} | dict(o.split(": ", 1) for o in other)
    description = made.description
    said = {c: reading_of(check_named(description, c), text) for c, text in typed.items()}
    machine = _machine(made, list(said.values()), faults)
    visit = opened(made, 0, told=case.told, age=case.age)
    visit.job = Job(made, 0, machine, frozenset(faults), made.cloud, made.cloud)
    visit.do("look, smell and ask")
    played = Played(visit, case)
    while visit.state.ended is None and len(played.done) < MOST:
        _step(played, said)
    return played


def _machine(made: Bench, readings: list[Reading], faults: set[str]) -> int:
    """The simulated machine with these faults that fits the readings best."""
    held = made.truth
    mine = np.array([f == faults for f in faults_of(made.place, held, np.arange(held.size))])
    assert mine.any(), f"no simulated machine with {faults}"
    cloud = weigh(start(held, made.prior), made.description.checks, readings)
    return int(np.argmax(np.where(mine, cloud.log_weight, -np.inf)))


def _step(played: Played, said: dict[str, Reading]) -> None:
    visit = played.visit
    advice = visit.advice(1)
    for option in advice.options:
        visit.wrong += wrong_with(visit, option)
    option = advice.options[0]
    played.done.append(option)
    visit.history.append(f"-> {option.name} ({option.promise:.0f})")
    visit.walk(option.steps)
    played.states.append(visit.safety.name)
    if option.check:
        visit.read(_shown(visit, visit.description.checks[option.check], said))
    elif option.kind == "test":
        visit.do("tested still fails" if _complains(visit) else "tested works")
    elif option.kind == "repair":
        visit.job.left = visit.job.left - set(option.faults)
        visit.do(f"repair {'/'.join(option.faults)}")
    elif option.kind == "order":
        part = option.name.split("part for ", 1)[1].split(",")[0]
        visit.do(f"order {part}")
        visit.do(f"take {part}")
    elif option.kind == "hand over":
        visit.do(f"hand over {option.faults[0]}")
        close(visit, "handed over")
    elif option.name in ("close, proven", "end unproven"):
        closing = option.name == "close, proven"
        prove_and_close(visit, lambda check: _shown(visit, check, {}), closing=closing)
    elif option.name.startswith("hand over to "):
        visit.do(option.name)
        close(visit, "handed over")
    else:
        ends = {"nothing is wrong": "nothing wrong", "advise another machine": "replaced"}
        close(visit, ends.get(option.name, "stopped"))


def _complains(visit: Visit) -> bool:
    """Whether the customer would still complain: a cause that is left may not show."""
    made, job = visit.bench, visit.job
    if not job.left:
        return False
    drawn = drawn_with(made.place, made.truth, np.array([job.machine]), [job.left], found=False)
    return bool(complains(made.place, drawn, made.complaint)[0])


def _shown(visit: Visit, check: Check, said: dict[str, Reading]) -> Reading:
    """What the instrument shows: as the case says until something is repaired, then as the machine does."""
    if check.id in said and not visit.state.repairs:
        return said[check.id]
    made, machine = visit.bench, np.array([visit.job.machine])
    drawn = drawn_with(made.place, made.truth, machine, [visit.job.left], found=True)
    moved = np.array(["pull the machine out" in visit.history])
    value = float(shown_by(made.place, drawn, [check.id], moved)[0, 0])
    if check.is_look:
        return Reading(check.id, answer=check.answers[int(value)].name)
    tool = check.instrument
    return Reading(check.id, np.inf if value > tool.high else max(value, tool.low))
