"""A paper of a call made, kept by its hash, and put on record: for the command line and the server alike."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from tundish.call.closing import PaperMade
from tundish.call.fold import CallState, fold
from tundish.documents.paper import paper
from tundish.documents.paper_case import Case
from tundish.documents.paper_kinds import REPORT, call_paper_facts, kind_named
from tundish.documents.paper_photos import pictures_of
from tundish.documents.paper_sound import moment
from tundish.store.clock import Source
from tundish.store.errors import StoreError
from tundish.store.events import EventFile
from tundish.store.kept import PAPERS, PHOTOS, keep
from tundish.store.paper_numbers import INVOICE, named, numbered

Facts = dict[str, Any]


@dataclass(frozen=True)
class Ordered:
    """A paper that is wanted. size : "" for the shop's own. number, due_by : of an invoice; "" for the next, for at once."""

    kind: str
    size: str = ""
    number: str = ""
    due_by: str = ""


@dataclass(frozen=True)
class Made:
    """A paper that was made. event : of its record. facts : what it was made of."""

    kind: str
    call: str
    event: str
    sha256: str
    size: str
    content: bytes
    facts: Facts

    def told(self) -> Facts:
        """What is told of it, with all that stands on it."""
        return {
            "call": self.call,
            "paper": self.kind,
            "number": self.facts["number"],
            "date": self.facts["date"],
            "size": self.size,
            "sha256": self.sha256,
            "bytes": len(self.content),
            "event": self.event,
            "facts": self.facts,
        }


def make(file: EventFile, folder: Path, case: Case, ordered: Ordered, *, source: Source) -> Made:
    """Make a paper, keep it under `folder`, and record that it was made.

    Made again alike it is not recorded twice. MoveError when the call is not so far, or went on meanwhile; PaperError for facts that
    make no sound paper.
    """
    kind = kind_named(ordered.kind)
    if ordered.due_by:
        moment(ordered.due_by, "the last day to pay")
    # The number is given and written down in one moment, so that no other call gets it
    with file.writing():
        state = fold(file.events_of(case.state.call))
        _need_same(state, case)
        # Other papers carry the number of what they belong to, or none
        ready = _numbered(file, case, ordered) if kind == INVOICE else case
        if kind == REPORT:
            ready = replace(ready, pictures=pictures_of(state, case.description, folder / PHOTOS, case.settings.zone))
        facts, size = call_paper_facts(kind, ready), ordered.size or case.settings.paper
        content = paper(kind, facts, size=size, language=case.settings.language, photos=ready.pictures.contents)
        body = PaperMade(named(facts["number"]) if kind == INVOICE else kind, keep(folder / PAPERS, content))
        # The same bytes made twice are one paper, as the customer sees it
        before = [one.event for one in state.job.papers if one.body == body]
        event = before[-1] if before else file.record(state.call, body, source).id
    return Made(kind, state.call, event, body.sha256, size, content, facts)


def _numbered(file: EventFile, case: Case, ordered: Ordered) -> Case:
    found = numbered(file, case.state, case.day, ordered.number)
    return replace(case, number=found.number, replaces=found.replaces, due_by=ordered.due_by)


def _need_same(state: CallState, case: Case) -> None:
    # Odds and proof were worked out before; what came in since would be missing on the paper
    if state.last != case.state.last or len(state.events) != len(case.state.events):
        raise StoreError(
            seen=f"call {case.handle}, written to while its paper was made",
            allowed="a call that stands still for a moment",
            do="make the paper again",
        )
