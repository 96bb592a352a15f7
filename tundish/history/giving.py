"""Counts that a shop can give away: of calls, never of a call, and of nothing else.

What leaves is numbers by family, complaint, age band, circumstances and cause, all of them words of the shipped descriptions. A
word that no description has stays at home, whatever it is. A cell of fewer calls than `LEAST` is put together with the rest of its
complaint and cause, and left out when that is still too small. Cells do not overlap, so none can be had by taking one from another.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from math import expm1, log1p
from typing import Any

import msgspec

from tundish.appliance.records import Description
from tundish.history.cells import Row
from tundish.history.counted import Rows
from tundish.history.errors import HistoryError
from tundish.history.noisy import USUAL, CallbackRates, gain, step_of
from tundish.history.tables import BETWEEN, told_of
from tundish.population.hypotheses import NOTHING

# Fewest calls of a cell: common practice of statistics offices (threshold rule), the number is our choice.
LEAST = 5
FORM = 2
# Ages are given as the middle of a band, [year]: the bands of the age rule (under 2) and of long use (over 10). Our choice.
BANDS = ((2.0, 1.0), (10.0, 6.0), (float("inf"), 13.0))
# Weights are rounded to this, so that no chance of a single call shows through.
ROUND = 0.5
# The same for mean gains.
ROUND_GAIN = 0.05


class Cell(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Calls of one kind. age : middle of the band, None when unknown or mixed. weight : as counted, rounded."""

    family: str
    complaint: str
    age: float | None
    told: str
    cause: str
    calls: int
    weight: float


