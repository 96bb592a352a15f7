"""The hand-over of a call as a paper's facts: to whom, why, what to do until they come, how the machine was left."""

from __future__ import annotations

from typing import Any

from tundish.call.errors import MoveError
from tundish.documents.handover import handover_words
from tundish.documents.paper_case import Case, cautions, letter_facts, sentence
from tundish.documents.paper_readings import compared, not_looked_at
from tundish.documents.paper_work import done, left
from tundish.documents.report_paper_facts import complaint
from tundish.plan.lawful_checks import OTHERS

Facts = dict[str, Any]


def handover_paper_facts(case: Case) -> Facts:
    """Work that goes to somebody else. MoveError when nobody was named."""
    if not case.state.handed:
        raise MoveError(
            seen="a call that was not handed over",
            allowed="somebody named who takes over",
            do=f"record it first: tundish do {case.handle} hand over to WHO --because WHY",
        )
    # Handed over twice, the later one has it
    handed = case.state.handed[-1].body
    return {
        **letter_facts(case),
        "complaint": complaint(case),
        "to": handed.to,
        "why": sentence(handed.why),
        "until_then": handover_words(domain(handed.to)),
        "readings": compared(case),
        "done": done(case),
        "left": left(case),
        "not_looked_at": not_looked_at(case),
        "cautions": cautions(case),
    }


def domain(to: str) -> str:
    """Whose work it is by the name of the trade that takes over; "" for a plain matter of the house.

    >>> domain("a licensed electrician"), domain("a plumber"), domain("Gas fitter")
    ('house wiring', '', 'gas train')
    """
    told = to.casefold()
    # The last word names the trade: electrician, fitter, technician, workshop
    return next((name for name, who in OTHERS.items() if _trade(who) in told), "")


def _trade(who: str) -> str:
    """The trade without its licence: gas fitter, refrigerant technician."""
    return " ".join(who.split()[2:])
