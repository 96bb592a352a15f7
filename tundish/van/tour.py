"""A day's calls as one problem: pieces to carry, and wants that a second trip is paid for unless all their pieces are there.

Calls are visited in the order given. Each call's need is independent of the others'. A piece goes to the call that needs it first, also
where that call then waits for another part: it is fitted, or set aside for that customer. So the second call that needs a part needs its
second piece, whatever else happened, and how many of the earlier calls need it is a sum of independent chances. That makes quantities
exact: a want is a set of numbered pieces, "the second pump and the first hose", and nothing more has to be known.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from tundish.van.errors import VanError
from tundish.van.need import CallNeed, Floats, Parts
from tundish.van.part import Part, PartKey

Bools = npt.NDArray[np.bool_]


@dataclass(frozen=True, order=True)
class Piece:
    """The number-th piece of a part, from 1."""

    part: PartKey
    number: int


@dataclass(frozen=True, eq=False)
class Tour:
    """Pieces and wants of a day.

    pieces : (n,) in order of part and number. cost, space : (n,) of taking each, money and [-].
    wants : (m,) indices of the pieces that must all be there. chance : (m,) of the want, summed over calls.
    worth : (m,) chance times the cost of the trip that it saves, money.
    calls : number of calls. lost, lost_chance : what no van can help, money and expected calls.
    """

    pieces: tuple[Piece, ...]
    cost: Floats
    space: Floats
    wants: tuple[tuple[int, ...], ...]
    chance: Floats
    worth: Floats
    calls: int
    lost: float
    lost_chance: float


def tour(
    calls: Sequence[CallNeed], parts: Mapping[PartKey, Part], *, most: Mapping[PartKey, int] | None = None
) -> Tour:
    """The problem of a day, calls in the order of the visits. most : pieces that can be had of a part, where few can.

    Raises VanError for a part without figures.
    """
    _refuse_unknown(calls, parts)
    wants, lost = _wants(calls, most or {})
    # Pieces that no call can want never pay, so they are not in the problem at all
    pieces = tuple(sorted({piece for pieces in wants for piece in pieces}))
    place = {piece: index for index, piece in enumerate(pieces)}
    figures = np.array(list(wants.values()), dtype=np.float64).reshape(-1, 2)
    return Tour(
        pieces,
        _costs(calls, parts, pieces),
        np.array([parts[piece.part].space for piece in pieces], dtype=np.float64),
        tuple(tuple(sorted(place[piece] for piece in pieces)) for pieces in wants),
        figures[:, 0],
        figures[:, 1],
        len(calls),
        float(lost[1]),
        float(lost[0]),
    )


def _wants(
    calls: Sequence[CallNeed], most: Mapping[PartKey, int]
) -> tuple[dict[frozenset[Piece], Floats], Floats]:
    """Pieces wanted together -> chance and worth, and the sum of both over what cannot be had."""
    wants: dict[frozenset[Piece], Floats] = {}
    lost: Floats = np.zeros(2)
    for call in calls:
        lost = lost + call.unknown * np.array([1.0, call.trip])
    for parts, index, before in _courses(calls):
        call, listed = calls[index], sorted(parts)
        for counts in np.argwhere(before > 0).tolist():
            gain = call.sets[parts] * float(before[tuple(counts)]) * np.array([1.0, call.trip])
            if any(count >= most.get(part, len(calls)) for part, count in zip(listed, counts, strict=True)):
                lost = lost + gain
                continue
            # The third piece is of use to nobody without the first two
            pieces = frozenset(
                Piece(part, number)
                for part, count in zip(listed, counts, strict=True)
                for number in range(1, count + 2)
            )
            wants[pieces] = wants.get(pieces, np.zeros(2)) + gain
    return wants, lost


def _courses(calls: Sequence[CallNeed]) -> Iterator[tuple[Parts, int, Floats]]:
    """Each set of parts, each call that may need it, and the chances of how many earlier calls need each of these parts."""
    order = sorted({part for call in calls for parts in call.sets for part in parts})
    place = {part: index for index, part in enumerate(order)}
    tables = [_table(call, place) for call in calls]
    for parts in dict.fromkeys(parts for call in calls for parts in call.sets):
        # Calls are walked through once for each set; only its own parts have to be counted
        columns = [place[part] for part in sorted(parts)]
        before = np.zeros((1,) * len(columns))
        before.flat[0] = 1.0
        for index, (call, table) in enumerate(zip(calls, tables, strict=True)):
            # Asked before this call is added: what counts is what the earlier ones took
            if parts in call.sets:
                yield parts, index, before
            before = _added(before, _pattern(call, table, columns))


def _table(call: CallNeed, place: Mapping[PartKey, int]) -> npt.NDArray[np.int64]:
    """(sets, parts) 1 where a set of a call holds a part."""
    table = np.zeros((len(call.sets), len(place)), dtype=np.int64)
    for row, parts in enumerate(call.sets):
        table[row, [place[part] for part in parts]] = 1
    return table


def _pattern(call: CallNeed, table: npt.NDArray[np.int64], columns: Sequence[int]) -> Floats:
    """(2^k,) chance that a call needs just these of k parts, the first part in the lowest bit."""
    bits = table[:, columns] @ (1 << np.arange(len(columns)))
    chance = np.bincount(bits, weights=list(call.sets.values()), minlength=1 << len(columns))
    chance[0] += 1.0 - sum(call.sets.values())
    return np.asarray(chance)


def _added(before: Floats, pattern: Floats) -> Floats:
    """Chances of counts, one axis a part, after one more call."""
    grown = np.flatnonzero(pattern[1:])
    # Most calls are of other families; leaving the table as small as it was keeps the day quick
    if not len(grown):
        return before
    after: Floats = np.zeros([size + 1 for size in before.shape])
    for bits in [0, *(grown + 1).tolist()]:
        at = tuple(
            slice(bits >> axis & 1, (bits >> axis & 1) + size) for axis, size in enumerate(before.shape)
        )
        after[at] += pattern[bits] * before
    return after


def _costs(calls: Sequence[CallNeed], parts: Mapping[PartKey, Part], pieces: Sequence[Piece]) -> Floats:
    """(n,) cost of a piece: its holding, and what is lost when fewer calls need the part than would use it up."""
    # By the rule of the tour the n-th piece is used just when n calls need the part, whatever else is on the van
    unused = {key: _fewer(calls, key) for key in {piece.part for piece in pieces}}
    return np.array(
        [
            parts[key].holding + parts[key].unused * float(unused[key][: piece.number].sum())
            for piece in pieces
            for key in [piece.part]
        ],
        dtype=np.float64,
    )


def _fewer(calls: Iterable[CallNeed], part: PartKey) -> Floats:
    """(calls + 1,) chance that just so many calls need a part."""
    count = np.ones(1)
    for call in calls:
        p = call.chance(part)
        count = np.convolve(count, [1.0 - p, p])
    return count


def _refuse_unknown(calls: Iterable[CallNeed], parts: Mapping[PartKey, Part]) -> None:
    missing = sorted({part for call in calls for needed in call.sets for part in needed if part not in parts})
    if missing:
        raise VanError(
            seen=f"no figures for {', '.join(map(str, missing))}",
            allowed="parts of the catalogue",
            do="add the part with its holding cost and space",
        )


def taken(problem: Tour, load: Mapping[PartKey, int]) -> Bools:
    """(n,) the pieces of a problem that a load holds."""
    return np.array([piece.number <= load.get(piece.part, 0) for piece in problem.pieces], dtype=np.bool_)


def met(problem: Tour, pieces: Bools) -> Bools:
    """(m,) the wants whose pieces are all there."""
    return np.array([bool(pieces[list(want)].all()) for want in problem.wants], dtype=np.bool_)


def cost_of(problem: Tour, pieces: Bools) -> float:
    """Expected holding and second-trip cost of taking these pieces, money."""
    open_worth = problem.worth[~met(problem, pieces)].sum()
    return float(problem.cost[pieces].sum() + open_worth + problem.lost)


def filled(problem: Tour, pieces: Bools) -> float:
    """Expected share of calls that need no second trip for a part, [-]; 1 for a day without calls."""
    missed = float(problem.chance[~met(problem, pieces)].sum()) + problem.lost_chance
    return 1.0 - missed / problem.calls if problem.calls else 1.0


def load_of(problem: Tour, pieces: Bools) -> dict[PartKey, int]:
    """Pieces to take by part, in order of part."""
    load: dict[PartKey, int] = {}
    for piece, there in zip(problem.pieces, pieces, strict=True):
        if there:
            load[piece.part] = max(load.get(piece.part, 0), piece.number)
    return load


def nested(problem: Tour) -> list[tuple[int, int]]:
    """Indices of a piece and of the next one of the same part: the second is never taken without the first."""
    return [
        (a, b)
        for a, b in pairwise(range(len(problem.pieces)))
        if problem.pieces[a].part == problem.pieces[b].part
    ]
