"""From the tables of closed calls to what was learned, family by family, others' counts first and one's own on top."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from tundish.appliance.records import Description
from tundish.history import asked
from tundish.history.cells import Row
from tundish.history.counted import Mistakes, Rows, taught_by
from tundish.history.giving import LEAST, Gift, Giving, given, read_gift, rows_from, written
from tundish.history.learned import Learned, Provenance, Taught, with_shares
from tundish.history.noisy import USUAL, CallbackRates
from tundish.history.tables import moment_of
from tundish.store.engines import rows
from tundish.store.errors import StoreError, clear_errors
from tundish.store.folders import data_folder
from tundish.store.heard import Heard
from tundish.store.library import families, load
from tundish.store.shelved import replace_file

Tables = Mapping[str, Any]
# Mistakes of looks, learned from the rows of `asked.looks` of a family.
Mistaken = Callable[[Description, Sequence[Row]], Mistakes]


@dataclass(frozen=True)
class Counted:
    """What an engine counted. rows : of all families. looks : answers against proof. calls, first, last : read, and their endings."""

    rows: Rows
    looks: Sequence[Row]
    calls: int
    first: str
    last: str


def count(tables: Tables, until: int, rates: CallbackRates = USUAL) -> Counted:
    """Ask an engine for all that is learned from. until : moment up to which calls and callbacks count, [us]."""
    found = Rows(
        rows(asked.causes(tables["causes"], until, rates)),
        rows(asked.returns(tables["repairs"], until, rates)),
        rows(asked.minutes(tables["repairs"], until)),
        rows(asked.prices(tables["parts"], until)),
    )
    calls = tables["calls"].filter(tables["calls"].ended <= until)
    whole = rows(calls.aggregate(calls=calls.count(), first=calls.ended.min(), last=calls.ended.max()))[0]
    if not whole["calls"]:
        return Counted(found, [], 0, "", "")
    ends = moment_of(whole["first"]), moment_of(whole["last"])
    return Counted(found, rows(asked.looks(tables["checks"], until)), whole["calls"], *ends)


def learn(
    counted: Counted,
    gifts: Sequence[Gift],
    made: str,
    mistaken: Mistaken = lambda family, looks: {},
    *,
    said: Heard | None = None,
) -> Learned:
    """What the counts teach. made : moment of learning. said : words of customers. StoreError when there is nothing to learn from."""
    if not counted.calls and not gifts:
        raise StoreError(
            seen=f"{counted.calls} closed calls and {len(gifts)} gifts",
            allowed="one closed call or more",
            do="close a call first: tundish do CALL end proven",
        )
    taught: dict[str, Taught] = {}
    for description in _known(counted, gifts):
        looks = [row for row in counted.looks if row["family"] == description.family]
        own = of_family(counted.rows, description.family)
        base = on_top_of(description, rows_from(gifts, description)) if gifts else description
        found = taught_by(own, base, mistakes=mistaken(description, looks))
        words, calls = (said or {}).get(description.family, ({}, {}))
        taught[description.family] = replace(_whole(found, base, description), words=words, said=calls)
    return Learned(taught, Provenance(counted.calls, counted.first, counted.last, 1 + len(gifts), made))


def on_top_of(description: Description, others: Rows) -> Description:
    """A description with others' counts in it, as what one's own calls are then learned on."""
    taught = taught_by(others, description)
    complaints = {name: with_shares(one, taught) for name, one in description.complaints.items()}
    faults = {id: replace(one, cure=taught.cures.get(id, one.cure)) for id, one in description.faults.items()}
    return replace(description, complaints=complaints, faults=faults)


def of_family(whole: Rows, family: str) -> Rows:
    """The counts of one family."""
    return Rows(*[[row for row in some if row["family"] == family] for some in (whole.causes, whole.returns, whole.minutes, whole.prices)])


def gift_of(counted: Counted, least: int = LEAST) -> Gift:
    """The counts that may be given away."""
    known = {one.family: one for one in (load(name) for name in families())}
    return given(Giving(counted.rows, known), least)


def gifts_folder() -> Path:
    """Where others' counts are kept."""
    return data_folder() / "shared"


def keep_gift(folder: Path, content: bytes) -> tuple[Gift, bool]:
    """Keep others' counts by their content, and tell whether they are new here."""
    gift = read_gift(content)
    text = written(gift)
    path = folder / f"{hashlib.sha256(text).hexdigest()[:32]}.json"
    if path.exists():
        return gift, False
    replace_file(path, text)
    return gift, True


def kept_gifts(folder: Path) -> list[Gift]:
    """Others' counts that were taken in."""
    found = []
    for path in sorted(folder.glob("*.json")):
        with clear_errors(path):
            found.append(read_gift(path.read_bytes()))
    return found


def _known(counted: Counted, gifts: Sequence[Gift]) -> Iterable[Description]:
    """Descriptions of the families that there are counts of; a family not known here is passed over."""
    wanted = {row["family"] for row in (*counted.rows.causes, *counted.rows.returns)}
    wanted |= {family for gift in gifts for family in gift.shipped}
    return [one for one in (load(name) for name in families()) if one.family in wanted]


def _whole(found: Taught, base: Description, shipped: Description) -> Taught:
    """What was learned, with what only others taught put in, named as on top of what shipped."""
    if base is shipped:
        return found
    # A complaint without own calls still has the others'
    others = {
        name: {cause: share / sum(one.shares.values()) for cause, share in one.shares.items()}
        for name, one in base.complaints.items()
        if one.shares != shipped.complaints[name].shares
    }
    cures = {id: one.cure for id, one in base.faults.items() if one.cure != shipped.faults[id].cure}
    return replace(found, shipped=shipped.digest, shares={**others, **found.shares}, cures={**cures, **found.cures})
