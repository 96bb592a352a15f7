"""The report of a call as a paper's facts."""

from __future__ import annotations

from typing import Any

from tundish.diagnosis.explain import chance_of
from tundish.documents.close_facts import follow_up, warranty_facts
from tundish.documents.facts import misfit_facts, why_facts
from tundish.documents.paper_case import Case, cautions, found, letter_facts, sentence
from tundish.documents.paper_readings import compared, not_looked_at
from tundish.documents.paper_work import advice, done, parts, refused, repaired
from tundish.documents.photo_facts import said_of
from tundish.documents.proof import proof_facts
from tundish.population.hypotheses import NOTHING, UNDESCRIBED

Facts = dict[str, Any]
# Causes less likely are not printed, nor more than so many. Our choice.
LEAST, MOST = 0.01, 6
NO_PROOF = {"proven": False, "missing": ["No repair was made."]}


def report_paper_facts(case: Case) -> Facts:
    """The whole call: complaint, as found, readings, odds and why, what was done, proof, what was not looked at."""
    return {
        **letter_facts(case),
        "complaint": complaint(case),
        "as_found": _as_found(case),
        "readings": compared(case),
        "causes": causes(case),
        "why": why(case),
        "misfit": _misfit(case),
        "done": [*(done(case) or ["Nothing was repaired."]), *said_of(case.state, case.description, found=False)],
        "parts": parts(case),
        "proof": _proof(case),
        "not_looked_at": not_looked_at(case),
        "refused": refused(case),
        "advice": advice(case),
        "cautions": cautions(case),
        "warranty": warranty_facts(case.state, case.settings, case.day),
        "follow_up": follow_up(case.state),
        "photos": list(case.pictures.shown),
        "unprinted": list(case.pictures.left),
    }


def complaint(case: Case) -> Facts:
    """The complaint, and the customer's own words."""
    opened = case.state.opened
    title = case.description.complaints[case.asked.found.matter.complaint].title
    return {"title": title, "words": opened.body.facts if opened else ""}


def causes(case: Case) -> list[Facts]:
    """The likely causes as found, the likeliest first."""
    odds = case.asked.found.now.odds
    known = [(fault.title, chance_of(odds, id)) for id, fault in case.description.faults.items()]
    known += [(name, chance_of(odds, name)) for name in (NOTHING, UNDESCRIBED)]
    # Causes may be there together, so these do not add up to one
    likely = sorted((one for one in known if one[1] >= LEAST), key=lambda one: (-one[1], one[0]))
    return [{"title": title, "chance": min(chance, 1.0)} for title, chance in likely[:MOST]]


def why(case: Case) -> str:
    """What moved the odds of the cause that was repaired, or else of the likeliest, in a sentence."""
    # Of several causes repaired the first was the one that was looked for
    faults = [fault.id for fault in repaired(case)]
    odds = case.asked.found.now.odds
    cause = faults[0] if faults else max(case.description.faults, key=lambda f: chance_of(odds, f))
    return sentence(why_facts(case.asked.found, cause, case.system)["sentence"])


def _as_found(case: Case) -> list[str]:
    told = [f"Told by the customer: {name}." for name in case.state.circumstances]
    # That a dry family has no tap is settled by the tool itself, not found
    seen = [f"Found: {b.facet} {b.value}{f' ({b.why})' if b.why else ''}." for b in found(case) if (b.facet, b.value) != ("water", "none")]
    return [*told, *seen, *said_of(case.state, case.description, found=True)]


def _misfit(case: Case) -> str:
    alarm = misfit_facts(case.asked.found)
    if not alarm["alarm"]:
        return ""
    worst = case.description.checks.get(alarm["worst"] or "")
    at = f" It fits least at: {worst.title}." if worst else ""
    return f"The readings fit no machine that we know of.{at} The odds below are not to be relied on."


def _proof(case: Case) -> Facts:
    return NO_PROOF if case.verdict is None else proof_facts(case.asked, case.verdict, case.system)
