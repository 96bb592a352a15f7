"""The record of what was learned, where it came from, and its name by content.

Same calls, same method, same bytes, same name. A description with it applied gets another digest, so that populations made
before are not taken for ones made after.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import msgspec

from tundish.appliance.records import Complaint, Description
from tundish.history.cells import AGES
from tundish.history.errors import HistoryError
from tundish.history.tilts import tilted

# Rises when the same calls would teach something else.
METHOD = 2
# Shares read back from text may miss 1 by rounding.
ROUNDING = 1e-6


@dataclass(frozen=True)
class Taught:
    """What calls taught of one family.

    shipped : digest of the description it was learned on top of. shares : complaint -> cause -> share, summing to 1.
    cures : fault -> cure chance. minutes : fault -> (low, high). mistakes : check -> true answer -> answer named -> chance.
    calls : complaint -> weighted calls behind its shares. unlisted : complaint -> cause not in its table -> weighted calls.
    worth : how many calls the shipped shares turned out to be worth. tilts : age band or circumstance -> cause -> factor on top of the
    shipped one. prices : currency -> fault -> (low, high) of its part. words : complaint -> word -> calls in which a customer said it.
    said : complaint -> calls whose wording was kept.
    """

    shipped: str
    shares: Mapping[str, Mapping[str, float]]
    cures: Mapping[str, float]
    minutes: Mapping[str, tuple[float, float]]
    mistakes: Mapping[str, Mapping[str, Mapping[str, float]]]
    calls: Mapping[str, float]
    unlisted: Mapping[str, Mapping[str, float]]
    worth: float
    tilts: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    prices: Mapping[str, Mapping[str, tuple[float, float]]] = field(default_factory=dict)
    words: Mapping[str, Mapping[str, int]] = field(default_factory=dict)
    said: Mapping[str, int] = field(default_factory=dict)


@dataclass(frozen=True)
class Provenance:
    """Where it came from. calls : closed calls read. first, last : moments of the first and last ending. shops : how many.
    made : moment of learning, passed in. method : version of the arithmetic."""

    calls: int
    first: str
    last: str
    shops: int
    made: str
    method: int = METHOD


@dataclass(frozen=True)
class Learned:
    """What was learned, family by family."""

    families: Mapping[str, Taught]
    provenance: Provenance

    @property
    def name(self) -> str:
        """The name by content: SHA-256 of what is written, without the moment of learning."""
        # Learning the same again on another day gives the same name
        timeless = replace(self, provenance=replace(self.provenance, made=""))
        return hashlib.sha256(written(timeless)).hexdigest()


def written(learned: Learned) -> bytes:
    """The record as JSON, keys sorted, so that equal records are equal bytes."""
    return msgspec.json.encode(learned, order="sorted")


def read_back(content: bytes, name: str | None = None) -> Learned:
    """The record from its JSON. name : the name it should have; HistoryError when it has another, or is not such a record."""
    try:
        learned = msgspec.json.decode(content, type=Learned)
    except msgspec.DecodeError as error:
        raise HistoryError(
            seen=f"a file of learned shares that says: {error}",
            allowed="a record as this tool writes it",
            do="learn again from the calls",
        ) from error
    if learned.provenance.method > METHOD:
        raise HistoryError(
            seen=f"a record of method {learned.provenance.method}",
            allowed=f"up to {METHOD}",
            do="use the newer version that wrote it, or learn again",
        )
    if name is not None and learned.name != name:
        raise HistoryError(
            seen=f"a record named {learned.name[:12]}",
            allowed=f"the one named {name[:12]}",
            do="fetch it again, or learn again from the calls",
        )
    return learned


def applied(description: Description, learned: Learned) -> Description:
    """The description with what was learned in place of what shipped; itself when nothing was learned of its family.

    HistoryError when it was learned on top of another version, or names a cause or check that is not there.
    """
    taught = learned.families.get(description.family)
    if taught is None:
        return description
    _check(description, taught)
    # What nothing was learned of keeps what shipped
    complaints = {name: with_shares(one, taught) for name, one in description.complaints.items()}
    faults = {
        id: replace(
            fault,
            cure=taught.cures.get(id, fault.cure),
            minutes=taught.minutes.get(id, fault.minutes),
            price={money: taught.prices.get(money, {}).get(id, price) for money, price in fault.price.items()},
        )
        for id, fault in description.faults.items()
    }
    checks = {
        id: replace(check, mistakes=taught.mistakes.get(id, check.mistakes))
        for id, check in description.checks.items()
    }
    # Populations are cached by digest
    digest = hashlib.sha256(f"{description.digest} {learned.name}".encode()).hexdigest()
    circumstances = tilted(description, taught.tilts)
    return replace(
        description, complaints=complaints, faults=faults, checks=checks, circumstances=circumstances, digest=digest
    )


def with_shares(complaint: Complaint, taught: Taught) -> Complaint:
    """A complaint with learned shares; itself when nothing was learned of it."""
    found = taught.shares.get(complaint.name)
    if found is None:
        return complaint
    # Shares of 0 stay; they were never learned
    return replace(complaint, shares={cause: found.get(cause, 0.0) for cause in complaint.shares})


def _check(description: Description, taught: Taught) -> None:
    # Shares learned on one table mean another thing on the next
    if taught.shipped != description.digest:
        raise HistoryError(
            seen=f"what was learned on top of description {taught.shipped[:12]}",
            allowed=f"the present one of the {description.family}, {description.digest[:12]}",
            do="learn again from the calls; they are all still there",
        )
    unknown = {cause for shares in taught.shares.values() for cause in shares} | {
        *taught.cures,
        *taught.minutes,
        *(fault for prices in taught.prices.values() for fault in prices),
        *(cause for times in taught.tilts.values() for cause in times),
    }
    strange = sorted(unknown - set(description.faults)) + sorted(
        set(taught.mistakes) - set(description.checks)
    )
    strange += sorted(set(taught.tilts) - {*description.circumstances, *(name for name, _, _ in AGES)})
    if strange:
        raise HistoryError(
            seen=f"what was learned of {', '.join(strange)}",
            allowed="causes, checks and circumstances of the description",
            do="learn again from the calls",
        )
    for complaint, shares in taught.shares.items():
        if abs(sum(shares.values()) - 1) > ROUNDING or min(shares.values()) < 0:
            raise HistoryError(
                seen=f"shares of {complaint} from {min(shares.values()):g}, summing to {sum(shares.values()):g}",
                allowed="0 or more, summing to 1",
                do="learn again from the calls",
            )
