"""A call on the phone: what to ask next, what it may cost and take, what may be said, and what is still missing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from tundish.appliance.records import StopWord
from tundish.ask.bracket import Bracket, bracket
from tundish.ask.matter import matter
from tundish.ask.missing import Missing, missing
from tundish.ask.phone import PhoneAdvice, phone_advice
from tundish.ask.photos import Photo, photos
from tundish.ask.question_value import Valued, narrows_most, ranked
from tundish.ask.site import OnSite, minutes_on_site
from tundish.ask.stops import stops
from tundish.ask.tariff_settings import tariff_from
from tundish.call.fold import CallState
from tundish.prices.settings import Settings
from tundish.store.counsel import Counsel
from tundish.store.shelf import SEED


@dataclass(frozen=True, eq=False)
class Phone:
    """All that a phone call needs. narrowing : the question that would narrow the bracket most, if any would."""

    questions: tuple[Valued, ...]
    narrowing: Valued | None
    bracket: Bracket
    on_site: OnSite
    advice: PhoneAdvice
    missing: tuple[Missing, ...]
    photos: tuple[Photo, ...]
    stops: tuple[StopWord, ...]


def phone(asked: Counsel, settings: Settings) -> Phone:
    """What to ask and say now. settings : in the currency of the call's market."""
    state, description = asked.state, asked.found.description
    complaint = asked.found.matter.complaint
    call = matter(
        asked.found.place, asked.cloud, asked.shop, rng=np.random.default_rng(SEED), known=sorted(known(state))
    )
    tariff = tariff_from(settings)
    questions = ranked(call, tariff)
    found = stop_words(asked)
    return Phone(
        questions,
        narrows_most(questions),
        bracket(call, tariff),
        minutes_on_site(call),
        phone_advice(call, found),
        missing(description, complaint, facts_given(asked)),
        photos(description, complaint, taken=[fact.body.subject for fact in state.job.photos]),
        found,
    )


def stop_words(asked: Counsel) -> tuple[StopWord, ...]:
    """The stop words that what was said and answered calls for."""
    state = asked.state
    said = [fact.body.text for fact in state.notes]
    said += [state.opened.body.facts] if state.opened else []
    answers = {fact.body.question: fact.body.answer for fact in state.job.answers}
    # In his own words a customer may say it in answer to anything
    free = [a for q, a in answers.items() if not asked.found.description.questions[q].replies]
    looks = {fact.body.check: fact.body.answer for fact in state.readings if fact.body.answer}
    return stops(
        asked.found.description, said=[*said, *free], told=state.circumstances, answers={**looks, **answers}
    )


def known(state: CallState) -> frozenset[str]:
    """What needs no asking: circumstances told or denied, checks read, questions answered."""
    read = {fact.body.check for fact in state.readings}
    answered = {fact.body.question for fact in state.job.answers}
    return frozenset(read | answered | {*state.circumstances, *state.denied})


def facts_given(asked: Counsel) -> Mapping[str, str]:
    """Facts of the visit: as answered, else as they stand with the customer and the plate."""
    state, questions = asked.state, asked.found.description.questions
    customer, machine = state.job.customer, state.job.machine
    given = {}
    if customer is not None:
        body = customer.body
        given = {"address": body.address, "access": body.access, "consent": body.may_consent}
    if machine is not None:
        given["model"] = machine.body.model
    # A photo of the plate is as good as its words
    seen = {fact.body.subject for fact in state.job.photos}
    given |= {q.fact: "photo" for q in questions.values() if q.fact and q.id in seen}
    answers = {
        questions[fact.body.question].fact: fact.body.answer
        for fact in state.job.answers
        if fact.body.question in questions and questions[fact.body.question].fact
    }
    return {**given, **answers}
