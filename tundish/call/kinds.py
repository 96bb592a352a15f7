"""The kinds of body this version understands.

A later kind is one more row here, one step in `fold` and one row in `moves`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from tundish.call import asking, bodies, closing, deals, doings, fixing, quotes

Upgrade = Callable[[dict[str, Any]], dict[str, Any]]


@dataclass(frozen=True)
class Kind:
    """A kind of body and how its older forms are read.

    upgrades : one function for each step from schema 1 to the present one; takes and returns the JSON fields.
    """

    body: type[bodies.Body]
    upgrades: tuple[Upgrade, ...] = ()


def registry(*kinds: Kind) -> Mapping[str, Kind]:
    """Kinds by name; each needs one upgrade for every schema before its present one."""
    for kind in kinds:
        if len(kind.upgrades) != kind.body.SCHEMA - 1:
            raise ValueError(
                f"saw {len(kind.upgrades)} upgrades for {kind.body.KIND!r} at schema {kind.body.SCHEMA}; "
                "allowed: one for each older schema; add the missing upgrade function"
            )
    return {kind.body.KIND: kind for kind in kinds}


# The order is that of a call, for lists and docs.
KINDS = registry(
    Kind(bodies.CallOpened),
    Kind(bodies.ReadingTaken),
    Kind(bodies.Corrected),
    Kind(bodies.CircumstanceAdded),
    Kind(bodies.RepairDone),
    Kind(bodies.NoteAdded),
    Kind(doings.CircumstanceDenied),
    Kind(doings.StateClaimed),
    Kind(doings.StateFound),
    Kind(doings.PartOrdered),
    Kind(doings.PartTaken),
    Kind(doings.Tested),
    Kind(doings.HandedOver),
    Kind(doings.CallEnded, (doings.one_ending_more,)),
    Kind(asking.CustomerNamed),
    Kind(asking.MachineSeen),
    Kind(asking.QuestionAnswered),
    Kind(asking.PhotoKept),
    Kind(quotes.Quoted),
    Kind(deals.ConsentGiven),
    Kind(deals.ConsentRefused),
    Kind(fixing.StepDone),
    Kind(fixing.PartUsed),
    Kind(deals.Paid),
    Kind(closing.FollowUpSet),
    Kind(closing.CallbackOf),
    Kind(closing.PaperMade),
)
