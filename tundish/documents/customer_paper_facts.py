"""The page a customer keeps, as a paper's facts: in plain words, without odds and instruments."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from tundish.appliance.records import Fault
from tundish.diagnosis.explain import chance_of
from tundish.documents.close_facts import follow_up, warranty_facts
from tundish.documents.numbers import percent
from tundish.documents.paper_case import Case, cautions, letter_facts, sentence
from tundish.documents.paper_work import parts, repaired

Facts = dict[str, Any]
# From this chance on a cause that was not repaired is named to the customer, as the likely one. Our choice.
LIKELY = 0.5
# Common practice, no source.
WATCH = ("Watch the next few runs. If something is not right, write down when it happened and what the machine was doing.",)
TRIED = {True: "We tried it as you use it: the trouble was gone.", False: "We tried it as you use it: the trouble was still there."}
NEW_SIGNS = "If you notice something new: a noise, a smell, a message, water on the floor."


def customer_paper_facts(case: Case) -> Facts:
    """One page: what was wrong, what was done, what to watch, when to call, what is promised."""
    mended = repaired(case)
    # The first words of a complaint are the customer's, the rest is the trade's
    title = case.description.complaints[case.asked.found.matter.complaint].title.split(",")[0]
    proven = case.verdict is not None and case.verdict.proven
    return {
        **letter_facts(case),
        "wrong": _wrong(case, mended),
        "done": _done(case, mended),
        "watch": list(WATCH),
        "call_when": [f"If it comes back: {title}.", NEW_SIGNS],
        "proven": proven,
        "missing": [] if proven else _missing(case),
        "cautions": cautions(case),
        "warranty": warranty_facts(case.state, case.settings, case.day),
        "follow_up": follow_up(case.state),
    }


def _wrong(case: Case, mended: Sequence[Fault]) -> list[str]:
    if mended:
        return [_plain(case, fault) for fault in mended]
    ended = case.state.ended
    if ended is not None and ended.body.as_ == "nothing wrong":
        return ["We found nothing wrong with the machine."]
    odds = case.asked.found.now.odds
    first = max(case.description.faults.values(), key=lambda fault: chance_of(odds, fault.id))
    if chance_of(odds, first.id) < LIKELY:
        return ["We have not found the cause yet."]
    return [f"Most likely, not certain: {_plain(case, first)}"]


def _plain(case: Case, fault: Fault) -> str:
    """A cause in a customer's words where the description has them."""
    known = case.description.phone.get(fault.id)
    return sentence(known.cause) if known else sentence(f"{fault.part}: {fault.mode}")


def _done(case: Case, mended: Sequence[Fault]) -> list[str]:
    fitted = [f"We put in: {one['count']} × {one['what']}." for one in parts(case)]
    with_part = {one.body.fault for one in case.job.used}
    put_right = [f"We put right: {fault.part}." for fault in mended if fault.id not in with_part]
    handed = [f"We handed the rest over to {one.body.to}." for one in case.state.handed]
    tried = [TRIED[case.state.works]] if case.state.works is not None else []
    return [*fitted, *put_right, *tried, *handed] or ["We looked for the cause; nothing was repaired."]


def _missing(case: Case) -> list[str]:
    if case.verdict is not None:
        left = f"another cause may still be there ({percent(case.verdict.now)})"
        return [f"A check of the machine as you use it: {left}."]
    if case.state.ended is not None and case.state.ended.body.as_ == "nothing wrong":
        return ["Use it as always, and see whether it happens again."]
    return ["The repair: none was made."]
