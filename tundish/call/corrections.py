"""What each event says once all corrections are heard.

A correction names its target by id, so the corrections of a call form trees. A tree is settled from the
leaves: of the corrections of one event that stand themselves, the one with the greatest id counts. The answer
depends on the set of events only, not on their order.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from tundish.call.bodies import Body, Corrected
from tundish.call.events import Event

Tree = Mapping[str, tuple[Event, ...]]


@dataclass(frozen=True)
class Problem:
    """Something in the events that could not be used. event : its id. seen, do : in words."""

    event: str
    seen: str
    do: str


@dataclass(frozen=True)
class Settled:
    """The outcome.

    standing : event id to the body that now stands there; None where it was withdrawn.
    decided : event id to the id of the correction that counts; events nobody corrected are not in it.
    subject : event id to the kind of thing in question; for a correction, that of the root of its tree.
    """

    standing: Mapping[str, Body | None]
    decided: Mapping[str, str]
    subject: Mapping[str, str]
    problems: tuple[Problem, ...]


def settle(events: Sequence[Event]) -> Settled:
    """Hear all corrections. events : of one call, sorted by id, each id once."""
    tree = _tree(events)
    order, subject = _walk(events, tree)
    standing: dict[str, Body | None] = {event.id: event.body for event in events}
    decided: dict[str, str] = {}
    # Leaves first: a correction is settled before what it corrects.
    for event in reversed(order):
        for correction in tree.get(event.id, ()):
            heard = standing[correction.id]
            # The tree is in order of ids, so the last one to be heard is the one that counts.
            if isinstance(heard, Corrected) and _fits(heard, subject[event.id]):
                standing[event.id] = _after(event.body, heard)
                decided[event.id] = correction.id
    return Settled(standing, decided, subject, tuple(_problems(events, standing, subject)))


def _tree(events: Iterable[Event]) -> Tree:
    tree: dict[str, tuple[Event, ...]] = {}
    for event in events:
        if isinstance(event.body, Corrected):
            tree[event.body.target] = (*tree.get(event.body.target, ()), event)
    return tree


def _walk(events: Sequence[Event], tree: Tree) -> tuple[list[Event], dict[str, str]]:
    # Events with targets before their corrections, and the subject of each.
    # Corrections that go round in a ring are not reached.
    here = {event.id for event in events}
    order = [
        event for event in events if not (isinstance(event.body, Corrected) and event.body.target in here)
    ]
    subject = {event.id: event.kind for event in order}
    for event in order:  # grows while it is walked
        for correction in tree.get(event.id, ()):
            subject[correction.id] = subject[event.id]
            order.append(correction)
    return order, subject


def _fits(correction: Corrected, subject: str) -> bool:
    # A reading turned into a repair would move all that follows into another spell; moves forbid it as well.
    return correction.by is None or correction.by.kind == subject


def _after(body: Body, heard: Corrected) -> Body | None:
    # The body as the correction leaves it; a corrected correction keeps its target
    if heard.by is None or not isinstance(body, Corrected):
        return heard.by
    return Corrected(body.target, heard.by, heard.why)


def _problems(
    events: Sequence[Event], standing: Mapping[str, Body | None], subject: Mapping[str, str]
) -> Iterable[Problem]:
    here = {event.id for event in events}
    for event in events:
        body = standing[event.id]
        if not isinstance(body, Corrected):
            continue
        if event.id not in subject:
            yield Problem(
                event.id, "corrections that name each other in a ring", "correct the wrong event itself"
            )
        elif body.target not in here:
            yield Problem(
                event.id,
                f"a correction of event {body.target}, which is not here",
                "merge the file that holds that event",
            )
        elif body.by is not None and not _fits(body, subject[event.id]):
            seen = f"a {body.by.kind!r} put in the place of a {subject[event.id]!r}"
            yield Problem(event.id, seen, f"correct event {body.target} with the same kind")
