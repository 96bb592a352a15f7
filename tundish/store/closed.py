"""From the events of closed calls to their tables, call by call, and only those that are new or changed.

A call has changed when it has other events, or when a callback to it came in. Its odds are those stated when it was first taken
in: what is learned later does not change what was said.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from tundish.call.closing import CallbackOf
from tundish.call.fold import CallState, fold
from tundish.history.outcome import Found, Outcome, Watch, callbacks, closed
from tundish.history.tables import Beside, Row, rows_of
from tundish.store.events import EventFile
from tundish.store.folders import data_folder
from tundish.store.shelved import put_in, read_list

# Calls whose rows are written together; an update cut off loses no more than these. Our choice.
TOGETHER = 200
FAR = "9999-12-31T00:00:00.000Z"


@dataclass(frozen=True)
class Stated:
    """What was said of a call. odds : cause -> odds before the first repair. proof : fault -> chance that it was the cause, of the
    last repair of a proven call. shares : name of the learned shares in force, "" for shipped ones. lift : logarithm of how much likelier
    what was found after the only repair is when nothing is left than when something is. paid : for the one part used, [currency];
    None when it is not known."""

    odds: Mapping[str, float]
    proof: Mapping[str, float]
    shares: str = ""
    lift: float = 0.0
    paid: float | None = None


@dataclass(frozen=True)
class Update:
    """What an update did. new, changed, gone : calls. left_out : (call, why) that could not be taken in."""

    new: int
    changed: int
    gone: int
    left_out: tuple[tuple[str, str], ...]


State = Callable[[CallState], Stated]
Progress = Callable[[float], None]


def closed_folder() -> Path:
    """The usual folder of the tables."""
    return data_folder() / "closed"


def update(file: EventFile, folder: Path, state: State, *, progress: Progress = lambda share: None) -> Update:
    """Bring the tables up to the events. state : tells what was said of a call; it is asked for new and changed calls only."""
    shelf, backs = read_list(folder), _backs(file)
    signs = {call: f"{sign} {backs.get(call, '')}" for call, sign in _signs(file).items()}
    stale = [call for call, sign in signs.items() if shelf.signs.get(call) != sign]
    lost = [call for call in shelf.signs if call not in signs]
    new = changed = gone = 0
    left_out: list[tuple[str, str]] = []
    for start in range(0, len(stale), TOGETHER) or (0,) * bool(lost):
        made: dict[str, list[tuple[str, Row]]] = {}
        some = stale[start : start + TOGETHER]
        for number, call in enumerate(some, start=start + 1):
            try:
                rows = _rows(file, call, backs.get(call, ""), state)
            except ValueError as error:
                left_out.append((call, str(error)))
                rows = []
            if rows:
                made[call] = rows
            progress(number / len(stale))
        known = {call for call in some if call in shelf.places}
        new, changed = new + len(made.keys() - known), changed + len(made.keys() & known)
        gone += len(known - made.keys())
        put_in(folder, shelf, made, [*known, *(lost if start == 0 else ())])
        # Calls that are not closed are not looked at again until they change
        shelf.signs |= {call: signs[call] for call in some}
        put_in(folder, shelf, {})
    return Update(new, changed, gone + len(lost), tuple(left_out))


def _signs(file: EventFile) -> dict[str, str]:
    """Call -> its number of events and the newest of them: events are never changed, so these tell all."""
    return {call: f"{count} {last}" for call, count, _, last in file.base.tallies()}


def _backs(file: EventFile) -> dict[str, str]:
    """Call -> moment of its first callback."""
    later = list(dict.fromkeys(row[1] for row in file.base.rows("events", {"kind": (CallbackOf.KIND,)})))
    states = [fold(file.events_of(call)) for call in later]
    earlier = {state.job.callback.body.earlier for state in states if state.job.callback}
    return callbacks([*states, *(fold(file.events_of(call)) for call in sorted(earlier - set(later)))])


def _rows(file: EventFile, call: str, back: str, state: State) -> list[tuple[str, Row]]:
    """The rows of a call; none while it is not closed."""
    found = fold(file.events_of(call))
    if found.opened is None or found.ended is None:
        return []
    stated = state(found)
    outcome = closed(found, Watch(FAR, back), stated=stated.odds, proof=stated.proof, lift=stated.lift)
    return list(rows_of(_sole(outcome, stated.proof), Beside(back, stated.shares, stated.paid)))


def _sole(outcome: Outcome, proof: Mapping[str, float]) -> Outcome:
    """What proof leaves over for the causes that were repaired earlier in the same call, in vain or beside it."""
    rest = 1 - max(proof.values(), default=0.0)
    causes = tuple(
        found if found.how == "proven" or not proof else Found(found.cause, found.how, min(found.chance, rest))
        for found in outcome.causes
    )
    return replace(outcome, causes=causes)


def outcomes_rows(outcomes: Iterable[tuple[Outcome, Beside]]) -> dict[str, list[tuple[str, Row]]]:
    """Call -> its rows, of outcomes made elsewhere: another shop's export, or a simulated one."""
    return {outcome.call: list(rows_of(outcome, beside)) for outcome, beside in outcomes}