class Held(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """How first repairs held that were watched for the whole window or came back.

    against, agreed : calls that spoke against a cure and for it, with the gain of
    each (see `noisy.gain`) that weighs as much as theirs did together, rounded.
    called_back, quiet : the same in counts of form 1, which take every cause as surely there.
    """

    family: str
    fault: str
    called_back: int = 0
    quiet: int = 0
    against: int = 0
    gain_against: float = 0.0
    agreed: int = 0
    gain_agreed: float = 0.0

    @property
    def calls(self) -> int:
        """All calls behind it."""
        return self.called_back + self.quiet + self.against + self.agreed


class Gift(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """All that leaves. least : fewest calls of a cell. shipped : family -> digest of its description."""

    form: int
    least: int
    shipped: dict[str, str]
    causes: list[Cell]
    repairs: list[Held]


@dataclass(frozen=True)
class Giving:
    """The counts of all families as an engine gives them, and the descriptions whose words may leave."""

    rows: Rows
    descriptions: Mapping[str, Description]


def given(giving: Giving, least: int = LEAST) -> Gift:
    """What may leave."""
    causes = [cell for row in giving.rows.causes for cell in _cell(row, giving.descriptions)]
    kept = _large(_joined(causes), least)
    repairs = [one for one in _held(giving) if one.calls >= least]
    families = {cell.family for cell in kept} | {one.family for one in repairs}
    shipped = {family: giving.descriptions[family].digest for family in sorted(families)}
    return Gift(FORM, least, shipped, kept, repairs)


def written(gift: Gift) -> bytes:
    """The gift as JSON; equal gifts are equal bytes."""
    return msgspec.json.format(msgspec.json.encode(gift, order="deterministic"), indent=1)


def read_gift(content: bytes) -> Gift:
    """A gift from its JSON. HistoryError when it is none, is newer, or holds a cell smaller than it says."""
    try:
        gift = msgspec.json.decode(content, type=Gift)
    except msgspec.DecodeError as error:
        raise HistoryError(
            seen=f"a file of counts that says: {error}", allowed="counts as this tool exports them", do="ask for the file again"
        ) from error
    if gift.form > FORM:
        raise HistoryError(seen=f"counts of form {gift.form}", allowed=f"up to {FORM}", do="use the newer version that wrote them")
    wrong = [cell for cell in gift.causes if cell.calls < gift.least or not 0 <= cell.weight <= cell.calls + ROUND]
    # A gain below -1 would make a call less likely than impossible
    odd = [
        one
        for one in gift.repairs
        if min(one.called_back, one.quiet, one.against, one.agreed, one.gain_against + 1, one.gain_agreed) < 0
    ]
    if wrong or odd:
        raise HistoryError(
            seen=f"{len(wrong)} cells with fewer calls than {gift.least}, or with more weight than calls, and {len(odd)} odd repairs",
            allowed="whole cells; repairs with counts of 0 or more and gains of -1 or more",
            do="ask for the file again",
        )
    return gift


def rows_from(gifts: Sequence[Gift], description: Description, rates: CallbackRates = USUAL) -> Rows:
    """Gifts of one family as counts. Those given on top of another version of its description are used too: words it no longer has
    count as unlisted."""
    causes = [msgspec.structs.asdict(cell) for gift in gifts for cell in gift.causes if cell.family == description.family]
    held = [one for gift in gifts for one in gift.repairs if one.family == description.family]
    returns = [row for one in held for row in _returned(one, rates)]
    # Minutes belong to the person; nobody else's are taken
    return Rows([row for row in causes if row["complaint"] in description.complaints], returns, ())


def _held(giving: Giving) -> Iterator[Held]:
    sums: dict[tuple[str, str], dict[bool, list[float]]] = defaultdict(lambda: {True: [0, 0.0], False: [0, 0.0]})
    for row in giving.rows.returns:
        known = giving.descriptions.get(row["family"])
        # A young call would count differently next month
        if known and row["fault"] in known.faults and row["is_old"]:
            # Likelihoods multiply: calls that speak for a cure and against it must not be averaged away
            one = sums[row["family"], row["fault"]][row["gain"] < 0]
            one[0] += row["calls"]
            one[1] += row["calls"] * log1p(_cure(known, row["fault"]) * row["gain"] / row["calls"])
    for names, both in sorted(sums.items()):
        cure = _cure(giving.descriptions[names[0]], names[1])
        # The gain that weighs as much as theirs at the shipped cure chance
        means = {sign: max(expm1(log / max(calls, 1)) / cure, -1.0) for sign, (calls, log) in both.items()}
        means = {sign: round(mean / ROUND_GAIN) * ROUND_GAIN for sign, mean in means.items()}
        against, agreed = int(both[True][0]), int(both[False][0])
        yield Held(*names, against=against, gain_against=means[True], agreed=agreed, gain_agreed=means[False])


def _cure(description: Description, fault: str) -> float:
    # Of a repair that ships as certain one call in a hundred may still be unlike the others
    return min(max(description.faults[fault].cure, 0.01), 0.99)


def _returned(one: Held, rates: CallbackRates) -> Iterator[Row]:
    back, quiet = (float(gain(1.0, called_back=is_back, days=rates.window, rates=rates)) for is_back in (True, False))
    pairs = (one.called_back, back), (one.quiet, quiet), (one.against, one.gain_against), (one.agreed, one.gain_agreed)
    for calls, each in pairs:
        if calls:
            yield {
                "family": one.family, "fault": one.fault, "is_back": False, "is_old": True,
                "step": step_of(each), "calls": calls, "gain": calls * each,
            }  # fmt: skip


def _cell(row: Row, descriptions: Mapping[str, Description]) -> Iterator[Cell]:
    """The row in words that may leave; nothing when it has none."""
    known = descriptions.get(row["family"])
    if known is None or row["complaint"] not in known.complaints or not (row["cause"] in known.faults or row["cause"] == NOTHING):
        return
    told = BETWEEN.join(sorted(word for word in told_of(row["told"]) if word in known.circumstances))
    yield Cell(row["family"], row["complaint"], _band(row["age"]), told, row["cause"], row["calls"], row["weight"])


def _band(age: float | None) -> float | None:
    return None if age is None else next(middle for end, middle in BANDS if age < end)


def _joined(cells: Iterable[Cell]) -> list[Cell]:
    sums: dict[tuple[Any, ...], list[float]] = defaultdict(lambda: [0, 0.0])
    for cell in cells:
        held = sums[cell.family, cell.complaint, cell.age, cell.told, cell.cause]
        held[0] += cell.calls
        held[1] += cell.weight
    order = sorted(sums, key=lambda key: [str(part) for part in key])
    return [
        Cell(family, complaint, age, told, cause, int(sums[key][0]), sums[key][1])
        for key in order
        for family, complaint, age, told, cause in [key]
    ]


def _large(cells: Sequence[Cell], least: int) -> list[Cell]:
    """Cells of enough calls; small ones put together by complaint and cause, without age and circumstances."""
    small = [msgspec.structs.replace(cell, age=None, told="") for cell in cells if cell.calls < least]
    whole = _joined([*[cell for cell in cells if cell.calls >= least], *small])
    return [
        msgspec.structs.replace(cell, weight=round(cell.weight / ROUND) * ROUND) for cell in whole if cell.calls >= least
    ]

