"""What was said of a call: its odds before the first repair, and after a proven one the chance that it was the cause."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path

from tundish.call.fold import CallState
from tundish.call.readings import stages
from tundish.population.hypotheses import NOTHING
from tundish.store.closed import Stated
from tundish.store.counsel import Asked, Counsel, counsel
from tundish.store.proving import proving
from tundish.store.shelf import SIZE, Tell


def stated_of(state: CallState, folder: Path, *, size: int = SIZE, tell: Tell = lambda words: None) -> Stated:
    """What the tool says of a call now, with the shares now in force. folder : where populations are kept.

    ValueError for a call whose family, market or checks are not known here.
    """
    asked = counsel(state, folder, Asked(size=size), tell=tell)
    now = asked.found.now.odds
    odds = {**now.causes, NOTHING: now.nothing}
    proven = state.ended is not None and state.ended.body.as_ == "proven"
    return Stated(odds, _proof(asked, odds) if proven else {}, asked.found.whose.name)


def _proof(asked: Counsel, odds: Mapping[str, float]) -> dict[str, float]:
    """Fault of the last repair -> chance that it was the cause: that nothing is left, as the readings since say."""
    faults = stages(asked.state)[-1].repaired
    well = 1.0 - proving(asked).now
    # Of faults repaired together, nobody knows which it was beyond the odds before
    whole = sum(odds.get(fault, 0.0) for fault in faults)
    even = 1.0 / max(len(faults), 1)
    return {fault: well * (odds.get(fault, 0.0) / whole if whole > 0 else even) for fault in faults}
