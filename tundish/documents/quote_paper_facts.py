"""The quote of a call as a paper's facts: what is wrong and how it is known, the price, the choices, the consent."""

from __future__ import annotations

from typing import Any

from tundish.call import agreed
from tundish.call.errors import MoveError
from tundish.call.fact import Fact
from tundish.call.quotes import Quoted, facts_of
from tundish.documents.facts import why_facts
from tundish.documents.paper_case import Case, cautions, letter_facts, sentence, told_lines
from tundish.store.clock import day_of

Facts = dict[str, Any]


def quote_paper_facts(case: Case) -> Facts:
    """The newest quote as it was put before the customer. MoveError when none was."""
    quote = agreed.newest(case.job)
    if quote is None:
        raise MoveError(
            seen="a call without a quote",
            allowed="a quote that was put before the customer",
            do=f"quote it first: tundish quote {case.handle} --give",
        )
    return {
        **letter_facts(case),
        **facts_of(quote.body),
        "lines": told_lines(facts_of(quote.body)["lines"]),
        "number": quote.body.id,
        "found": _found(case, quote.body),
        "over_run": _over_run(case, quote),
        "warranty": _warranty(case),
        "consent": _consent(case, quote),
        "cautions": cautions(case),
    }


def _found(case: Case, quote: Quoted) -> list[str]:
    """What is wrong and how we know it, a sentence for each cause."""
    if not quote.faults:
        return ["This is for the visit and finding the cause; nothing is repaired."]
    return [sentence(why_facts(case.asked.found, fault, case.system)["sentence"]) for fault in quote.faults]


def _over_run(case: Case, quote: Fact[Quoted]) -> float:
    given = agreed.consent(case.job)
    # What was agreed to stays, whatever the shop's rule is now
    return given.over_run if given and given.quote == quote.event else float(case.settings.over_run)


def _warranty(case: Case) -> list[str]:
    labour, part = case.settings.warranty_labour_days, case.settings.warranty_part_days
    return [f"Labour {labour} days, parts {part} days, from the day the work is closed."]


def _consent(case: Case, quote: Fact[Quoted]) -> Facts | None:
    given, word = agreed.consent(case.job), case.job.word
    # Agreed to the quote before this one: the new one has not been signed
    if given is None or word is None or given.quote != quote.event:
        return None
    return {
        "name": given.name,
        "at": day_of(word.at, case.settings.zone).isoformat(),
        "how": given.how,
        "minor": given.minor,
        "strokes": [[list(point) for point in line] for line in given.strokes],
    }
