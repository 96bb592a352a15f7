"""The call that a paper is about: what was asked and proven, the shop's settings, the day; and the head of every letter."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from tundish.appliance.records import Description
from tundish.call.doings import StateFound
from tundish.call.errors import MoveError
from tundish.call.fold import CallState
from tundish.call.job import Job
from tundish.documents.facts import notices
from tundish.documents.paper_photos import NO_PICTURES, Pictures
from tundish.prices.settings import Settings
from tundish.store.counsel import Counsel
from tundish.store.proving import Verdict, proving

Facts = dict[str, Any]


@dataclass(frozen=True, eq=False)
class Case:
    """What a paper is made from.

    verdict : on the repair, None where nothing was repaired. system : of units. handle : the call's short name.
    number : the paper's own, "" for none. due_by : last day to pay, ISO; "" for at once. replaces : number of the invoice before.
    pictures : photos to print.
    """

    asked: Counsel
    verdict: Verdict | None
    settings: Settings
    system: str
    day: date
    handle: str = ""
    number: str = ""
    due_by: str = ""
    replaces: str = ""
    pictures: Pictures = NO_PICTURES

    @property
    def state(self) -> CallState:
        """The call as it stands."""
        return self.asked.state

    @property
    def job(self) -> Job:
        """Its customer, price and work."""
        return self.asked.state.job

    @property
    def description(self) -> Description:
        """Of its family."""
        return self.asked.found.description


def case_of(asked: Counsel, settings: Settings, *, system: str, day: date, handle: str) -> Case:
    """The case of a call. system : of units."""
    # Nothing to prove where nothing was repaired
    verdict = proving(asked) if asked.state.repairs else None
    return Case(asked, verdict, settings, system, day, handle)


def letter_facts(case: Case) -> Facts:
    """What every letter says at its head. MoveError when the shop or the customer has no name."""
    return {
        "date": case.day.isoformat(),
        "number": case.number,
        "call": case.handle,
        "shop": _shop(case.settings),
        "customer": _customer(case),
        "machine": _machine(case),
    }


def cautions(case: Case) -> list[str]:
    """What must be said of this machine whatever the complaint, and the hazards somebody saw."""
    # A notice holds whatever was repaired, so every letter has it
    said = [one["say"] for one in notices(case.asked.found)]
    seen = [f"A hazard was seen: {b.why}." for b in found(case) if b.facet == "hazard" and b.value == "seen" and b.why]
    return list(dict.fromkeys([*said, *seen]))


def found(case: Case) -> list[StateFound]:
    """How the machine was found to stand, in order."""
    return [fact.body for fact in case.state.steps if isinstance(fact.body, StateFound)]


def sentence(text: str) -> str:
    """A text with a capital at its head and a stop at its end.

    >>> sentence("fill hose: kinked"), sentence("Done.")
    ('Fill hose: kinked.', 'Done.')
    """
    text = capital(text.strip())
    return text if text.endswith((".", "!", "?")) else f"{text}."


def capital(text: str) -> str:
    """A text with a capital at its head."""
    return text[:1].upper() + text[1:]


def told_lines(lines: list[Facts]) -> list[Facts]:
    """Lines of a quote as a customer reads them: work is called labour, and each begins with a capital.

    >>> told_lines([{"kind": "labour", "what": "fill hose: kinked"}])[0]["what"]
    'Labour (fill hose: kinked)'
    """
    return [{**line, "what": f"Labour ({line['what']})" if line["kind"] == "labour" else capital(line["what"])} for line in lines]


def _shop(settings: Settings) -> Facts:
    if not settings.name.strip():
        raise MoveError(
            seen=f"a shop of the name {settings.name!r}",
            allowed="the name that heads a letter",
            do='set it first: tundish settings name "NAME"',
        )
    return {"name": settings.name, "lines": list(settings.letterhead)}


def _customer(case: Case) -> Facts:
    named = case.job.customer
    if named is None:
        raise MoveError(
            seen=f"call {case.handle} without a customer's name",
            allowed="a letter to somebody",
            do=f"name the customer first: tundish book {case.handle} --name NAME",
        )
    told = named.body
    # A comma may part street and number; only a line end or ; ends a line
    address = [line.strip() for line in told.address.replace(";", "\n").split("\n")]
    return {"name": told.name, "lines": [line for line in (*address, told.phone, told.mail) if line]}


def _machine(case: Case) -> Facts:
    # What is not on record is left empty, not guessed
    seen, matter = case.job.machine, case.asked.found.matter
    return {
        "family": matter.family,
        "plate": seen.body.model if seen else "",
        "serial": seen.body.serial if seen else "",
        "age": matter.age,
    }
