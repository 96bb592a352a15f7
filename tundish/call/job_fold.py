"""The steps of the fold that concern the customer, the price and the work."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from tundish.call.agreed import covers
from tundish.call.asking import CustomerNamed, MachineSeen, PhotoKept, QuestionAnswered
from tundish.call.bodies import RepairDone
from tundish.call.closing import CallbackOf, FollowUpSet, PaperMade
from tundish.call.deals import ConsentGiven, ConsentRefused, Paid
from tundish.call.fact import Fact
from tundish.call.fixing import PartUsed, StepDone
from tundish.call.job import Job
from tundish.call.quotes import Quoted

JobStep = Callable[[Job, Fact[Any]], Job]


def repaired(job: Job, fact: Fact[RepairDone], *, in_hand: bool) -> Job:
    """The job after a repair. in_hand : whether its part was in hand."""
    job = _worked(job, fact.event, fact.body.fault)
    if not in_hand or fact.body.fault in job.fitted:
        return job
    return replace(job, fitted=(*job.fitted, fact.body.fault))


def used(job: Job, fact: Fact[PartUsed], *, in_hand: bool) -> Job:
    """The job after a part went in. A part of a repair already recorded was in hand then."""
    job = _worked(job, fact.event, fact.body.fault)
    held = in_hand or fact.body.fault in job.fitted
    return replace(job, used=(*job.used, fact), unheld=job.unheld if held else (*job.unheld, fact.event))


def _worked(job: Job, event: str, fault: str) -> Job:
    return job if covers(job, fault) else replace(job, unagreed=(*job.unagreed, event))


def _step_done(job: Job, fact: Fact[StepDone]) -> Job:
    return replace(_worked(job, fact.event, fact.body.fault), work=(*job.work, fact))


def _answer(job: Job, fact: Fact[QuestionAnswered]) -> Job:
    # Asked again, the later answer counts
    others = (one for one in job.answers if one.body.question != fact.body.question)
    return replace(job, answers=(*others, fact))


def _latest(field: str) -> JobStep:
    def step(job: Job, fact: Fact[Any]) -> Job:
        changed: dict[str, Any] = {field: fact}
        return replace(job, **changed)

    return step


def _more(field: str) -> JobStep:
    def step(job: Job, fact: Fact[Any]) -> Job:
        changed: dict[str, Any] = {field: (*getattr(job, field), fact)}
        return replace(job, **changed)

    return step


JOB_STEPS: Mapping[str, JobStep] = {
    CustomerNamed.KIND: _latest("customer"),
    MachineSeen.KIND: _latest("machine"),
    QuestionAnswered.KIND: _answer,
    PhotoKept.KIND: _more("photos"),
    Quoted.KIND: _more("quotes"),
    ConsentGiven.KIND: _latest("word"),
    ConsentRefused.KIND: _latest("word"),
    StepDone.KIND: _step_done,
    Paid.KIND: _more("payments"),
    FollowUpSet.KIND: _latest("follow_up"),
    CallbackOf.KIND: _latest("callback"),
    PaperMade.KIND: _more("papers"),
}
