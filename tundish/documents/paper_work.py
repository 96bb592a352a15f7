"""The work of a call in words for a paper: what was done, parts that went in, what the machine was left as."""

from __future__ import annotations

from typing import Any

from tundish.appliance.records import Fault
from tundish.call.amounts import spoken
from tundish.call.deals import ConsentRefused
from tundish.documents.paper_case import Case, sentence
from tundish.documents.words import plain, said_in
from tundish.van.part import key_of

Facts = dict[str, Any]
# How a facet of the safety state is told to somebody who was not there. Common practice, no source.
LEFT = {
    ("power", "on"): "Power is on.",
    ("power", "isolated"): "Power is off: plug out or circuit off.",
    ("power", "dead"): "Power is off and proven dead.",
    ("power", "discharged"): "Power is off, proven dead and discharged.",
    ("power", "live"): "Power is on with covers off.",
    ("water", "on"): "Taps are open.",
    ("water", "off"): "Taps are shut.",
    ("water", "relieved"): "Taps are shut and the pressure is let off.",
    ("place", "pulled out"): "The machine stands out of its place.",
    ("hazard", "seen"): "A hazard was seen.",
    ("use", "out of use"): "The machine is out of use, and its customer was told in writing.",
    ("use", "returned to use"): "The machine was returned to use.",
}


def done(case: Case) -> list[str]:
    """Steps and repairs in the order they were recorded, and how the machine did when it was tried."""
    faults = case.description.faults
    said = [(one.event, _told(case, one.body.step)) for one in case.job.work]
    said += [(one.event, _repaired(faults[one.body.fault], one.body.note)) for one in case.state.repairs]
    said += [(one.event, TESTED[one.body.works]) for one in case.state.tested if one is not None]
    return [text for _, text in sorted(said)]


TESTED = {
    True: "Tried as it is used: the complaint was gone.",
    False: "Tried as it is used: the complaint was still there.",
}


def parts(case: Case) -> list[Facts]:
    """Parts that went in."""
    return [{"what": key_of(one.body.part).name, "count": one.body.count} for one in case.job.used]


def repaired(case: Case) -> list[Fault]:
    """The causes repaired, each once."""
    return [case.description.faults[f] for f in dict.fromkeys(one.body.fault for one in case.state.repairs)]


def advice(case: Case) -> list[str]:
    """What the description advises after these repairs, each line once; what was recorded as a step is said there."""
    made = {_told(case, one.body.step) for one in case.job.work}
    lines = [_told(case, line) for fault in repaired(case) for line in fault.after]
    return [line for line in dict.fromkeys(lines) if line not in made]


def _told(case: Case, line: str) -> str:
    """A line of a description as a sentence on paper, in the paper's units."""
    return sentence(said_in(plain(line), case.system))


def refused(case: Case) -> list[str]:
    """What the customer said no to."""
    word = case.job.word
    if word is None or not isinstance(word.body, ConsentRefused):
        return []
    quote = next((q.body for q in case.job.quotes if q.event == word.body.quote), None)
    what = f"Quote {quote.id} over {spoken(quote.gross, quote.currency)}" if quote else "The repair"
    return [sentence(f"{what}{f': {word.body.why}' if word.body.why else ''}")]


def left(case: Case) -> list[str]:
    """How the machine was left, facet by facet."""
    here = case.state.safety
    if here is None:
        return ["How it was left is not on record."]
    # What is usual, such as a machine in its place, is not told
    told = [LEFT[facet, value] for facet in ("power", "water", "place", "hazard", "use")
            if (facet, value := getattr(here, facet)) in LEFT]  # fmt: skip
    return [*told, *(f"{panel} is open." for panel in sorted(here.panels))]


def _repaired(fault: Fault, note: str) -> str:
    return sentence(f"Repaired: {fault.title}{f' ({note})' if note else ''}")
