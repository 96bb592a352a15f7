"""The moves of an invented call, played as its verbs would record them: judged by the same rules, refused by the same words."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

from tundish.appliance.records import Description
from tundish.ask.record import record_answer
from tundish.call.bodies import Body, ReadingTaken
from tundish.call.closing import FollowUpSet
from tundish.call.codec import body_from
from tundish.call.doing import Said, doing
from tundish.call.doings import CallEnded
from tundish.call.entry import check_in, reading_of
from tundish.call.fold import CallState, fold
from tundish.call.handle import handles
from tundish.call.hazards import safety_of
from tundish.call.lawful import before_reading
from tundish.cli.at_hand import market_of
from tundish.documents.ask_facts import VISIT
from tundish.documents.fix_facts import numbered, step_bodies
from tundish.documents.paper_case import case_of
from tundish.documents.paper_making import Ordered, make
from tundish.documents.quote_facts import quote_facts, quoted_body
from tundish.prices.agreeing import ALL, consent_to, payment_of
from tundish.prices.settings import Settings
from tundish.store.clock import Source, system
from tundish.store.counsel import Asked, Counsel, counsel
from tundish.store.events import EventFile, record_all
from tundish.store.folders import SETTINGS_FILE
from tundish.store.mending import Fitted, fit, part_for
from tundish.store.pricing import Wanted, offer, settings_for
from tundish.store.proving import check_proven
from tundish.store.settings import Own, read_own

# Between two moves of an invented call, [ms].
PAUSE = 180_000


@dataclass
class Watch:
    """A clock of the past: every look at it finds it a little later. now : [ms] since 1970 UTC. device : who writes."""

    now: int
    device: str

    def source(self) -> Source:
        """Clock and randomness of an event."""
        return Source(self._later, system(self.device).random_bytes, self.device)

    def day(self) -> date:
        """The day it shows, UTC."""
        return datetime.fromtimestamp(self.now / 1000, UTC).date()

    def _later(self) -> int:
        self.now += PAUSE
        return self.now


@dataclass(frozen=True)
class Played:
    """A call being played.

    folder, cache : of records and of simulated machines. machines : simulated for odds and price. description : of its family.
    """

    file: EventFile
    id: str
    watch: Watch
    folder: Path
    cache: Path
    machines: int
    description: Description

    @property
    def state(self) -> CallState:
        """The call as it stands."""
        return fold(self.file.events_of(self.id))

    @property
    def own(self) -> Own:
        """The shop's settings."""
        return read_own(self.folder / SETTINGS_FILE)

    @property
    def settings(self) -> Settings:
        """The same in the call's currency."""
        return settings_for(self.own, self.description, market_of(self.state))

    def asking(self) -> Counsel:
        """The planner on the call."""
        return counsel(self.state, self.cache, Asked(size=self.machines, own=self.own))

    def write(self, bodies: Iterable[Body]) -> None:
        """Record what happened."""
        record_all(self.file, self.id, tuple(bodies), self.watch.source())


def play(played: Played, moves: Sequence[Mapping[str, Any]]) -> None:
    """Play moves in order. Each is one name with its words, such as `reading: [W10, OL]`."""
    for move in moves:
        for name, words in move.items():
            PLAYS[name](played, *(words if isinstance(words, list) else [words]))


def _answer(played: Played, question: str, said: str) -> None:
    # So many seconds on the phone for any question, our choice
    played.write(record_answer(played.description, played.state, question, said, seconds=8.0))


def _do(played: Played, words: str, proof: str = "") -> None:
    bodies = doing(played.description, played.state, words, Said(proof))
    # Here too nothing is called proven that the odds do not prove
    if any(isinstance(body, CallEnded) and body.as_ == "proven" for body in bodies):
        check_proven(played.asking())
    played.write(bodies)


def _reading(played: Played, check: str, typed: str) -> None:
    description, state = played.description, played.state
    named = check_in(description, market_of(state), check)
    read = reading_of(named, typed)
    body = ReadingTaken(read.check, read.value, read.answer, read.bound, typed)
    before = before_reading(description, named, safety_of(description, state), answer=read.answer)
    played.write((*before, body))


def _quote(played: Played, *faults: str) -> None:
    asking = played.asking()
    made = offer(asking, played.settings, Wanted(faults, False, None, ""), today=played.watch.day())
    page = quote_facts(asking, made)
    played.write([body_from("quoted", quoted_body(page, f"{played.id[:4]}-1"))])


def _agree(played: Played, name: str) -> None:
    played.write([consent_to(played.state, played.settings, name=name, how="written")])


def _fix(played: Played, fault: str) -> None:
    description, record = played.description, played.description.faults[fault]
    currency = description.markets[market_of(played.state)].currency
    part = part_for(description, record, currency) is not None
    steps = list(numbered(record, part=part))
    played.write(step_bodies(record, steps, played.state, part=part, heeded=True))
    if part:
        source = played.watch.source()
        fit(played.file, played.id, description, Fitted(fault), currency=currency, source=source)
    _do(played, fault)


def _pay(played: Played, means: str) -> None:
    played.write([payment_of(played.state, ALL, currency=played.settings.currency, means=means)])


def _paper(played: Played, kind: str) -> None:
    handle = handles(played.file.calls())[played.id]
    system_of_units = played.description.markets[market_of(played.state)].units
    case = case_of(
        played.asking(), played.settings, system=system_of_units, day=played.watch.day(), handle=handle
    )
    make(played.file, played.folder, case, Ordered(kind), source=played.watch.source())


def _again(played: Played, days: int, why: str) -> None:
    day = played.watch.day() + timedelta(days=days)
    played.write([FollowUpSet(day.isoformat(), why)])


def _visit(played: Played, days: int) -> None:
    _again(played, days, VISIT)


PLAYS: Mapping[str, Callable[..., None]] = {
    "answer": _answer, "do": _do, "reading": _reading, "quote": _quote, "agree": _agree, "fix": _fix,
    "pay": _pay, "paper": _paper, "again": _again, "visit": _visit,
}  # fmt: skip
