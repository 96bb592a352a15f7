"""Random walks through the moves: whatever order somebody tries things in, no call gets where it must not be.

The referee goes through the events by itself, with fractions, and asks nothing of the code that judges moves.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from call_maker import OPENING, consent, event, event_id, quote, reading
from hypothesis import given, settings
from hypothesis import strategies as st

from tundish.call import agreed, bodies, codec, deals, fixing, moves, quotes
from tundish.call.doings import ENDINGS, CallEnded, HandedOver, PartTaken
from tundish.call.errors import MoveError
from tundish.call.fold import CallState, fold

FAULTS = ("S04", "S06")
GROSS = (0, 100, 115, 116, 250)
SHARES = (0.0, 0.15, 0.29)
PROOF = (bodies.RepairDone, bodies.ReadingTaken, bodies.CircumstanceAdded, bodies.CallOpened)


@dataclass(frozen=True)
class Try:
    """Something tried. what : which of WHATS. a, b : choose its particulars. proven : what the odds say then."""

    what: str
    a: int
    b: int
    proven: bool


@dataclass
class Walk:
    """The events so far, and what was so when the ending was recorded."""

    state: CallState = field(default_factory=lambda: fold([event(0, OPENING)]))
    asked: dict[str, tuple[bool, tuple[object, ...]]] = field(default_factory=dict)
    done: Counter[str] = field(default_factory=Counter)

    def go(self, tried: Try) -> None:
        """Record it if the moves allow it, then let the referee look."""
        number = len(self.state.events)
        body = WHATS[tried.what](self.state, tried.a, tried.b)
        try:
            moves.check(self.state, body, proven=tried.proven)
        except MoveError as error:
            assert error.seen and error.allowed and error.do
            self.done[f"no {body.kind}"] += 1
            return
        self.state = fold([*self.state.events, event(number, body)])
        self.done[body.kind] += 1
        if isinstance(body, CallEnded):
            self.asked[event_id(number)] = tried.proven, rests_on(self.state)
            self.done[body.as_] += 1
        referee(self, body)


def _consent(state: CallState, a: int, b: int) -> bodies.Body:
    # Mostly to a quote that is there, at its price
    at = state.job.quotes[-1 - a % len(state.job.quotes)] if state.job.quotes else None
    minor = at.body.gross + (b % 7 == 0) if at else 0
    number = [e.id for e in state.events].index(at.event) if at else 1
    return consent(number, minor, over_run=SHARES[b % 3])


def _corrected(state: CallState, a: int, b: int) -> bodies.Body:
    target = state.events[a % len(state.events)]
    said = target.body.by if isinstance(target.body, bodies.Corrected) else target.body
    others: dict[str, bodies.Body] = {
        "reading taken": reading(float(b)),
        "repair done": bodies.RepairDone(FAULTS[b % 2]),
        "quoted": quote(*FAULTS[: b % 3], gross=GROSS[b % 5], owed=50),
        "consent given": _consent(state, b, a),
        "paid": deals.Paid(1 + b, "EUR", "cash"),
        "call ended": CallEnded(ENDINGS[b % len(ENDINGS)]),
    }
    by = others.get(said.kind) if said is not None and b % 3 else None
    return bodies.Corrected(target.id, by)


WHATS: Mapping[str, Callable[[CallState, int, int], bodies.Body]] = {
    "read": lambda state, a, b: reading(float(a)),
    "tell": lambda state, a, b: bodies.CircumstanceAdded(f"circumstance {a}"),
    "quote": lambda state, a, b: quote(
        *FAULTS[: 2 if a % 4 else b % 3], gross=GROSS[b % 5], id=f"Q{len(state.events)}", owed=50
    ),
    "agree": _consent,
    "refuse": lambda state, a, b: deals.ConsentRefused(
        a % 60, "EUR", state.job.quotes[-1].event if state.job.quotes and b % 2 else ""
    ),
    "repair": lambda state, a, b: bodies.RepairDone(FAULTS[a % 2]),
    "step": lambda state, a, b: fixing.StepDone(FAULTS[a % 2], "new washer"),
    "take": lambda state, a, b: PartTaken(FAULTS[a % 2]),
    "use": lambda state, a, b: fixing.PartUsed(f"part {b % 2}", FAULTS[a % 2]),
    "pay": lambda state, a, b: deals.Paid(
        1 + a if b % 2 else max(agreed.due(state.job), 1), "USD" if b % 9 == 0 else "EUR", "cash"
    ),
    "hand over": lambda state, a, b: HandedOver("a plumber", "pressure"),
    "end": lambda state, a, b: CallEnded(ENDINGS[a % len(ENDINGS)]),
    "close": lambda state, a, b: CallEnded("proven"),
    "correct": _corrected,
}


def standing(state: CallState) -> list[tuple[str, bodies.Body]]:
    """What the events say after corrections, in order."""
    said = ((e.id, state.settled.standing[e.id]) for e in state.events)
    return [(id, body) for id, body in said if body is not None and not isinstance(body, bodies.Corrected)]


def rests_on(state: CallState) -> tuple[object, ...]:
    """What a proof rests on."""
    return tuple(pair for pair in standing(state) if isinstance(pair[1], PROOF))


def referee(walk: Walk, new: bodies.Body) -> None:
    """Consent before work, no payment above what is owed, nothing proven that is not; money in whole units."""
    price: dict[str, quotes.Quoted] = {}
    word: deals.ConsentGiven | deals.ConsentRefused | None = None
    hand: set[str] = set()
    last, got, ended, since = None, 0, None, -1
    for id, body in standing(walk.state):
        if isinstance(body, quotes.Quoted):
            price[id] = last = body
        elif isinstance(body, deals.ConsentGiven | deals.ConsentRefused):
            word = body
        elif isinstance(body, bodies.RepairDone | fixing.StepDone | fixing.PartUsed):
            assert isinstance(word, deals.ConsentGiven), "work without the customer's yes"
            assert body.fault in price[word.quote].faults, "work on a cause nobody agreed to"
            assert not isinstance(body, fixing.PartUsed) or body.fault in hand
            if body is new:
                assert last is not None
                assert last.gross <= word.minor * (1 + Fraction(str(word.over_run))), "dearer than agreed"
            since = 0 if isinstance(body, bodies.RepairDone) else since
        elif isinstance(body, bodies.ReadingTaken):
            since += since >= 0
        elif isinstance(body, PartTaken):
            hand.add(body.fault)
        elif isinstance(body, deals.Paid):
            assert body.currency == "EUR"
            got += body.minor
        elif isinstance(body, CallEnded):
            ended = id, body
    if isinstance(new, deals.Paid):
        owed = word.owed if isinstance(word, deals.ConsentRefused) else 0
        if isinstance(word, deals.ConsentGiven):
            owed = int(word.minor * (1 + Fraction(str(word.over_run))))
        assert got <= owed, "more paid than was ever owed"
    if ended is not None and ended[1].as_ == "proven":
        assert since > 0, "proven without a repair, or nothing read since"
        assert walk.asked[ended[0]] == (True, rests_on(walk.state)), "proven, and it is not"
    if ended is not None and ended[1].as_ in ("nothing wrong", "stopped"):
        assert since < 0, "repaired, and closed as if nothing had been done"
    if ended is not None and ended[1].as_ == "refused":
        assert isinstance(word, deals.ConsentRefused), "refused, and nobody said no"
    for amount in (agreed.owed, agreed.paid, agreed.due, agreed.over_run):
        assert type(amount(walk.state.job)) is int
    # By the moves on one device nothing goes wrong but that money has to go back, or that a quote is withdrawn
    told = [problem.seen for problem in walk.state.problems]
    assert all("paid more" in seen or "a payment" in seen or "a consent to quote" in seen for seen in told), (
        told
    )


def walked(tries: Iterable[Try]) -> Walk:
    """A walk, refereed at every step."""
    walk = Walk()
    for tried in tries:
        walk.go(tried)
    for one in walk.state.events:
        assert codec.read(codec.write(one)) == one
    return walk


TRIES = st.builds(Try, st.sampled_from(sorted(WHATS)), st.integers(0, 60), st.integers(0, 60), st.booleans())


@settings(max_examples=200, deadline=None)
@given(st.lists(TRIES, max_size=30))
def test_no_walk_leads_where_a_call_must_not_be(tries: list[Try]) -> None:
    walked(tries)


def test_walks_reach_all_that_they_should_and_are_stopped_on_the_way() -> None:
    """Without this the walks above could be harmless because they never get anywhere."""
    luck, done = random.Random(5), Counter[str]()
    for _ in range(250):
        # Ended calls take little more, so endings are tried more seldom
        names = luck.choices(sorted(WHATS), [1 if n in ("end", "close") else 6 for n in sorted(WHATS)], k=60)
        done += walked(
            Try(n, luck.randrange(60), luck.randrange(60), luck.random() < 0.5) for n in names
        ).done
    for kind in (
        "repair done",
        "part used",
        "paid",
        "consent given",
        "consent refused",
        "corrected",
        "call ended",
    ):
        assert done[kind] > 20 and done[f"no {kind}"] > 20, (kind, done)
    for how in ENDINGS:
        assert done[how] > 5, (how, done)
