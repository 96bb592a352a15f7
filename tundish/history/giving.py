"""Counts that a shop can give away: of calls, never of a call, and of nothing else.

What leaves is numbers by family, complaint, age band, circumstances and cause, all of them words of the shipped descriptions. A
word that no description has stays at home, whatever it is. A cell of fewer calls than `LEAST` is put together with the rest of its
complaint and cause, and left out when that is still too small. Cells do not overlap, so none can be had by taking one from another.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import msgspec

from tundish.appliance.records import Description
from tundish.history.counted import Row, Rows
from tundish.history.errors import HistoryError
from tundish.history.tables import BETWEEN, told_of
from tundish.population.hypotheses import NOTHING

# Fewest calls of a cell: common practice of statistics offices (threshold rule), the number is our choice.
LEAST = 5
FORM = 1
# Ages are given as the middle of a band, [year]: the bands of the age rule (under 2) and of long use (over 10). Our choice.
BANDS = ((2.0, 1.0), (10.0, 6.0), (float("inf"), 13.0))
# Weights are rounded to this, so that no chance of a single call shows through.
ROUND = 0.5


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
    """How repairs held, of calls with one repair that were watched for the whole window or came back."""

    family: str
    fault: str
    called_back: int
    quiet: int


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


def given(giving: Giving, window: float, least: int = LEAST) -> Gift:
    """What may leave. window : days a repair must have been watched."""
    causes = [cell for row in giving.rows.causes for cell in _cell(row, giving.descriptions)]
    kept = _large(_joined(causes), least)
    held: dict[tuple[str, str], list[int]] = defaultdict(lambda: [0, 0])
    for row in giving.rows.returns:
        known = giving.descriptions.get(row["family"])
        if known and row["fault"] in known.faults and (row["watched"] >= window or row["called_back"]):
            sums = held[row["family"], row["fault"]]
            sums[0] += row["called_back"]
            sums[1] += row["quiet"]
    repairs = [Held(*names, *sums) for names, sums in sorted(held.items()) if sum(sums) >= least]
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
    if wrong or any(one.called_back < 0 or one.quiet < 0 for one in gift.repairs):
        raise HistoryError(
            seen=f"{len(wrong)} cells with fewer calls than {gift.least}, or with more weight than calls",
            allowed="whole cells",
            do="ask for the file again",
        )
    return gift


def rows_from(gifts: Sequence[Gift], description: Description, window: float) -> Rows:
    """Gifts of one family as counts. Those given on top of another version of its description are used too: words it no longer has
    count as unlisted."""
    causes = [msgspec.structs.asdict(cell) for gift in gifts for cell in gift.causes if cell.family == description.family]
    returns = [
        {**msgspec.structs.asdict(one), "watched": window}
        for gift in gifts
        for one in gift.repairs
        if one.family == description.family
    ]
    # Minutes belong to the person; nobody else's are taken
    return Rows([row for row in causes if row["complaint"] in description.complaints], returns, ())


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

